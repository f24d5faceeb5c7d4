"""What a short circuit draws, and what limits it by itself."""

from __future__ import annotations

from sunpantry.physics import protection as physics
from sunpantry.physics.battery import battery_model
from sunpantry.wiring.cables import Run
from sunpantry.wiring.graph import Cable, Circuit
from sunpantry.wiring.inputs import WiringInputs


def is_limited(circuit: Circuit, cable: Cable) -> bool:
    """Whether its source limits the current by itself."""
    source = circuit.by_id[cable.start_part].kind
    return cable.role in ("string", "array") or source in ("converter", "power_bank", "string")


def prospective_a(
    circuit: Circuit, inputs: WiringInputs, cable: Cable, runs: dict[str, Run]
) -> float | None:
    """Current of a short circuit at the fed end of a cable.

    Parameters
    ----------
    circuit, inputs, cable
        The cable and where it lies.
    runs : dict
        Cables between it and the battery, with their sizes.

    Returns
    -------
    float or None
        Current [A]; ``None`` where no battery drives it.
    """
    bank = inputs.system.bank
    end = circuit.fed_at(cable)
    if bank is None or end is None or cable.is_mains or is_limited(circuit, cable):
        return None
    battery = bank.battery
    model = battery_model(
        chemistry=battery.chemistry,
        nominal_v=battery.nominal_v,
        capacity_ah=battery.capacity_ah,
        capacity_hours=battery.capacity_hours,
        series=bank.series,
        parallel=bank.parallel,
        internal_resistance_ohm=battery.internal_resistance_ohm,
    )
    source = cable.start_part if end == "start" else cable.end_part
    cable_ohm = sum(
        runs[before.id].loop_ohm() / (bank.parallel if before.role == "battery" else 1)
        for before in circuit.from_store[source]
    )
    whole = physics.battery_short_circuit_a(
        open_circuit_v=model.curve_v[-1], internal_ohm=model.surge_ohm, cable_ohm=cable_ohm
    )
    if cable.role == "battery":
        return whole * max(1, bank.parallel - 1) / bank.parallel
    return whole

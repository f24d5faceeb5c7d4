"""What the wiring itself finds: cables and fuses that no size cures, loads left unfed."""

from __future__ import annotations

from collections.abc import Sequence

from sunpantry.match.finding import Finding, Severity
from sunpantry.wiring.build import share_strings
from sunpantry.wiring.cables import Run
from sunpantry.wiring.graph import Circuit
from sunpantry.wiring.inputs import WiringInputs
from sunpantry.wiring.protect import Protection

MAINS_BAND = 0.10


def wiring_findings(
    circuit: Circuit,
    inputs: WiringInputs,
    runs: Sequence[Run],
    protections: Sequence[Protection],
) -> tuple[Finding, ...]:
    """Findings of a sized circuit, the worst first.

    Parameters
    ----------
    circuit, inputs, runs, protections
        A sized circuit.

    Returns
    -------
    tuple of Finding
        Empty when there is nothing to say.
    """
    found = [
        *_uncoordinated(circuit, protections),
        *_too_long(runs),
        *_unfed(circuit),
        *_other_mains(circuit, inputs),
        *_uneven(inputs),
        *_unswitched(circuit),
        *_more_copper(runs),
    ]
    return tuple(sorted(found, key=lambda one: one.severity))


def _uncoordinated(circuit: Circuit, protections: Sequence[Protection]) -> list[Finding]:
    names = {cable.id: cable.name for cable in circuit.cables}
    return [
        Finding(
            Severity.DANGER,
            f"No fuse or switch on the list protects the cable '{names[one.device.cable]}' "
            f"({one.device.id}): {one.label} is the nearest. Raise the voltage of the bank or "
            "share the load among several circuits.",
            (one.device.id,),
            figures=one.figures,
            rule="coordination",
            source="IEC 60364-4-43 §433.1",
        )
        for one in protections
        if not one.coordinated
    ]


def _too_long(runs: Sequence[Run]) -> list[Finding]:
    found = []
    for run in runs:
        if run.fits:
            continue
        heat = run.capacity_a < run.capacity_needed_a
        why = (
            f"needs {run.capacity_needed_a:.0f} A and the thickest carries {run.capacity_a:.0f} A"
            if heat
            else f"loses {run.drop_pct:.0f} % of its voltage even at {run.label}, "
            f"the aim is {run.target_pct:.0f} %"
        )
        found.append(
            Finding(
                Severity.WILL_NOT_WORK,
                f"The cable '{run.cable.name}' ({run.cable.length_m:g} m) {why}. Shorten it, or "
                "supply it at a higher voltage.",
                (run.cable.id,),
                figures=run.figures,
                rule="cable-size",
                source="IEC 60228, IEC 60364-5-52",
            )
        )
    return found


def _unfed(circuit: Circuit) -> list[Finding]:
    return [
        Finding(
            Severity.WILL_NOT_WORK,
            f"'{load}' cannot be supplied: {why}.",
            (load,),
            rule="unfed-load",
            source="the parts of the system",
        )
        for load, why in circuit.unfed
    ]


def _other_mains(circuit: Circuit, inputs: WiringInputs) -> list[Finding]:
    inverter = inputs.system.inverter
    fed = any(cable.role == "mains_branch" for cable in circuit.cables)
    if inverter is None or not fed or abs(inverter.output_v / inputs.mains_v - 1.0) <= MAINS_BAND:
        return []
    return [
        Finding(
            Severity.WILL_NOT_WORK,
            f"The inverter gives {inverter.output_v:g} V; what is sold here for the mains wants "
            f"{inputs.mains_v:g} V. Take an inverter for {inputs.mains_v:g} V.",
            ("inverter",),
            rule="mains-voltage",
            source="mains voltage ± 10 %, IEC 60038, from memory",
        )
    ]


def _uneven(inputs: WiringInputs) -> list[Finding]:
    watts = [
        sum(array.series * array.panel.power_w for array in strings)
        for strings in share_strings(inputs)
    ]
    if len(watts) < 2 or max(watts) <= 1.01 * min(watts):
        return []
    return [
        Finding(
            Severity.WILL_DISAPPOINT,
            f"{len(watts)} equal controllers get unequal shares of the panels "
            f"({', '.join(f'{one:.0f} W' for one in watts)}). Take as many strings as there are "
            "controllers, or twice as many.",
            ("controller", "panel"),
            rule="equal-shares",
            source="how the system was reckoned",
        )
    ]


def _unswitched(circuit: Circuit) -> list[Finding]:
    return [
        Finding(
            Severity.WORTH_KNOWING,
            "The loads hang on the battery and not on the controller's load terminals, so a "
            f"low-voltage disconnect ({device.id}) has to guard the battery.",
            (device.id,),
            rule="low-voltage-disconnect",
            source="common practice, no source",
        )
        for device in circuit.devices
        if device.kind == "disconnect"
    ]


def _more_copper(runs: Sequence[Run]) -> list[Finding]:
    return [
        Finding(
            Severity.WORTH_KNOWING,
            f"Thicker copper pays for itself in '{run.cable.name}': {run.economic_mm2:g} mm² "
            f"instead of {run.size_mm2:g} mm².",
            (run.cable.id,),
            rule="more-copper",
            source="price of copper cable: common practice, no source",
        )
        for run in runs
        if run.economic_mm2 is not None and run.economic_mm2 > run.size_mm2
    ]

"""What must be said beside the drawing: warnings, labels, terminals, order, local rules.

Common practice of the trade where no standard is named.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from sunpantry.physics.chemistry import CHEMISTRIES
from sunpantry.physics.safe_voltage import dc_band
from sunpantry.physics.ventilation import air_flow_m3_h, opening_cm2, spark_distance_mm
from sunpantry.wiring.cables import Run
from sunpantry.wiring.graph import Circuit
from sunpantry.wiring.inputs import WiringInputs
from sunpantry.wiring.protect import Protection

NoticeKind = Literal["warning", "label", "terminal", "earthing", "local rule"]
LOCAL = "Your local rules decide"


@dataclass(frozen=True, slots=True)
class Notice:
    """One thing to say, and where.

    Parameters
    ----------
    where : str
        The place it belongs to: a part, a cable or a device by its identity, or 'all'.
    """

    kind: NoticeKind
    where: str
    text: str


def notices_for(
    circuit: Circuit,
    inputs: WiringInputs,
    runs: Sequence[Run],
    protections: Sequence[Protection],
) -> tuple[Notice, ...]:
    """All notices of a system, at the place they belong to.

    Parameters
    ----------
    circuit, inputs, runs, protections
        A sized circuit.

    Returns
    -------
    tuple of Notice
        In the order of the current's way.
    """
    found: list[Notice] = []
    if circuit.of_kind("string"):
        found += _sun(circuit, runs)
    if circuit.of_kind("battery"):
        found += _battery(circuit, inputs, protections)
    found += _fuses(protections)
    if circuit.of_kind("inverter"):
        found += _mains(circuit)
    found += _earthing(circuit, inputs)
    found += _terminals(circuit, runs)
    return tuple(found)


def _sun(circuit: Circuit, runs: Sequence[Run]) -> list[Notice]:
    found = []
    sun = [run for run in runs if run.cable.role in ("string", "array")]
    for run in sun:
        duty = run.cable.duty
        if run.cable.role != "array" or duty is None:
            continue
        where, volts = run.cable.id, duty.highest_v
        band = dc_band(volts)
        found.append(
            Notice(
                "label", where, f"Solar cable: live whenever there is light, up to {volts:.0f} V."
            )
        )
        if band in ("extra-low", "low"):
            found.append(
                Notice(
                    "warning",
                    where,
                    f"On a cold morning this cable reaches {volts:.0f} V, above 60 V: do not touch "
                    "bare ends, use double-insulated solar cable and closed boxes.",
                )
            )
        if band == "low":
            found.append(
                Notice(
                    "local rule",
                    where,
                    f"Above 120 V direct current is low voltage, no longer extra-low. {LOCAL} who "
                    "may install it.",
                )
            )
        found.append(
            Notice(
                "warning",
                where,
                "A direct-current arc does not go out by itself: never pull a plug or open a "
                "fuse holder under load; open the DC switch first.",
            )
        )
    if sun:
        found.append(
            Notice(
                "terminal",
                sun[0].cable.id,
                "Solar connectors: plug and socket of one make and type, crimped with its tool; "
                "like-looking ones of two makes burn.",
            )
        )
    if len(circuit.of_kind("controller")) > 1:
        found.append(
            Notice(
                "warning",
                circuit.of_kind("controller")[0].id,
                "Each controller has panels of its own: never join their panel terminals.",
            )
        )
    return found


def _battery(
    circuit: Circuit, inputs: WiringInputs, protections: Sequence[Protection]
) -> list[Notice]:
    first = circuit.of_kind("battery")[0]
    found = [
        Notice(
            "warning",
            first.id,
            "A battery cannot be switched off. Insulated tools, no rings or watch; cover its "
            "terminals while you work.",
        ),
    ]
    faults = [one.prospective_a for one in protections if one.prospective_a is not None]
    if faults:
        found.append(
            Notice(
                "label",
                first.id,
                f"Battery: a short circuit here draws up to {_round(max(faults)):.0f} A.",
            )
        )
    battery = inputs.system.bank.battery if inputs.system.bank else None
    if battery is not None and battery.chemistry == "flooded":
        found += [
            Notice(
                "warning",
                first.id,
                "Acid and explosive gas: goggles and gloves, water and soda at hand, no "
                "flame or spark, air from outside at all times.",
            ),
            Notice("label", first.id, "No smoking, no flame. Acid. Air must enter and leave."),
        ]
    elif battery is not None and battery.chemistry in ("agm", "gel"):
        found.append(
            Notice("warning", first.id, "Sealed, but it can vent gas: never in a closed box.")
        )
    elif battery is not None:
        found.append(
            Notice(
                "warning",
                first.id,
                "Never charge below the temperature on its label; a battery that swells or "
                "smells goes outdoors and stays there.",
            )
        )
    found += _air(first.id, inputs)
    if len(circuit.of_kind("battery")) > 1:
        found.append(
            Notice(
                "warning",
                first.id,
                "Parallel batteries: same kind, size and age, full and at the same voltage "
                "before they are joined, cables of equal length to the busbars.",
            )
        )
    return found


def _air(where: str, inputs: WiringInputs) -> list[Notice]:
    """Openings and the distance of sparks for a bank that makes gas (EN IEC 62485-2)."""
    bank = inputs.system.bank
    if bank is None or not CHEMISTRIES[bank.battery.chemistry].is_lead_acid:
        return []
    chemistry = bank.battery.chemistry
    cells = round(bank.nominal_v / CHEMISTRIES[chemistry].cell_v)
    flow = air_flow_m3_h(cells=cells, capacity_ah=bank.capacity_ah, chemistry=chemistry)
    gap_mm = spark_distance_mm(capacity_ah=bank.capacity_ah, chemistry=chemistry)
    return [
        Notice(
            "warning",
            where,
            f"Air from outside, {flow:.2g} m³/h while it charges: an opening low and one high, "
            f"each at least {math.ceil(opening_cm2(flow))} cm². Nothing that sparks or glows "
            f"within {math.ceil(gap_mm / 10)} cm of the vents.",
        )
    ]


def _round(amps: float) -> float:
    """Two figures are all that a resistance from a table is good for."""
    step = 10.0 ** (len(str(int(amps))) - 2) if amps >= 100 else 1.0
    return round(amps / step) * step


def _fuses(protections: Sequence[Protection]) -> list[Notice]:
    found = []
    for one in protections:
        if not one.is_fuse or one.kind == "breaker":
            continue
        volts = math.ceil(one.voltage_v)
        text = f"Replace only by {one.label} {one.name}, {volts} V DC or more"
        if one.backed_up_by:
            text += f"; a full short circuit is broken by {one.backed_up_by} before it"
        elif one.breaking_a is not None and one.prospective_a is not None:
            least = max(_round(one.prospective_a), 100.0)
            text += f", able to break {least:.0f} A"
        found.append(Notice("label", one.device.id, text + "."))
    return found


def _mains(circuit: Circuit) -> list[Notice]:
    where = circuit.of_kind("inverter")[0].id
    return [
        Notice(
            "warning",
            where,
            "Mains voltage from an inverter kills like any other. This side is work for a "
            "licensed person in most countries.",
        ),
        Notice(
            "warning",
            where,
            "Never connect it to house wiring or to a socket of the grid, not even with "
            "the main switch off.",
        ),
        Notice(
            "local rule",
            where,
            f"{LOCAL} how neutral and earth are joined: a residual-current device works only if "
            "neutral is bonded to earth at exactly one point before it. Small inverters often "
            "come unbonded and may not be bonded: the manual says.",
        ),
        Notice(
            "warning",
            where,
            "An inverter gives little more than its rated current into a short circuit: a "
            "breaker may not trip, the residual-current release protects people.",
        ),
    ]


def _earthing(circuit: Circuit, inputs: WiringInputs) -> list[Notice]:
    found = [
        Notice(
            "earthing",
            cable.id,
            "Green-yellow, unbroken, to one common earth electrode; test its resistance. "
            f"{LOCAL} what is good enough.",
        )
        for cable in circuit.of_role("earth")
    ]
    strings = circuit.of_kind("string")
    if strings and not any(cable.key == "earth frames" for cable in circuit.cables):
        found.append(
            Notice(
                "earthing",
                strings[0].id,
                "At this voltage the frames need no protective earth. On a roof or an exposed "
                "hill earth them against lightning.",
            )
        )
    if strings and (inputs.lightning or inputs.on_roof):
        found.append(
            Notice(
                "earthing",
                strings[0].id,
                "Surge arresters for direct current at the controller, and at the panels if the "
                "cable is longer than 10 m; plus and minus run close together. With a lightning "
                f"rod nearby keep the clearance: {LOCAL.lower()}.",
            )
        )
    if circuit.of_kind("battery") and circuit.of_kind("controller"):
        found.append(
            Notice(
                "earthing",
                circuit.of_kind("controller")[0].id,
                "Join no pole of the battery to earth, and no minus of the load terminals to "
                "that of the battery, unless the controller's maker says so: some switch the "
                "minus side.",
            )
        )
    return found


def _terminals(circuit: Circuit, runs: Sequence[Run]) -> list[Notice]:
    found = []
    if circuit.of_kind("battery"):
        found.append(
            Notice(
                "terminal",
                "all",
                "Torque: as the maker of each part states; check again after a month. Fine-wire "
                "cable gets end sleeves in screw terminals, crimped lugs on studs; no solder "
                "under a screw.",
            )
        )
    for run in runs:
        if run.cable.role == "controller" and run.size_mm2 > 16.0:
            found.append(
                Notice(
                    "terminal",
                    run.cable.id,
                    f"{run.label} may be more than the controller's terminals take: then end it "
                    "on a stud beside the controller and go on with a short, thinner piece.",
                )
            )
        if run.conductors > 1:
            found.append(
                Notice(
                    "terminal",
                    run.cable.id,
                    f"{run.conductors} conductors on each pole: equal in length and size, lugs "
                    "on one stud.",
                )
            )
    return found

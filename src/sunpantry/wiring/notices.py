"""What must be said beside the drawing: warnings, labels, terminals, order, local rules.

Common practice of the trade where no standard is named.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from sunpantry.phrases import phrase
from sunpantry.physics.chemistry import CHEMISTRIES
from sunpantry.physics.ventilation import air_flow_m3_h, opening_cm2, spark_distance_mm
from sunpantry.wiring.cables import Run
from sunpantry.wiring.graph import Circuit
from sunpantry.wiring.inputs import WiringInputs
from sunpantry.wiring.materials import LOW_MAINS_V
from sunpantry.wiring.notice import LOCAL, LOCAL_INSIDE, Notice, label, terminal, warning
from sunpantry.wiring.notices_sun import plug_notices, sun_notices
from sunpantry.wiring.protect import Protection


def notices_for(
    circuit: Circuit, inputs: WiringInputs, runs: Sequence[Run], protections: Sequence[Protection]
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
        sun = [run for run in runs if run.cable.role in ("string", "array")]
        found += sun_notices(sun) + plug_notices(circuit, sun)
    found += [
        warning(
            cable.end_part,
            phrase(
                "In frost its panels give up to {highest_v:.0f} V: the pump, or the controller "
                "before it, must bear that, and must start by itself as the sun rises.",
                highest_v=cable.duty.highest_v,
            ),
        )
        for cable in circuit.direct_pumps()
        if cable.duty is not None
    ]
    if circuit.of_kind("battery"):
        found += _battery(circuit, inputs, protections)
    found += _fuses(protections)
    if circuit.of_kind("inverter"):
        found += _mains(circuit, protections)
    found += _earthing(circuit, inputs)
    found += _terminals(circuit, runs)
    return tuple(found)


def _battery(
    circuit: Circuit, inputs: WiringInputs, protections: Sequence[Protection]
) -> list[Notice]:
    first = circuit.of_kind("battery")[0]
    found = [
        warning(
            first.id,
            phrase(
                "A battery cannot be switched off. Insulated tools, no rings or watch; cover its "
                "terminals while you work."
            ),
        ),
    ]
    faults = [one.prospective_a for one in protections if one.prospective_a is not None]
    if faults:
        found.append(
            label(
                first.id,
                phrase(
                    "Battery: a short circuit here draws up to {fault_a:.0f} A.",
                    fault_a=_round(max(faults)),
                ),
            )
        )
    found += _chemistry(first.id, inputs) + _air(first.id, inputs)
    if len(circuit.of_kind("battery")) > 1:
        found.append(
            warning(
                first.id,
                phrase(
                    "Parallel batteries: same kind, size and age, full and at the same voltage "
                    "before they are joined, cables of equal length to the busbars."
                ),
            )
        )
    return found


def _chemistry(where: str, inputs: WiringInputs) -> list[Notice]:
    """What this kind of battery does to whoever is careless."""
    battery = inputs.system.bank.battery if inputs.system.bank else None
    found = []
    if battery is not None and battery.chemistry == "flooded":
        found += [
            warning(
                where,
                phrase(
                    "Acid and explosive gas: goggles and gloves, water and soda at hand, no "
                    "flame or spark, air from outside at all times."
                ),
            ),
            label(where, phrase("No smoking, no flame. Acid. Air must enter and leave.")),
        ]
    elif battery is not None and battery.chemistry in ("agm", "gel"):
        found.append(warning(where, phrase("Sealed, but it can vent gas: never in a closed box.")))
    elif battery is not None:
        found.append(
            warning(
                where,
                phrase(
                    "Never charge below the temperature on its label; a battery that swells or "
                    "smells goes outdoors and stays there."
                ),
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
    has = inputs.vent_opening_cm2
    if has is not None and has >= opening_cm2(flow):
        return [
            warning(
                where,
                phrase(
                    "The openings of {has:.0f} cm², one low and one high, are enough for the gas "
                    "of this battery: keep them free. Nothing that sparks or glows within "
                    "{gap_cm} cm of the vents.",
                    has=has,
                    gap_cm=math.ceil(gap_mm / 10),
                ),
            )
        ]
    return [
        warning(
            where,
            phrase(
                "Air from outside, {flow:.2g} m³/h while it charges: an opening low and one "
                "high, each at least {opening_cm2} cm². Nothing that sparks or glows within "
                "{gap_cm} cm of the vents.",
                flow=flow,
                opening_cm2=math.ceil(opening_cm2(flow)),
                gap_cm=math.ceil(gap_mm / 10),
            ),
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
        text = phrase(
            "Replace only by {label} {name}, {volts} V DC or more",
            label=one.label,
            name=one.name,
            volts=volts,
        )
        if one.backed_up_by:
            text += phrase(
                "; a full short circuit is broken by {backed_up_by} before it",
                backed_up_by=one.backed_up_by,
            )
        elif one.breaking_a is not None and one.prospective_a is not None:
            least = max(_round(one.prospective_a), 100.0)
            text += phrase(", able to break {least:.0f} A", least=least)
        found.append(label(one.device.id, text + "."))
    return found


def _other_source(circuit: Circuit, protections: Sequence[Protection], where: str) -> list[Notice]:
    """Keep the inverter away from any other mains voltage, or say how the switch does."""
    switches = circuit.of_kind("transfer")
    if not switches:
        return [
            warning(
                where,
                phrase(
                    "Never connect it to house wiring or to a socket of the grid, not even with "
                    "the main switch off."
                ),
            )
        ]
    (switch,) = switches
    own = {cable.id for cable in circuit.of_role("supply")}
    breaker = next(one for one in protections if one.device.cable in own)
    return [
        warning(
            switch.id,
            phrase(
                "The transfer switch and everything on its mains side is work for a licensed "
                "electrician alone: switch, cable, and its breaker {id} of {rating_a:g} A with "
                "residual-current release. Nothing else may ever join the inverter to the mains.",
                id=breaker.device.id,
                rating_a=breaker.rating_a,
            ),
        ),
        label(
            switch.id,
            phrase("Two sources. Switch off the inverter and the mains before you open this."),
        ),
    ]


def _mains(circuit: Circuit, protections: Sequence[Protection]) -> list[Notice]:
    where = circuit.of_kind("inverter")[0].id
    return [
        warning(
            where,
            phrase(
                "Mains voltage from an inverter kills like any other. This side is work for a "
                "licensed person in most countries."
            ),
        ),
        *_other_source(circuit, protections, where),
        Notice(
            "local rule",
            where,
            phrase(
                "{local} how neutral and earth are joined: a residual-current device works only if "
                "neutral is bonded to earth at exactly one point before it. Small inverters often "
                "come unbonded and may not be bonded: the manual says.",
                local=LOCAL,
            ),
        ),
        warning(
            where,
            phrase(
                "An inverter gives little more than its rated current into a short circuit: a "
                "breaker may not trip, the residual-current release protects people."
            ),
        ),
    ]


def _earthing(circuit: Circuit, inputs: WiringInputs) -> list[Notice]:
    found = [
        Notice(
            "earthing",
            cable.id,
            phrase(
                "Green, or bare copper, unbroken, to one common earth electrode; test its "
                "resistance. {local} what is good enough.",
                local=LOCAL,
            )
            if inputs.mains_v < LOW_MAINS_V
            else phrase(
                "Green-yellow, unbroken, to one common earth electrode; test its resistance. "
                "{local} what is good enough.",
                local=LOCAL,
            ),
        )
        for cable in circuit.of_role("earth")
    ]
    strings = circuit.of_kind("string")
    if strings and not any(cable.key.startswith("earth frames") for cable in circuit.cables):
        found.append(
            Notice(
                "earthing",
                strings[0].id,
                phrase(
                    "At this voltage the frames need no protective earth. On a roof or an "
                    "exposed hill earth them against lightning."
                ),
            )
        )
    if strings and (inputs.lightning or inputs.on_roof):
        found.append(
            Notice(
                "earthing",
                strings[0].id,
                phrase(
                    "Surge arresters for direct current at the controller, and at the panels if "
                    "the cable is longer than 10 m; plus and minus run close together. With a "
                    "lightning rod nearby keep the clearance: {local}.",
                    local=LOCAL_INSIDE,
                ),
            )
        )
    if circuit.of_kind("battery") and circuit.of_kind("controller"):
        found.append(
            Notice(
                "earthing",
                circuit.of_kind("controller")[0].id,
                phrase(
                    "Join no pole of the battery to earth, and no minus of the load terminals "
                    "to that of the battery, unless the controller's maker says so: some switch "
                    "the minus side."
                ),
            )
        )
    return found


def _terminals(circuit: Circuit, runs: Sequence[Run]) -> list[Notice]:
    found = []
    if circuit.of_kind("battery"):
        found.append(
            terminal(
                "all",
                phrase(
                    "Torque: as the maker of each part states; check again after a month. "
                    "Fine-wire cable gets end sleeves in screw terminals, crimped lugs on "
                    "studs; no solder under a screw."
                ),
            )
        )
    for run in runs:
        if run.cable.role == "controller" and run.size_mm2 > 16.0:
            found.append(
                terminal(
                    run.cable.id,
                    phrase(
                        "{label} may be more than the controller's terminals take: then end it "
                        "on a stud beside the controller and go on with a short, thinner piece.",
                        label=run.label,
                    ),
                )
            )
        if run.conductors > 1:
            found.append(
                terminal(
                    run.cable.id,
                    phrase(
                        "{conductors} conductors on each pole: equal in length and size, lugs "
                        "on one stud.",
                        conductors=run.conductors,
                    ),
                )
            )
    return found

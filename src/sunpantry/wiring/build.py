"""From a system and its loads to the circuit: the panels and what they lead to.

Strings are joined in a box where there are several, and lead through an isolator to a
controller. ``build_store`` adds the battery side, ``build_loads`` the ways out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from sunpantry.parts.system import Array
from sunpantry.phrases import phrase
from sunpantry.physics.protection import STRING_LEAST, STRING_MOST, string_fuses_needed
from sunpantry.physics.safe_voltage import DRY_TOUCH_DC_V
from sunpantry.wiring import duty
from sunpantry.wiring.build_loads import add_direct_outlets, plan_outlets
from sunpantry.wiring.build_store import add_store
from sunpantry.wiring.draft import DC_POLES, SHORT_RUN_M, Draft, Port, Way, told_w
from sunpantry.wiring.graph import Circuit, Part, Terminal
from sunpantry.wiring.inputs import DirectLine, WiringInputs

# The lead of a panel with a 5 V socket, where the document gives no length [m].
PANEL_LEAD_M = 2.0


def build_circuit(inputs: WiringInputs) -> Circuit:
    """Build the circuit of a system.

    Parameters
    ----------
    inputs : WiringInputs
        The system, its loads and distances.

    Returns
    -------
    Circuit
        Sound (``circuit.faults()`` is empty) for every system the document can describe;
        loads that nothing can supply are in ``unfed``.
    """
    draft = Draft()
    outlets = plan_outlets(inputs)
    groups = share_strings(inputs)
    ways = [
        way
        for number, strings in enumerate(groups, start=1)
        if (way := _sun_way(draft, inputs, strings, number, of=len(groups))) is not None
    ]
    bank = inputs.system.bank
    if bank is not None and bank.battery.chemistry != "power_bank":
        add_store(draft, inputs, outlets, groups=groups, suns=ways)
    else:
        _add_direct(draft, inputs, groups, ways)
        add_direct_outlets(draft, inputs, outlets)
    draft.unfed.extend(outlets.unfed)
    for number, line in enumerate(inputs.direct, start=len(groups) + 1):
        _add_direct_pump(draft, inputs, line, number, of=len(groups) + len(inputs.direct))
    _add_earth(draft, inputs)
    return draft.circuit()


def share_strings(inputs: WiringInputs) -> list[list[Array]]:
    """Share the strings among the controllers, in order and as evenly as they come.

    Returns
    -------
    list of list of Array
        One list a controller; an array stands in it once for each of its strings.
    """
    strings = [array for array in inputs.system.arrays for _ in range(array.parallel)]
    if inputs.system.controller is None:
        return [strings] if strings else []
    controllers = inputs.system.controller_count
    least, over = divmod(len(strings), controllers)
    groups, taken = [], 0
    for number in range(controllers):
        size = least + (number < over)
        groups.append(strings[taken : taken + size])
        taken += size
    return groups


def _sun_way(
    draft: Draft, inputs: WiringInputs, strings: list[Array], number: int, *, of: int
) -> Way | None:
    """Add the strings of one controller; return the cable that leads away from them."""
    if not strings:
        return None
    parts = [_string_part(draft, array) for array in strings]
    port = parts[0].port()
    drop = duty.DROP["array"]
    if len(parts) > 1:
        port = _join_strings(draft, inputs, strings, parts, group=number, of=of)
        drop -= duty.DROP["string"]
    regulated = any(array.panel.regulated_output_v for array in strings)
    length_m = inputs.wiring.run_m("array")
    if regulated:
        length_m = inputs.wiring.runs.get("array", PANEL_LEAD_M)
        drop = duty.DROP["lead"]
    return Way(
        "lead" if regulated else "array",
        f"array {number}",
        phrase("Panels to controller"),
        port,
        length_m,
        duty.sun_duty(strings, inputs, drop=drop),
        outward=False,
    )


def _string_part(draft: Draft, array: Array) -> Part:
    panel = array.panel
    if panel.regulated_output_v:
        detail = phrase(
            "{power_w:g} W, gives {regulated_output_v:g} V",
            power_w=panel.power_w,
            regulated_output_v=panel.regulated_output_v,
        )
    else:
        detail = phrase(
            "{power_w:g} W, Voc {voc_v:.3g} V, Isc {isc_a:.3g} A",
            power_w=panel.power_w,
            voc_v=panel.voc_v,
            isc_a=panel.isc_a,
        )
    return draft.part("string", panel.name, DC_POLES, detail=detail, count=array.series)


def _join_strings(
    draft: Draft,
    inputs: WiringInputs,
    strings: Sequence[Array],
    parts: Sequence[Part],
    *,
    group: int,
    of: int,
) -> Port:
    """Join strings in a box, fused where they could harm one another."""
    combiner = draft.part(
        "combiner",
        phrase("String box {group}", group=group) if of > 1 else phrase("String box"),
        (("IN+", "+"), ("IN−", "−"), ("OUT+", "+"), ("OUT−", "−")),
    )
    for index, (array, part) in enumerate(zip(strings, parts, strict=True)):
        fused = len(strings) > 2 or string_fuses_needed(
            parallel=len(strings),
            isc_a=array.panel.isc_a,
            max_series_fuse_a=array.panel.max_series_fuse_a,
        )
        # Without a fuse a faulty string carries what the other one drives into it.
        carried = [array] if fused else [max(strings, key=lambda one: one.panel.isc_a)]
        cable = draft.cable(
            "string",
            f"string {group}.{index + 1}",
            phrase("String {index} to the string box", index=index + 1),
            part.port(),
            combiner.port("IN"),
            length_m=SHORT_RUN_M,
            duty=duty.sun_duty(carried, inputs, drop=duty.DROP["string"]),
        )
        if fused:
            most = STRING_MOST * array.panel.isc_a
            draft.device(
                "fuse",
                cable,
                "end",
                place=phrase("in the string box"),
                reason=phrase(
                    "the other strings could drive more current backwards through a faulty "
                    "string than its panels bear"
                ),
                window_a=(
                    STRING_LEAST * array.panel.isc_a,
                    min(most, array.panel.max_series_fuse_a or most),
                ),
            )
    return combiner.port("OUT")


def _add_direct(
    draft: Draft, inputs: WiringInputs, groups: list[list[Array]], ways: list[Way]
) -> None:
    """Add what the panels lead to where there is no battery, or only a power bank."""
    system = inputs.system
    targets: list[Part] = []
    if system.controller is not None:
        targets = [
            draft.part(
                "controller",
                system.controller.name,
                (("PV+", "+"), ("PV−", "−"), ("LOAD+", "+"), ("LOAD−", "−")),
                detail=phrase("{rated_a:g} A", rated_a=system.controller.rated_a),
            )
            for _ in groups
        ]
    if system.bank is not None:
        battery = system.bank.battery
        bank = draft.part(
            "power_bank",
            battery.name,
            (("IN+", "+"), ("IN−", "−"), ("OUT+", "+"), ("OUT−", "−")),
            detail=phrase("{capacity_ah:g} Ah", capacity_ah=battery.capacity_ah),
            count=system.bank.count,
        )
        for target in targets:
            needs = duty.sun_duty(groups[0], inputs, drop=duty.DROP["lead"])
            way = Way(
                "lead",
                "bank lead",
                phrase("Controller to power bank"),
                bank.port("IN"),
                SHORT_RUN_M,
                needs,
                outward=True,
            )
            draft.join(way, target.port("LOAD"))
        targets = targets or [bank] * len(ways)
    for way, target in zip(ways, targets, strict=False):
        entry = target.port("PV") or target.port("IN")
        name = (
            phrase("Panels to controller")
            if target.kind == "controller"
            else phrase("Panels to power bank")
        )
        draft.cable(way.role, way.key, name, way.port, entry, length_m=way.length_m, duty=way.duty)


def _add_direct_pump(
    draft: Draft, inputs: WiringInputs, line: DirectLine, number: int, *, of: int
) -> None:
    """Add a pump with panels of its own and the switch between them."""
    strings = [line.array] * line.array.parallel
    parts = [_string_part(draft, array) for array in strings]
    port, drop = parts[0].port(), duty.DROP["array"]
    if len(parts) > 1:
        port = _join_strings(draft, inputs, strings, parts, group=number, of=of)
        drop -= duty.DROP["string"]
    pump = draft.part(
        "load",
        line.name,
        DC_POLES,
        detail=phrase("{power_w:g} W, straight from its panels", power_w=told_w(line.power_w)),
        symbol="motor",
    )
    cable = draft.cable(
        "array",
        f"direct {line.name}",
        phrase("Panels to {pump}", pump=line.name),
        port,
        pump.port(),
        length_m=inputs.wiring.runs.get(line.name, inputs.wiring.run_m("array")),
        duty=duty.sun_duty(strings, inputs, drop=drop),
    )
    draft.device(
        "isolator",
        cable,
        "end",
        place=phrase("beside the pump or its controller"),
        poles=("+", "−"),
        reason=phrase("panels cannot be switched off: this cuts them from what they feed"),
    )


def _add_earth(draft: Draft, inputs: WiringInputs) -> None:
    """Add protective earth where mains voltage, a high array or the weather asks for it."""
    strings = [part for part in draft.parts if part.kind == "string"]
    inverters = [part for part in draft.parts if part.kind == "inverter"]
    highest_v = max(
        (duty.cold_voltage(array, coldest_c=inputs.coldest_c) for array in _all_arrays(inputs)),
        default=0.0,
    )
    frames = bool(strings) and (inputs.on_roof or inputs.lightning or highest_v > DRY_TOUCH_DC_V)
    if not frames and not inverters:
        return
    earth = draft.part("earth", phrase("Earth electrode"), (("PE", "PE"),))
    away_m = inputs.wiring.run_m("earth")
    if frames:
        _bond_frames(draft, inputs, strings, earth, away_m)
    for part in inverters:
        draft.cable(
            "earth",
            "earth inverter",
            phrase("Inverter to earth"),
            part.port("PE"),
            earth.port(),
            length_m=away_m,
            duty=None,
        )


def _all_arrays(inputs: WiringInputs) -> tuple[Array, ...]:
    """Every array, in the order in which their strings are added."""
    return (*inputs.system.arrays, *(line.array for line in inputs.direct))


def _frames_words(part: Part, bonded_to: Terminal | None) -> str:
    if bonded_to is None:
        return phrase("Frames of {part} to earth", part=part.id)
    return phrase("Frames of {part} to those of {other}", part=part.id, other=bonded_to.part)


def _bond_frames(
    draft: Draft, inputs: WiringInputs, strings: Sequence[Part], earth: Part, away_m: float
) -> None:
    """Earth the frames of every array; those of its further strings are joined to the first."""
    of_array = [
        (number, len(strings) > 1)
        for number, array in enumerate(_all_arrays(inputs), start=1)
        for _ in range(array.parallel)
    ]
    before: tuple[int, Terminal] | None = None
    for part, (number, several) in zip(strings, of_array, strict=False):
        frame = Terminal(part.id, "FRAME", "PE", len(part.terminals) + 1)
        draft.parts[draft.parts.index(part)] = replace(part, terminals=(*part.terminals, frame))
        beside = before is not None and before[0] == number
        draft.cable(
            "earth",
            f"earth frames {part.id}",
            _frames_words(part, before[1] if before is not None and beside else None)
            if several
            else phrase("Panel frames to earth"),
            (frame,),
            (before[1],) if before is not None and beside else earth.port(),
            length_m=SHORT_RUN_M if beside else away_m,
            duty=None,
        )
        before = (number, frame)

"""The battery side: controllers, bank, main fuse, busbars, and what hangs on them."""

from __future__ import annotations

from dataclasses import replace

from sunpantry.parts.system import Array, Bank
from sunpantry.phrases import phrase
from sunpantry.physics.chemistry import CHEMISTRIES
from sunpantry.wiring import duty
from sunpantry.wiring.build_loads import Outlets, dc_head, fuse_branch
from sunpantry.wiring.build_mains import inverter_head
from sunpantry.wiring.draft import DC_POLES, SHORT_RUN_M, Draft, Port, Way
from sunpantry.wiring.graph import Cable, Duty, Part, Polarity
from sunpantry.wiring.inputs import WiringInputs

# A cable between a battery and its busbar, one way [m]: common practice, no source.
BATTERY_LINK_M = 0.5
_CONTROLLER: tuple[tuple[str, Polarity], ...] = (
    ("PV+", "+"),
    ("PV−", "−"),
    ("BAT+", "+"),
    ("BAT−", "−"),
)
_LOAD: tuple[tuple[str, Polarity], ...] = (("LOAD+", "+"), ("LOAD−", "−"))
_MAIN_REASON = phrase(
    "a battery drives thousands of amperes into a short circuit: everything beyond this "
    "fuse is protected by it, nothing before it is"
)


def add_store(
    draft: Draft,
    inputs: WiringInputs,
    outlets: Outlets,
    *,
    groups: list[list[Array]],
    suns: list[Way],
) -> None:
    """Add controllers, bank and busbars, and feed the loads.

    Parameters
    ----------
    groups : list of list of Array
        Strings of each controller.
    suns : list of Way
        Cables from the panels, one for each group that has any.
    """
    system = inputs.system
    if system.bank is None:
        raise ValueError("a store needs a bank")
    batteries = _add_bank(draft, system.bank)
    ways: list[Way] = []
    load_port: Port = ()
    if system.controller is None:
        ways += [replace(way, name="Panels to battery") for way in suns]
    else:
        load_port, charging = _add_controllers(draft, inputs, outlets, groups=groups, suns=suns)
        ways += charging
    if inputs.charger_a > 0:
        ways.append(_charger_way(draft, inputs))
    head = dc_head(draft, inputs, outlets)
    inverter = inverter_head(draft, inputs, outlets)
    if inverter is not None:
        ways.append(inverter)
    if head is not None and outlets.on_controller:
        fuse_branch(draft, head, load_port, place=phrase("beside the controller"))
    elif head is not None:
        ways.append(head)
    _join(draft, inputs, system.bank, batteries, ways)


def _add_controllers(
    draft: Draft,
    inputs: WiringInputs,
    outlets: Outlets,
    *,
    groups: list[list[Array]],
    suns: list[Way],
) -> tuple[Port, list[Way]]:
    """Add the controllers; return the load terminals and the cables to the battery."""
    controller = inputs.system.controller
    if controller is None:
        raise ValueError("no controller to add")
    waiting = list(suns)
    load_port: Port = ()
    charging = []
    for number, strings in enumerate(groups, start=1):
        poles = (*_CONTROLLER, *_LOAD) if controller.load_output_a > 0 else _CONTROLLER
        part = draft.part(
            "controller",
            phrase("{name}, no. {number}", name=controller.name, number=number)
            if len(groups) > 1
            else controller.name,
            poles,
            detail=phrase(
                "{upper}, {rated_a:g} A, panels to {max_pv_voc_v:g} V",
                upper=controller.kind.upper(),
                rated_a=controller.rated_a,
                max_pv_voc_v=controller.max_pv_voc_v,
            ),
        )
        if strings:
            cable = draft.join(waiting.pop(0), part.port("PV"))
            _panel_switch(draft, cable, place=phrase("beside the controller"))
        first = number == 1
        if first:
            load_port = part.port("LOAD")
        loads_a = outlets.design_a if first and outlets.on_controller else 0.0
        charging.append(
            Way(
                "controller",
                f"controller {number}",
                phrase("Controller to battery"),
                part.port("BAT"),
                SHORT_RUN_M,
                duty.controller_duty(strings, inputs, loads_a=loads_a),
                outward=False,
            )
        )
    return load_port, charging


def _charger_way(draft: Draft, inputs: WiringInputs) -> Way:
    name, detail = {
        "generator": (
            phrase("Battery charger"),
            phrase("{charger_a:.3g} A, plugged into the generator", charger_a=inputs.charger_a),
        ),
        "mains": (
            phrase("Battery charger"),
            phrase("{charger_a:.3g} A, plugged into a mains socket", charger_a=inputs.charger_a),
        ),
        "carried_battery": (
            phrase("Battery-to-battery charger"),
            phrase("{charger_a:.3g} A, from the carried battery", charger_a=inputs.charger_a),
        ),
    }[inputs.second_source or "mains"]
    symbol = "dc" if inputs.second_source == "carried_battery" else ""
    part = draft.part("charger", name, DC_POLES, detail=detail, symbol=symbol)
    return Way(
        "charger",
        "charger",
        phrase("Charger to battery"),
        part.port(),
        inputs.wiring.run_m("backup"),
        duty.charger_duty(inputs.charger_a, duty.bank_voltages(inputs.system)),
        outward=False,
    )


def _add_bank(draft: Draft, bank: Bank) -> list[Part]:
    battery = bank.battery
    return [
        draft.part(
            "battery",
            battery.name,
            DC_POLES,
            detail=phrase(
                "{nominal_v:g} V, {capacity_ah:g} Ah",
                nominal_v=battery.nominal_v,
                capacity_ah=battery.capacity_ah,
            ),
            symbol="lead-acid" if CHEMISTRIES[battery.chemistry].is_lead_acid else "lithium",
            count=bank.series,
        )
        for _ in range(bank.parallel)
    ]


def _join(
    draft: Draft, inputs: WiringInputs, bank: Bank, batteries: list[Part], ways: list[Way]
) -> None:
    """Join everything to the bank: one cable straight, several through busbars."""
    whole = _whole(ways)
    port = batteries[0].port()
    if len(batteries) > 1:
        port = _join_batteries(draft, bank, batteries, whole)
    if not ways:
        return
    run_m = inputs.wiring.run_m("battery")
    if len(ways) == 1:
        way = ways[0]
        if way.role in ("controller", "board"):
            way = replace(way, length_m=run_m)
        cable = draft.join(way, port)
        _main_fuse(draft, cable, outward=way.outward)
        _switches(draft, cable, way)
        return
    bus = draft.part("bus", phrase("Busbars"), DC_POLES)
    main = draft.cable(
        "main", "main", phrase("Battery to busbars"), port, bus.port(), length_m=run_m, duty=whole
    )
    _main_fuse(draft, main, outward=True)
    draft.device(
        "isolator",
        main,
        "start",
        place=phrase("after the main fuse"),
        reason=phrase("cuts the battery from everything, for work and in an emergency"),
    )
    for way in ways:
        cable = draft.join(way, bus.port())
        draft.device(
            "fuse",
            cable,
            "start" if way.outward else "end",
            place=phrase("at the busbars"),
            reason=phrase("the battery can feed a fault in this cable with far more than it bears"),
        )
        _switches(draft, cable, way)


def _whole(ways: list[Way]) -> Duty:
    """Duty of the cable that carries everything, the larger of charge and discharge."""
    out = [way.duty for way in ways if way.outward]
    into = [way.duty for way in ways if not way.outward]
    sums = [
        duty.together(duties, role="main", what=what)
        for duties, what in (
            (out, phrase("cables leaving the busbars")),
            (into, phrase("charging cables")),
        )
        if duties
    ]
    if not sums:
        return duty.idle_duty()
    largest = max(sums, key=lambda one: one.design_a)
    return replace(
        largest,
        highest_v=max(one.highest_v for one in sums),
        working_a=max(one.working_a for one in sums),
        surge_a=max(one.surge_a for one in sums),
    )


def _main_fuse(draft: Draft, cable: Cable, *, outward: bool) -> None:
    draft.device(
        "fuse",
        cable,
        "start" if outward else "end",
        place=phrase("within 0.2 m of the battery's + terminal"),
        reason=_MAIN_REASON,
    )


def _panel_switch(draft: Draft, cable: Cable, *, place: str) -> None:
    draft.device(
        "isolator",
        cable,
        "end",
        place=place,
        poles=("+", "−"),
        reason=phrase("panels cannot be switched off: this cuts them from what they feed"),
    )


def _switches(draft: Draft, cable: Cable, way: Way) -> None:
    """What panels and loads straight on the battery need besides their fuse.

    Nothing else stops the loads before the battery is empty, or cuts the panels off.
    """
    if way.role == "array":
        _panel_switch(draft, cable, place=phrase("beside the battery"))
    if way.role in ("board", "branch", "lead"):
        draft.device(
            "disconnect",
            cable,
            "start",
            place=phrase("after the fuse"),
            reason=phrase("no controller stops these loads: a low-voltage disconnect must"),
        )


def _join_batteries(draft: Draft, bank: Bank, batteries: list[Part], whole: Duty) -> Port:
    bus = draft.part("bank_bus", phrase("Battery busbars"), DC_POLES)
    share = duty.bank_share(bank)
    each = replace(
        duty.together(
            [whole], role="battery", what=phrase("current of the whole bank"), share=share
        ),
        base_v=bank.nominal_v,
    )
    for number, battery in enumerate(batteries, start=1):
        cable = draft.cable(
            "battery",
            f"battery {number}",
            phrase("Battery string {number} to its busbars", number=number),
            battery.port(),
            bus.port(),
            length_m=BATTERY_LINK_M,
            duty=each,
        )
        draft.device(
            "fuse",
            cable,
            "start",
            place=phrase("within 0.2 m of the battery's + terminal"),
            reason=phrase("the other batteries would feed a fault in this one"),
        )
    return bus.port()

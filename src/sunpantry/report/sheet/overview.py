"""The whole system at one glance: where power comes from, what keeps it, what uses it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from sunpantry.phrases import joined, phrase
from sunpantry.report.sheet.blocks import Block, card, chain
from sunpantry.report.sheet.desk import Desk
from sunpantry.report.sheet.words import (
    HOUSING,
    SECOND_SOURCES,
    capital,
    counted,
    facing,
    tilt_words,
    ways_joined,
)

if TYPE_CHECKING:
    from sunpantry.parts.system import Array


def overview(desk: Desk) -> Block:
    """Sources, what keeps the power, uses, as three columns of cards joined by arrows.

    Parameters
    ----------
    desk : Desk
        The plan and how numbers are written.
    """
    columns = [list(_sources(desk)), list(_keepers(desk)), list(_uses(desk))]
    return chain([one for one in columns if one])


def _sources(desk: Desk) -> Iterator[Block]:
    numbers = desk.numbers
    alike: dict[tuple[str, str, str, str], list[Array]] = {}
    for array in desk.plan.system.arrays:
        key = (
            array.panel.name,
            ways_joined(array),
            tilt_words(array, numbers),
            facing(array, numbers, word_only=True),
        )
        alike.setdefault(key, []).append(array)
    for (name, way, tilt, side), arrays in alike.items():
        count = sum(array.count for array in arrays)
        where = phrase("lying flat")
        if side:
            where = phrase("tilt {tilt}, facing {side}", tilt=tilt, side=side)
        lines = [counted(count, desk.say(name)), *([way] if count > 1 else []), where]
        yield card(phrase("Panels"), *lines)
    second = desk.plan.second_source
    if second is not None:
        helps = phrase("helps out: charges the battery")
        if second.transfer:
            helps = phrase("helps out: carries the loads itself")
        yield card(capital(desk.told(SECOND_SOURCES[second.kind])), helps)


def _keepers(desk: Desk) -> Iterator[Block]:
    system, numbers = desk.plan.system, desk.numbers
    if system.controller is not None:
        name = desk.say(system.controller.name)
        yield card(phrase("Charge controller"), counted(system.controller_count, name))
    if system.bank is not None:
        bank = system.bank
        where = joined((numbers.energy(bank.energy_wh), HOUSING[bank.housing]))
        yield card(phrase("Battery"), counted(bank.count, desk.say(bank.battery.name)), where)


def _uses(desk: Desk) -> Iterator[Block]:
    plan = desk.plan
    through = {f"{one.output_v:g} V": one.name for one in plan.system.converters}
    if plan.system.inverter is not None:
        through["mains"] = plan.system.inverter.name
    by_supply: dict[str, list[str]] = {}
    for load in plan.demand.loads:
        by_supply.setdefault(load.supply, []).append(counted(load.quantity, load.name))
    for supply, names in by_supply.items():
        volts = desk.numbers.number(plan.design.site.mains_v, "V") if supply == "mains" else supply
        way = volts
        if supply in through:
            part = desk.say(through[supply])
            way = phrase("{volts}, through {part}", volts=volts, part=part)
        yield card(way, ", ".join(names))
    for water in plan.water:
        volume = desk.numbers.number(water.volume_l, "L")
        fills = phrase("fills {tank}, {volume}", tank=water.tank, volume=volume)
        yield card(water.pump, fills)

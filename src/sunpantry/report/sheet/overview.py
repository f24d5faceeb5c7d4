"""The whole system at one glance: where power comes from, what keeps it, what uses it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from sunpantry.report.sheet.blocks import Block, card, chain
from sunpantry.report.sheet.desk import Desk
from sunpantry.report.sheet.words import (
    HOUSING,
    SECOND_SOURCES,
    counted,
    facing,
    joined,
    tilt_words,
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
            joined(array),
            tilt_words(array, numbers),
            facing(array, numbers, word_only=True),
        )
        alike.setdefault(key, []).append(array)
    for (name, way, tilt, side), arrays in alike.items():
        count = sum(array.count for array in arrays)
        where = f"tilt {tilt}, facing {side}" if side else "lying flat"
        lines = [counted(count, desk.say(name)), *([way] if count > 1 else []), where]
        yield card("Panels", *lines)
    second = desk.plan.second_source
    if second is not None:
        how = "carries the loads itself" if second.transfer else "charges the battery"
        name = SECOND_SOURCES[second.kind]
        yield card(name[0].upper() + name[1:], f"helps out: {how}")


def _keepers(desk: Desk) -> Iterator[Block]:
    system, numbers = desk.plan.system, desk.numbers
    if system.controller is not None:
        name = desk.say(system.controller.name)
        yield card("Charge controller", counted(system.controller_count, name))
    if system.bank is not None:
        bank = system.bank
        where = f"{numbers.energy(bank.energy_wh)}, {HOUSING[bank.housing]}"
        yield card("Battery", counted(bank.count, desk.say(bank.battery.name)), where)


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
        way = f"{volts}, through {desk.say(through[supply])}" if supply in through else volts
        yield card(way, ", ".join(names))
    for water in plan.water:
        tank = f"fills {water.tank}, {desk.numbers.number(water.volume_l, 'L')}"
        yield card(water.pump, tank)

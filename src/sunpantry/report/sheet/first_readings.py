"""Section 8: what a meter should show on the first day."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from sunpantry.design.moments import MONTHS
from sunpantry.explain.asked import charging_v
from sunpantry.explain.readings import (
    SEASONS,
    FirstReadings,
    PointReading,
    Range,
    first_readings,
)
from sunpantry.explain.water_readings import flows_by_hour, outlet_point
from sunpantry.phrases import phrase
from sunpantry.report.sheet.blocks import Block, beside, heading, section, table, text
from sunpantry.report.sheet.desk import Desk

if TYPE_CHECKING:
    from sunpantry.plan.types import WaterReport

# A reading, not a thing: the empty value sets it apart for other languages.
_YOURS = phrase("yours{reading}", reading="")
# One hour of the clock with its two ranges.
_Hour = tuple[int, Range, Range]


def readings(desk: Desk) -> Block:
    """Points to measure, and what comes by hour under clear and cloudy sky.

    Parameters
    ----------
    desk : Desk
        The plan and how numbers are written.
    """
    plan = desk.plan
    found = first_readings(
        plan.setting,
        plan.system,
        charging_v=charging_v(plan),
        mains_v=plan.design.site.mains_v,
        month=_months(desk)[0] if desk.day is not None else None,
    )
    outlets = [
        outlet_point(one.pump, flow_l_min=one.pipe.flow_l_min, is_direct=one.array is not None)
        for one in plan.water
    ]
    blocks = [
        text(
            phrase(
                "Ranges come from the same simulated sky and the same panel curves as the proof, "
                "widened by what labels and cheap meters are out. A reading inside means: go on. "
                "Write yours beside it."
            )
        ),
        heading(phrase("Point by point")),
        _points([*found.points, *outlets], desk),
        *_loads(found.loads, desk),
    ]
    if plan.system.bank is not None or plan.demand.loads:
        blocks += _currents(found, desk)
    for water in plan.water:
        blocks += _flows(water, desk)
    return section(8, phrase("First readings"), blocks, room=0.7)


def _months(desk: Desk) -> tuple[int, ...]:
    return SEASONS if desk.day is None else (desk.day.month - 1,)


def _points(points: Iterable[PointReading], desk: Desk) -> Block:
    rows = [
        [
            desk.say(one.where),
            desk.say(one.how),
            _range(one.expected, one.unit, desk),
            "",
            desk.say(one.if_not),
        ]
        for one in points
    ]
    return table(
        [
            *(phrase("where"), phrase("how"), phrase("should show"), _YOURS),
            phrase("if not"),
        ],
        rows,
        align="llrll",
        widths=(0.8, 0.9, 0, 0.35, 1.5),
        size_pt=8.6,
    )


def _loads(points: tuple[PointReading, ...], desk: Desk) -> list[Block]:
    if not points:
        return []
    rows = [
        [desk.say(one.where), desk.say(one.how), _range(one.expected, one.unit, desk), ""]
        for one in points
    ]
    return [
        heading(phrase("Load by load")),
        text(phrase("One at a time. {if_not}", if_not=desk.say(points[0].if_not))),
        table(
            [phrase("where"), phrase("how"), phrase("should show"), _YOURS],
            rows,
            align="llrl",
            widths=(0.9, 1.3, 0, 0.4),
            size_pt=8.6,
        ),
    ]


def _currents(found: FirstReadings, desk: Desk) -> list[Block]:
    system = desk.plan.system
    volts = desk.numbers.fixed(found.charging_v, "V", places=1)
    if system.controller is not None:
        title = phrase("Current into the battery, by hour of the clock")
        when = phrase(
            "The battery taking all it can get, at about {volts}; once it is nearly full the "
            "controller holds back and the current is less, as it should be.",
            volts=volts,
        )
    elif system.bank is not None:
        title = phrase("Current into the power bank, by hour of the clock")
        when = phrase("At about {volts}, while the power bank is not yet nearly full.", volts=volts)
    else:
        title = phrase("Current into the load, by hour of the clock")
        when = phrase("What the panel can give: a load takes no more than it needs.")
    full: str = ""
    if system.controller is not None:
        full = phrase(", a controller that thinks the battery is full")
    wiring = desk.plan.wiring
    fused = wiring is not None and bool(wiring.protections)
    hours = [
        (MONTHS[month.month], [(one.clock_h, one.clear_a, one.cloudy_a) for one in month.hours])
        for month in found.months
    ]
    return [
        heading(title),
        text(
            phrase(
                "Clear: the brighter quarter of all such hours in the simulated years. Cloudy: the "
                "duller half. {when}",
                when=when,
            )
        ),
        text(
            phrase(
                "Much less than half of the lowest value under an open sky: look for shade, a "
                "panel left out or turned round, a loose plug{full}. Nothing at all: {nothing}.",
                full=full,
                nothing=phrase("fuse, switch, polarity") if fused else phrase("plug, polarity"),
            )
        ),
        *_by_hour(hours, "A", desk),
    ]


def _flows(water: WaterReport, desk: Desk) -> list[Block]:
    """Water of a pump straight on its panels."""
    plan = desk.plan
    array = water.array
    job = next((one for one in plan.demand.pumps if one.pump.name == water.pump), None)
    if array is None or job is None:
        return []
    hours = []
    for month in _months(desk):
        flows = flows_by_hour(plan.setting, job, array, bore_mm=water.pipe.bore_mm, month=month)
        hours.append((MONTHS[month], [(one.clock_h, one.clear, one.cloudy) for one in flows]))
    return [
        heading(phrase("Water from {pump}, by hour of the clock", pump=water.pump)),
        text(
            phrase(
                "Litres a minute at the outlet. Clear: the brighter quarter of all such hours in "
                "the simulated years. Cloudy: the duller half. Hours that are not listed bring "
                "nothing."
            )
        ),
        *_by_hour(hours, "L/min", desk),
    ]


def _by_hour(months: Sequence[tuple[str, list[_Hour]]], unit: str, desk: Desk) -> list[Block]:
    """A small table a month, two side by side; all with the same decimals."""
    top = max((one[1].high for _, hours in months for one in hours), default=0.0)
    places = 2 if top < 3.0 else 1 if top < 20.0 else 0
    least = 0.5 * 10.0**-places

    def shown(one: Range) -> str:
        return desk.numbers.span(one.low, one.high, unit, places=places)

    columns = []
    for name, hours in months:
        rows = [
            [desk.numbers.clock(float(clock_h)), shown(clear), shown(cloudy)]
            for clock_h, clear, cloudy in hours
            if clear.high >= least
        ]
        if rows:
            hourly = table(
                [phrase("from"), phrase("clear sky"), phrase("cloudy sky")],
                rows,
                align="rrr",
                widths=(0, 1, 1),
                size_pt=8.6,
                tight=True,
            )
            columns.append([heading(name, 3), hourly])
    return [
        beside(*columns[place : place + 2], *([] if len(columns) > place + 1 else [[]]))
        for place in range(0, len(columns), 2)
    ]


def _range(expected: Range, unit: str, desk: Desk) -> str:
    whole_from = 10.0 if unit == "W" else 100.0
    places = 2 if expected.high < 2.0 else 1 if expected.high < whole_from else 0
    return desk.numbers.span(expected.low, expected.high, unit, places=places)

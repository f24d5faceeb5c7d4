"""Section 8: what a meter should show on the first day."""

from __future__ import annotations

from sunpantry.design.moments import MONTHS
from sunpantry.explain.live import charging_v
from sunpantry.explain.readings import MonthReadings, PointReading, Range, first_readings
from sunpantry.report.sheet.blocks import Block, beside, heading, section, table, text
from sunpantry.report.sheet.desk import Desk

# Hours with less than this are left out [A].
_LEAST_A = 0.05


def readings(desk: Desk) -> Block:
    """Points to measure, and the current by hour under clear and cloudy sky.

    Parameters
    ----------
    desk : Desk
        The plan and how numbers are written.
    """
    plan, numbers = desk.plan, desk.numbers
    month = None if desk.day is None else desk.day.month - 1
    found = first_readings(
        plan.setting,
        plan.system,
        charging_v=charging_v(plan),
        mains_v=plan.design.site.mains_v,
        month=month,
    )
    rows = [
        [one.where, one.how, _range(one.expected, one.unit, desk), "", one.if_not]
        for one in found.points
    ]
    into = "battery" if plan.system.bank is not None else "load"
    blocks = [
        text(
            "Ranges come from the same simulated sky and the same panel curves as the proof, "
            "widened by what labels and cheap meters are out. A reading inside means: go on. "
            "Write yours beside it."
        ),
        heading("Point by point"),
        table(
            ["where", "how", "should show", "yours", "if not"],
            rows,
            align="llrll",
            widths=(0.8, 0.9, 0, 0.35, 1.5),
            size_pt=8.6,
        ),
        *_loads(found.loads, desk),
        heading(f"Current into the {into}, by hour of the clock"),
        text(
            "Clear: the brighter quarter of all such hours in the simulated years. Cloudy: the "
            f"duller half. The {into} taking all it can get, at about "
            f"{numbers.fixed(found.charging_v, 'V', places=1)}; once it is nearly full the "
            "controller holds back and the current is less, as it should be."
        ),
    ]
    blocks.append(
        text(
            "Much less than half of the lowest value under an open sky: look for shade, a panel "
            "left out or turned round, a loose plug, a controller that thinks the battery is "
            "full. Nothing at all: fuse, switch, polarity."
        )
    )
    months = [
        [heading(MONTHS[one.month], 3), _hours(one, desk)] for one in found.months if one.hours
    ]
    blocks += [
        beside(*months[place : place + 2], *([] if len(months) > place + 1 else [[]]))
        for place in range(0, len(months), 2)
    ]
    return section(8, "First readings", blocks)


def _loads(points: tuple[PointReading, ...], desk: Desk) -> list[Block]:
    if not points:
        return []
    rows = [[one.where, one.how, _range(one.expected, one.unit, desk), ""] for one in points]
    return [
        text(points[0].if_not),
        table(
            ["where", "how", "should show", "yours"],
            rows,
            align="llrl",
            widths=(1, 1, 0, 0.4),
            size_pt=8.6,
        ),
    ]


def _hours(month: MonthReadings, desk: Desk) -> Block:
    rows = [
        [
            desk.numbers.clock(float(one.clock_h)),
            _amps(one.clear_a, desk),
            _amps(one.cloudy_a, desk),
        ]
        for one in month.hours
        if one.clear_a.high >= _LEAST_A
    ]
    return table(
        ["from", "clear sky", "cloudy sky"],
        rows,
        align="rrr",
        widths=(0, 1, 1),
        size_pt=8.6,
        tight=True,
    )


def _amps(expected: Range, desk: Desk) -> str:
    places = 1 if expected.high < 20.0 else 0
    return desk.numbers.span(expected.low, expected.high, "A", places=places)


def _range(expected: Range, unit: str, desk: Desk) -> str:
    places = 2 if expected.high < 2.0 else 1 if expected.high < 100.0 else 0
    return desk.numbers.span(expected.low, expected.high, unit, places=places)

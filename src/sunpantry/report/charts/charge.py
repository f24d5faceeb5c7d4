"""Charts of the battery's charge: chosen winters, all winters, hour by day."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from sunpantry.phrases import phrase
from sunpantry.report.charts.style import (
    DASHED,
    DOTTED,
    SOLID,
    THEMES,
    WIDTH,
    Chart,
    Pen,
    Rows,
    Spec,
)
from sunpantry.report.charts.year_axis import (
    axis_of,
    by_the_clock,
    missing_share,
    trace,
    typical_winter,
    worst_winter,
)
from sunpantry.simulate import layout as at
from sunpantry.timegrid import DAYS_PER_YEAR, FloatArray

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan

# Days that share a column of the heat map.
_BLOCK = 5
_SCALE_PERCENT = {"domain": [0, 1], "nice": False}


def winters_charge(plan: Plan, pen: Pen, *, winter: int | None = None) -> Chart:
    """Lowest charge of each day in the typical, the worst and a chosen winter.

    Parameters
    ----------
    plan : Plan
        For its traces.
    pen : Pen
        Theme and numbers.
    winter : int, optional
        A winter to add, 1 for the first.
    """
    lows = trace(plan, at.TR_SOC).min(axis=2)
    worst, typical = worst_winter(plan), typical_winter(plan)
    shown = [(phrase("worst winter"), worst, SOLID, pen.theme.short, 2.2)]
    if typical != worst:
        shown.append((phrase("typical winter"), typical, DASHED, pen.theme.store, 1.8))
    if winter is not None and winter - 1 not in (worst, typical):
        shown.append(
            (phrase("winter {winter}", winter=winter), winter - 1, DOTTED, pen.theme.ink, 1.8)
        )
    days = axis_of(plan)
    low, low_typical = float(lows[worst].min()), float(lows[typical].min())
    when = days.day_words(int(lows[worst].argmin()))
    title = _winters_title(plan, pen, low, low_typical)
    alt = phrase(
        "Line chart of the battery's lowest charge on each day of the year. {title}. The "
        "lowest point of the worst winter falls on {when}.",
        title=title,
        when=when,
    )
    layers: list[Spec] = []
    told: Rows = [{"day": day + 0.5, "date": days.day_words(day)} for day in range(DAYS_PER_YEAR)]
    x = days.x()
    y = percent_axis(phrase("lowest charge of the day"))
    for name, index, dash, colour, width in shown:
        values = lows[index]
        line = {"color": colour, "strokeDash": dash, "strokeWidth": width}
        rows = [{"day": day + 0.5, "charge": round(float(v), 3)} for day, v in enumerate(values)]
        layers.append(
            {
                "data": {"values": rows},
                "mark": {"type": "line", **line},
                "encoding": {"x": x, "y": y},
            }
        )
        for row, value in zip(told, rows, strict=True):
            row[name] = value["charge"]
        layers.append(_key(name, len(layers) // 2, line, pen.theme.ink))
    return pen.chart(
        "charge-winters",
        title,
        alt,
        {
            "width": WIDTH,
            "height": 230,
            "layer": [*layers, *pen.hovered(told, x, {one[0]: one[0] for one in shown})],
        },
        subtitle=(
            phrase(
                "A year with the dark season in the middle; {battery}.",
                battery=battery_words(plan, pen),
            ),
        ),
    )


def _winters_title(plan: Plan, pen: Pen, low: float, low_typical: float) -> str:
    """By hours without power where there are any, by the lowest charge otherwise."""
    dark = {one.number: one.hours_without for one in plan.proof.winter_list}
    start = phrase("In the worst of {winters} winters", winters=plan.proof.winters)
    harsh, usual = dark[worst_winter(plan) + 1], dark[typical_winter(plan) + 1]
    if harsh > 0.0:
        hours = pen.numbers.hours
        return phrase(
            "{start} something is without power for {hours}, in a typical one for {usual}",
            start=start,
            hours=hours(harsh),
            usual=hours(usual),
        )
    percent = pen.numbers.percent
    if percent(low) == percent(low_typical):
        return phrase(
            "In a typical winter as in the worst of all the battery sinks to {percent}",
            percent=percent(low),
        )
    return phrase(
        "{start} the battery sinks to {percent}, in a typical one to {usual}",
        start=start,
        percent=percent(low),
        usual=percent(low_typical),
    )


def _key(name: str, slot: int, line: Spec, ink: str) -> Spec:
    """A sample of the line with its name, in the lower corner where the year begins."""
    level = 0.05 + 0.075 * slot
    row = {"from": 6, "to": 28, "at": 32, "level": level, "name": name}
    y = {"field": "level", "type": "quantitative", "scale": _SCALE_PERCENT}
    return {
        "data": {"values": [row]},
        "layer": [
            {"mark": {"type": "rule", **line},
             "encoding": {"x": {"field": "from", "type": "quantitative"}, "x2": {"field": "to"},
                          "y": y}},
            {"mark": {"type": "text", "align": "left", "color": ink},
             "encoding": {"x": {"field": "at", "type": "quantitative"}, "y": y,
                          "text": {"field": "name", "type": "nominal"}}},
        ],
    }  # fmt: skip


def charge_map(plan: Plan, pen: Pen) -> Chart:
    """Charge by hour and day in the worst winter.

    Parameters
    ----------
    plan : Plan
        For its traces.
    pen : Pen
        Theme and numbers.
    """
    worst = worst_winter(plan)
    table = _blocks(plan, trace(plan, at.TR_SOC)[worst], np.min)
    days, percent = axis_of(plan), pen.numbers.percent
    block, hour = np.unravel_index(int(table.argmin()), table.shape)
    when = days.day_words(min(int(block) * _BLOCK + _BLOCK // 2, DAYS_PER_YEAR - 1))
    below = float((trace(plan, at.TR_SOC)[worst] < 0.5).any(axis=1).sum())
    title = (
        (
            phrase(
                "In the worst winter the battery is less than half full on {below:.0f} days; "
                "lowest around {when}",
                below=below,
                when=when,
            )
        )
        if below > 0
        else (
            phrase(
                "Even in the worst winter the battery never falls below half; lowest around {when}",
                when=when,
            )
        )
    )
    alt = phrase(
        "Heat map of the battery's charge by hour of the day and day of the year, worst "
        "winter. {title}, near {clock}, at {percent}.",
        title=title,
        clock=pen.numbers.clock(float(hour)),
        percent=percent(float(table.min())),
    )
    scale = {"domain": [0, 1], "range": list(pen.theme.ramp)}
    body = _map_body(_cells(table), days.x("day"), scale, phrase("lowest charge"))
    empty = "dark" if pen.theme is THEMES["light"] else "bright"
    how = phrase(
        "Lowest charge in each block of {block} days, by clock hour; {empty} is empty.",
        block=_BLOCK,
        empty=empty,
    )
    return pen.chart("charge-map", title, alt, body, subtitle=(how,))


def shortfall_map(plan: Plan, pen: Pen) -> Chart | None:
    """How often power is missing, by hour and day; ``None`` when it never is.

    Parameters
    ----------
    plan : Plan
        For its traces.
    pen : Pen
        Theme and numbers.
    """
    often = (missing_share(plan) > 1e-6).mean(axis=0)
    table = _blocks(plan, often, np.mean)
    top = float(table.max())
    if top <= 0.0:
        return None
    days, percent = axis_of(plan), pen.numbers.percent
    block, hour = np.unravel_index(int(table.argmax()), table.shape)
    when = days.day_words(min(int(block) * _BLOCK + _BLOCK // 2, DAYS_PER_YEAR - 1))
    title = phrase(
        "Power is most often short around {when} near {clock}: on {percent} of days",
        when=when,
        clock=pen.numbers.clock(float(hour)),
        percent=percent(top),
    )
    alt = phrase(
        "Heat map of how often something is without power, by hour of the day and day of the "
        "year, over {winters} winters. {title}.",
        winters=plan.proof.winters,
        title=title,
    )
    scale = {"domain": [0, top], "range": list(reversed(pen.theme.ramp))}
    body = _map_body(_cells(table), days.x("day"), scale, phrase("share of days"))
    return pen.chart(
        "shortfall-map", title, alt, body,
        subtitle=(phrase("Share of days on which something is without power, by clock hour, "
                         "over {winters} winters.", winters=plan.proof.winters),),
    )  # fmt: skip


def _blocks(plan: Plan, table: FloatArray, fold: Any) -> FloatArray:
    """Clock hours by blocks of days, shape (73, 24); each day rolled to its civil time."""
    grid = plan.demand.grid
    per_day = grid.steps_per_day
    flat = table.reshape(-1)
    rolled = np.empty_like(table)
    for month in range(12):
        shifted = by_the_clock(plan, flat, month).reshape(table.shape)
        rows = grid.month[::per_day] == month
        rolled[rows] = shifted[rows]
    # Steps within an hour belong together, and the days of a block.
    cube = rolled.reshape(DAYS_PER_YEAR // _BLOCK, _BLOCK, 24, -1)
    return np.asarray(fold(cube, axis=(1, 3)))


def _cells(table: FloatArray) -> Rows:
    return [
        {"day": block * _BLOCK, "hour": hour, "value": round(float(table[block, hour]), 3)}
        for block in range(table.shape[0])
        for hour in range(table.shape[1])
    ]


def _map_body(rows: Rows, x: Spec, scale: Spec, name: str) -> Spec:
    for row in rows:
        row["to"], row["until"] = row["day"] + _BLOCK, row["hour"] + 1
    return {
        "width": WIDTH - 60,
        "height": 220,
        "data": {"values": rows},
        "mark": {"type": "rect", "strokeWidth": 0.4},
        "encoding": {
            "x": x, "x2": {"field": "to"},
            "y": {
                "field": "hour", "type": "quantitative",
                "scale": {"domain": [0, 24], "reverse": True, "nice": False},
                "axis": {"title": phrase("hour of the day"),
                         "values": [0, 6, 12, 18, 24], "grid": False},
            },
            "y2": {"field": "until"},
            "color": _map_colour(scale, name),
            "stroke": {"field": "value", "type": "quantitative", "scale": scale, "legend": None},
            "tooltip": [
                {"field": "hour", "type": "quantitative", "title": phrase("hour")},
                {"field": "value", "type": "quantitative", "title": name, "format": ".0%"},
            ],
        },
    }  # fmt: skip


def _map_colour(scale: Spec, name: str) -> Spec:
    return {
        "field": "value", "type": "quantitative", "scale": scale,
        "legend": {"title": name, "format": ".0%", "gradientLength": 190, "tickCount": 5,
                   "type": "gradient"},
    }  # fmt: skip


def percent_axis(title: str) -> Spec:
    """Scale of a share from empty to full."""
    return {
        "field": "charge", "type": "quantitative", "scale": _SCALE_PERCENT,
        "axis": {"title": title, "format": ".0%", "tickCount": 5, "domain": False, "ticks": False},
    }  # fmt: skip


def battery_words(plan: Plan, pen: Pen) -> str:
    """How worn the battery is."""
    left = plan.proof.capacity_left
    return (
        phrase("battery new")
        if left >= 1.0
        else phrase("battery worn to {percent}", percent=pen.numbers.percent(left))
    )

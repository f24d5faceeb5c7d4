"""All winters as a band: charge of the battery, content of a tank."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sunpantry.phrases import phrase
from sunpantry.report.charts.charge import battery_words, percent_axis
from sunpantry.report.charts.style import WIDTH, Chart, Pen, Rows, Spec
from sunpantry.report.charts.year_axis import YearAxis, axis_of, trace
from sunpantry.simulate import layout as at
from sunpantry.timegrid import DAYS_PER_YEAR, FloatArray

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan, WaterReport

_KEYS = ("least", "low", "middle", "high", "most")
_SHARES = (0.0, 0.1, 0.5, 0.9, 1.0)
_TOLD = {
    "least": phrase("lowest of all"),
    "low": phrase("one winter in ten below"),
    "middle": phrase("middle winter"),
    "high": phrase("nine winters in ten below"),
}


def all_winters(plan: Plan, pen: Pen) -> Chart:
    """Charge of the battery in all winters: the range, the middle eight of ten, the median.

    Parameters
    ----------
    plan : Plan
        For its traces.
    pen : Pen
        Theme and numbers.
    """
    levels = _levels(trace(plan, at.TR_SOC).min(axis=2))
    days, percent = axis_of(plan), pen.numbers.percent
    darkest = int(levels[1].argmin())
    title = phrase(
        "Around {day}, the hardest time, nine winters of ten keep more than {percent} "
        "in the battery",
        day=days.day_words(darkest),
        percent=percent(float(levels[1, darkest])),
    )
    alt = phrase(
        "Band chart of the battery's lowest charge on each day, over {winters} winters. "
        "{title}. The lowest of all is {percent}; the middle winter's lowest {middle}.",
        winters=plan.proof.winters,
        title=title,
        percent=percent(float(levels[0].min())),
        middle=percent(float(levels[2].min())),
    )
    return pen.chart(
        "charge-all-winters",
        title,
        alt,
        _body(levels, days, phrase("lowest charge of the day"), pen),
        subtitle=(
            phrase(
                "Line: the middle winter. Inner band: eight winters of ten. Outer band: all "
                "{winters}; {battery}.",
                winters=plan.proof.winters,
                battery=battery_words(plan, pen),
            ),
        ),
    )


def tank_level(plan: Plan, water: WaterReport, pen: Pen, *, number: int) -> Chart:
    """Content of a tank in all years, as a band.

    Parameters
    ----------
    plan : Plan
        For its year.
    water : WaterReport
        The tank.
    pen : Pen
        Theme and numbers.
    number : int
        Of the tank, 1 for the first, for the name of the chart.
    """
    proof = water.proof
    per_day = plan.demand.grid.steps_per_day
    levels = _levels(proof.share.reshape(proof.years, DAYS_PER_YEAR, per_day).min(axis=2))
    days, percent = axis_of(plan), pen.numbers.percent
    hardest = int(levels[1].argmin())
    when = days.day_words(hardest)
    if proof.dry_days_per_year > 0.0:
        dry = pen.numbers.number(proof.dry_days_per_year, digits=2)
        title = phrase(
            "{tank}: water is missing on {dry} days a year, most likely around {when}",
            tank=water.tank,
            dry=dry,
            when=when,
        )
    else:
        title = phrase(
            "{tank}: never dry in {years} years; lowest around {when}, at {percent}",
            tank=water.tank,
            years=proof.years,
            when=when,
            percent=percent(float(levels[0].min())),
        )
    alt = phrase(
        "Band chart of the lowest content of the tank on each day, over {years} years. "
        "{title}. The middle year's lowest is {percent} of {volume}.",
        years=proof.years,
        title=title,
        percent=percent(float(levels[2].min())),
        volume=pen.numbers.number(water.volume_l, "L"),
    )
    return pen.chart(
        f"tank-{number}",
        title,
        alt,
        _body(levels, days, phrase("lowest content of the day"), pen),
        subtitle=(
            phrase(
                "Line: the middle year. Inner band: eight years of ten. Outer band: all {years}. "
                "Full is {volume}.",
                years=proof.years,
                volume=pen.numbers.number(water.volume_l, "L"),
            ),
        ),
    )


def _levels(lows: FloatArray) -> FloatArray:
    """Quantiles over the winters of each day, shape (5, 365)."""
    return np.asarray(np.quantile(lows, _SHARES, axis=0, method="linear"))


def _body(levels: FloatArray, days: YearAxis, title: str, pen: Pen) -> Spec:
    rows: Rows = [
        {"day": day + 0.5, **{key: round(float(levels[k, day]), 3) for k, key in enumerate(_KEYS)}}
        for day in range(DAYS_PER_YEAR)
    ]
    x, y = days.x(), percent_axis(title)
    return {
        "width": WIDTH,
        "height": 230,
        "data": {"values": rows},
        "layer": [
            {"mark": {"type": "area", "color": pen.theme.band},
             "encoding": {"x": x, "y": y | {"field": "least"}, "y2": {"field": "most"}}},
            {"mark": {"type": "area", "color": pen.theme.band_core},
             "encoding": {"x": x, "y": y | {"field": "low"}, "y2": {"field": "high"}}},
            {"mark": {"type": "line", "color": pen.theme.store, "strokeWidth": 2},
             "encoding": {"x": x, "y": y | {"field": "middle"}}},
            *pen.hovered(
                [row | {"date": days.day_words(day)} for day, row in enumerate(rows)], x, _TOLD
            ),
        ],
    }  # fmt: skip

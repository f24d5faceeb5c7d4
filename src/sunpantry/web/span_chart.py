"""A chart of a day, a week or a month of one winter, hour by hour."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sunpantry.explain.conditions import utc_offset_h
from sunpantry.language import gettext, mark
from sunpantry.phrases import joined, phrase
from sunpantry.report.charts.style import DOTTED, THEMES, Chart, Pen, Rows, Spec, theme_of
from sunpantry.report.charts.year_axis import axis_of, trace, worst_winter
from sunpantry.report.numbers import numbers_of
from sunpantry.simulate import layout as at
from sunpantry.timegrid import DAYS_PER_YEAR, MONTH_LENGTHS

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan

WIDTH = 640
_DAY = mark("day")


@dataclass(frozen=True)
class Span:
    """Which days are looked at.

    Parameters
    ----------
    winter : int or None
        1 for the first; the worst one by default.
    month, day : int or None
        1 January is (1, 1); the darkest days of the winter by default.
    days : int
        How many.
    """

    winter: int | None = None
    month: int | None = None
    day: int | None = None
    days: int = 7


def span_chart(plan: Plan, span: Span, *, theme: str, locale: str | None) -> Chart:
    """Draw what the panels gave, what the loads got, what was missing, and the charge.

    Parameters
    ----------
    plan : Plan
        For its traces.
    span : Span
        Which days.
    theme : str
        'light' or 'dark'.
    locale : str or None
        How numbers are written; as at the site by default.
    """
    zone = plan.sky.place.timezone
    numbers = numbers_of(timezone=zone, currency=plan.design.money.currency, locale=locale)
    pen = Pen(THEMES[theme_of(theme)], numbers)
    winter = worst_winter(plan) if span.winter is None else span.winter - 1
    winter = min(winter, plan.proof.winters - 1)
    first = _first_day(plan, winter, span)
    words = axis_of(plan).day_words
    last = first + span.days - 1
    when = words(first)
    if span.days > 1:
        when = phrase("{first} to {last}", first=words(first), last=words(last))
    rows = _rows(plan, winter, first, span.days)
    step_h = plan.demand.grid.step_h
    sums = {key: sum(row[key] for row in rows) * step_h for key in ("sun", "loads", "missing")}
    write = numbers.energy
    lacking = phrase("nothing missing")
    if sums["missing"] > 0.5:
        lacking = phrase("{energy} missing", energy=write(sums["missing"]))
    title = phrase(
        "Winter {winter}, {when}: {sun} from the sun, {served} delivered, {lacking}",
        winter=winter + 1,
        when=when,
        sun=write(sums["sun"]),
        served=write(sums["loads"]),
        lacking=lacking,
    )
    alt = phrase("Chart of power and charge, step by step. {title}.", title=title)
    if plan.system.bank is not None:
        lowest = min(row["charge"] for row in rows)
        alt += phrase(" The battery sinks to {percent}.", percent=numbers.percent(lowest))
    body: Spec = {
        "data": {"values": rows},
        "vconcat": [_power(rows, span, pen)],
        "bounds": "flush",
        "spacing": 14,
    }
    if plan.system.bank is not None:
        body["vconcat"].append(_charge(span, pen))
    legend = (
        phrase("By the clock. Filled: taken from the sun. Dotted: what the panels could give."),
        phrase("Line: what the loads get. Red: missing."),
    )
    return pen.chart("span", title, alt, body, subtitle=legend)


def _first_day(plan: Plan, winter: int, span: Span) -> int:
    """Day of the grid that the span begins on."""
    last = DAYS_PER_YEAR - span.days
    if span.month is None:
        missing = trace(plan, at.TR_UNSERVED)[winter].sum(axis=1)
        charge = trace(plan, at.TR_SOC)[winter].min(axis=1)
        worst = int(missing.argmax()) if missing.max() > 0.0 else int(charge.argmin())
        return max(0, min(worst - span.days // 2, last))
    month = min(max(span.month, 1), 12) - 1
    day = min(max(span.day or 1, 1), MONTH_LENGTHS[month])
    of_year = sum(MONTH_LENGTHS[:month]) + day
    grid = plan.demand.grid
    starts = grid.day_of_year[:: grid.steps_per_day]
    return min(int(np.argmax(starts == of_year)), last)


def _rows(plan: Plan, winter: int, first: int, days: int) -> Rows:
    grid = plan.demand.grid
    month = int(grid.month[first * grid.steps_per_day])
    shift = round(utc_offset_h(plan.sky.place.timezone, month) / grid.step_h)
    steps = np.arange(days * grid.steps_per_day)
    found = np.clip(first * grid.steps_per_day - shift + steps, 0, grid.steps_per_year - 1)
    columns = {
        "sun": at.TR_PV,
        "could": at.TR_OFFERED,
        "loads": at.TR_LOAD,
        "missing": at.TR_UNSERVED,
        "charge": at.TR_SOC,
    }
    series = {key: trace(plan, column)[winter].ravel()[found] for key, column in columns.items()}
    words = axis_of(plan).day_words
    rows: Rows = []
    for step in steps.tolist():
        hour = step % grid.steps_per_day * grid.step_h
        row: dict[str, Any] = {}
        row |= {key: round(float(values[step]), 3) for key, values in series.items()}
        row["top"] = round(row["loads"] + row["missing"], 3)
        row["t"] = round(step / grid.steps_per_day, 5)
        clock = f"{int(hour):02d}:{round(hour % 1 * 60):02d}"
        row["when"] = joined((words(first + step // grid.steps_per_day), clock))
        rows.append(row)
    return rows


def _x(span: Span, *, labels: bool) -> Spec:
    """Encoding along the chart: days, or the hours of one."""
    days = span.days
    axis: Spec = {"title": None, "grid": days > 1, "labels": labels}
    if days == 1:
        axis |= {"values": [0, 0.25, 0.5, 0.75, 1], "labelExpr": "datum.value * 24 + ' h'"}
    else:
        axis |= {"values": list(range(0, days + 1, 1 if days <= 7 else 5))}
        axis |= {"labelExpr": f"'{gettext(_DAY)} ' + (datum.value + 1)"}
    return {
        "field": "t",
        "type": "quantitative",
        "scale": {"domain": [0, days], "nice": False},
        "axis": axis,
    }


def _power(rows: Rows, span: Span, pen: Pen) -> Spec:
    theme = pen.theme
    used = max(max(row["sun"], row["top"]) for row in rows)
    top = max(min(max(row["could"] for row in rows), 3.0 * used), used, 1e-3)
    x = _x(span, labels=False)
    y: Spec = {
        "type": "quantitative",
        "scale": {"domain": [0, top * 1.05], "nice": False},
        "axis": {"title": "W", "domain": False, "ticks": False, "tickCount": 4},
    }
    step = {"interpolate": "step-after", "clip": True}
    told = [
        {"field": "when", "type": "nominal", "title": phrase("when")},
        *(
            {"field": key, "type": "quantitative", "title": title, "format": ".3~r"}
            for key, title in (
                ("sun", phrase("from the sun, W")),
                ("could", phrase("could give, W")),
                ("loads", phrase("delivered, W")),
                ("missing", phrase("missing, W")),
            )
        ),
        {"field": "charge", "type": "quantitative", "title": phrase("charge"), "format": ".0%"},
    ]
    return {
        "width": WIDTH,
        "height": 170,
        "layer": [
            {
                "mark": {"type": "area", "color": theme.spilled, **step},
                "encoding": {"x": x, "y": y | {"field": "sun"}},
            },
            {
                "mark": {"type": "line", "color": theme.sun, "strokeDash": DOTTED, **step},
                "encoding": {"x": x, "y": y | {"field": "could"}},
            },
            {
                "transform": [{"filter": "datum.missing > 0"}],
                "mark": {"type": "rule", "color": theme.short, "strokeWidth": 3},
                "encoding": {"x": x, "y": y | {"field": "loads"}, "y2": {"field": "top"}},
            },
            {
                "mark": {"type": "line", "color": theme.ink, "strokeWidth": 1.8, **step},
                "encoding": {"x": x, "y": y | {"field": "loads"}},
            },
            {
                "mark": {"type": "rule", "strokeWidth": 4, "opacity": 0.001},
                "encoding": {"x": x, "tooltip": told},
            },
        ],
    }


def _charge(span: Span, pen: Pen) -> Spec:
    return {
        "width": WIDTH,
        "height": 80,
        "mark": {"type": "line", "color": pen.theme.store, "strokeWidth": 2},
        "encoding": {
            "x": _x(span, labels=True),
            "y": {
                "field": "charge",
                "type": "quantitative",
                "scale": {"domain": [0, 1], "nice": False},
                "axis": {"title": phrase("charge"), "format": ".0%", "values": [0, 0.5, 1]},
            },
            "tooltip": [
                {"field": "when", "type": "nominal", "title": phrase("when")},
                {
                    "field": "charge",
                    "type": "quantitative",
                    "title": phrase("charge"),
                    "format": ".0%",
                },
            ],
        },
    }

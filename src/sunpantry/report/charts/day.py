"""A mean day in midsummer and in midwinter, hour by hour."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunpantry.design.moments import MONTHS
from sunpantry.phrases import phrase
from sunpantry.report.charts.style import DASHED, DOTTED, SOLID, Chart, Pen, Rows, Spec
from sunpantry.report.charts.year_axis import by_the_clock, trace
from sunpantry.simulate import layout as at
from sunpantry.timegrid import FloatArray

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan

_WIDTH = 285
_MONTHS = (5, 11)
_MOST_SURPLUS = 3.0


def days(plan: Plan, pen: Pen) -> Chart:
    """A mean day in June and in December: sun, loads, charge.

    Parameters
    ----------
    plan : Plan
        For its traces.
    pen : Pen
        Theme and numbers.
    """
    step_h = plan.demand.grid.step_h
    gathered = {month: mean_day(plan, at.TR_PV, month) for month in _MONTHS}
    offered = {month: mean_day(plan, at.TR_OFFERED, month) for month in _MONTHS}
    loads = {month: mean_day(plan, at.TR_LOAD, month) for month in _MONTHS}
    charge = {month: mean_day(plan, at.TR_SOC, month) for month in _MONTHS}
    used = max(float(one.max()) for table in (gathered, loads) for one in table.values())
    # A surplus many times what is used would press everything else to the ground.
    top = min(max(float(one.max()) for one in offered.values()), _MOST_SURPLUS * used)
    top = max(top, used)
    write = pen.numbers.energy
    june, december = (float(gathered[month].sum()) * step_h for month in _MONTHS)
    could = float(offered[5].sum()) * step_h
    title = phrase(
        "A day in December gathers {december}, a day in June {june}",
        december=write(december),
        june=write(june),
    ) + (phrase(" of {could} it could", could=write(could)) if could > 1.02 * june else "")
    lowest = {month: float(charge[month].min()) for month in _MONTHS}
    stored = plan.system.bank is not None
    alt = phrase(
        "Line charts of a mean day in June and in December, hour by hour: power from the "
        "sun, power of the loads{stored}. {title}.",
        stored=phrase(", and the charge of the battery") if stored else "",
        title=title,
    )
    if stored:
        alt += phrase(
            " The mean charge at its lowest is {june} in June and {december} in December.",
            june=pen.numbers.percent(lowest[5]),
            december=pen.numbers.percent(lowest[11]),
        )
    cut = max(float(one.max()) for one in offered.values()) > 1.05 * top
    columns = [
        _column(
            month, gathered[month], offered[month], loads[month],
            charge[month] if stored else None,
            step_h=step_h, top=top, first=place == 0, pen=pen,
        )
        for place, month in enumerate(_MONTHS)
    ]  # fmt: skip
    return pen.chart(
        "days",
        title,
        alt,
        {"hconcat": columns, "spacing": 26},
        subtitle=(
            phrase(
                "Mean of all such days in {winters} winters, by the clock. Filled: taken from the "
                "sun. Dotted: what",
                winters=plan.proof.winters,
            ),
            phrase(
                "the panels could give{cut}. Line: what the loads get.{stored}",
                cut=phrase(", cut off where it is far more") if cut else "",
                stored=phrase(" Below: charge of the battery.") if stored else "",
            ),
        ),
    )


def mean_day(plan: Plan, column: int, month: int) -> FloatArray:
    """Mean of a trace over all days of a month, from midnight to midnight on the clock.

    Parameters
    ----------
    plan : Plan
        For its traces.
    column : int
        From :mod:`sunpantry.simulate.layout`.
    month : int
        0 = January.

    Returns
    -------
    ndarray, shape (steps per day,)
    """
    grid = plan.demand.grid
    inside = grid.month[:: grid.steps_per_day] == month
    mean = trace(plan, column)[:, inside].mean(axis=(0, 1))
    return by_the_clock(plan, mean, month)


def _column(
    month: int,
    gathered: FloatArray,
    offered: FloatArray,
    loads: FloatArray,
    charge: FloatArray | None,
    *,
    step_h: float,
    top: float,
    first: bool,
    pen: Pen,
) -> Spec:
    power: Rows = [
        {
            "h": round(step * step_h, 4),
            "sun": round(float(gathered[step]), 3),
            "could": round(float(offered[step]), 3),
            "loads": round(float(loads[step]), 3),
        }
        for step in range(gathered.size)
    ]
    power.append({**power[0], "h": 24.0})
    theme = pen.theme
    x = _hours(labels=charge is None)
    y = {
        "type": "quantitative", "scale": {"domain": [0, top * 1.05], "nice": False},
        "axis": {"title": "W" if first else None, "labels": first, "domain": False,
                 "ticks": False, "tickCount": 4},
    }  # fmt: skip
    step = {"interpolate": "step-after"}
    upper: Spec = {
        "width": _WIDTH,
        "height": 150,
        "title": {"text": MONTHS[month], "fontSize": 13, "offset": 4, "anchor": "start",
                  "frame": "group"},
        "data": {"values": power},
        "layer": [
            {"mark": {"type": "area", "color": theme.spilled, **step},
             "encoding": {"x": x, "y": y | {"field": "sun"}}},
            {"mark": {"type": "line", "color": theme.sun, "strokeDash": DOTTED, "clip": True,
                      **step},
             "encoding": {"x": x, "y": y | {"field": "could"}}},
            {"mark": {"type": "line", "color": theme.sun, "strokeWidth": 1.4, **step},
             "encoding": {"x": x, "y": y | {"field": "sun"}}},
            {"mark": {"type": "line", "color": theme.ink, "strokeWidth": 2, "strokeDash": SOLID,
                      **step},
             "encoding": {"x": x, "y": y | {"field": "loads"}}},
            *_hovered(x, pen),
        ],
    }  # fmt: skip
    if charge is None:
        return upper
    lower = _charge(charge, step_h=step_h, first=first, pen=pen)
    return {"vconcat": [upper, lower], "spacing": 16, "bounds": "flush"}


def _hovered(x: Spec, pen: Pen) -> list[Spec]:
    """An unseen line for every hour, that tells its values to a pointer."""
    if not pen.hover:
        return []
    told = {
        "h": phrase("hour"),
        "sun": phrase("from the sun, W"),
        "could": phrase("could give, W"),
        "loads": phrase("loads, W"),
    }
    tooltip = [
        {"field": field, "type": "quantitative", "title": title, "format": ".3~r"}
        for field, title in told.items()
    ]
    mark = {"type": "rule", "strokeWidth": 10, "opacity": 0.001}
    return [{"mark": mark, "encoding": {"x": x, "tooltip": tooltip}}]


def _charge(charge: FloatArray, *, step_h: float, first: bool, pen: Pen) -> Spec:
    """The lower picture of a column."""
    level: Rows = [
        {"h": round((step + 1) * step_h, 4), "charge": round(float(value), 4)}
        for step, value in enumerate(charge)
    ]
    level.insert(0, {"h": 0.0, "charge": level[-1]["charge"]})
    return {
        "width": _WIDTH,
        "height": 80,
        "data": {"values": level},
        "mark": {"type": "line", "color": pen.theme.store, "strokeWidth": 2,
                 "strokeDash": DASHED},
        "encoding": {
            "x": _hours(labels=True),
            "y": {
                "field": "charge", "type": "quantitative",
                "scale": {"domain": [0, 1], "nice": False},
                "axis": {"title": phrase("charge") if first else None,
                         "format": ".0%", "values": [0, 0.5,
                         1], "labels": first, "domain": False, "ticks": False},
            },
        },
    }  # fmt: skip


def _hours(*, labels: bool) -> Spec:
    return {
        "field": "h", "type": "quantitative", "scale": {"domain": [0, 24], "nice": False},
        "axis": {"title": phrase("hour of the day") if labels else None,
                 "values": [0, 6, 12, 18, 24],
                 "labels": labels, "grid": False},
    }  # fmt: skip

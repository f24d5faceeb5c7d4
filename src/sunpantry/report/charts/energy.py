"""Energy charts: the year month by month, and where each watt-hour goes."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from sunpantry.design.moments import MONTHS
from sunpantry.phrases import joined, phrase
from sunpantry.report.charts.style import WIDTH, Chart, Pen, Rows, Spec
from sunpantry.report.charts.year_axis import axis_of, short_month
from sunpantry.report.written import column

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan
    from sunpantry.simulate.proof import MonthProof

PARTS: tuple[str, ...] = (
    *(phrase("gathered"), phrase("spilled")),
    *(phrase("delivered"), phrase("missing")),
)
# Tallest bar, as a multiple of the most that is gathered or asked for.
_MOST_SURPLUS, _WORTH_CUTTING = 4.0, 1.3


def year_energy(plan: Plan, pen: Pen) -> Chart:
    """Needed, gathered, spilled and missing by month.

    Parameters
    ----------
    plan : Plan
        Its months.
    pen : Pen
        Theme and numbers.
    """
    months = {one.month: one for one in plan.proof.months}
    order = axis_of(plan).months
    # A summer's surplus would press everything else to the ground: its bars are cut off.
    top = _MOST_SURPLUS * max(
        max(one.gathered_wh, one.served_wh + one.unserved_wh) for one in plan.proof.months
    )
    if max(one.offered_wh for one in plan.proof.months) < _WORTH_CUTTING * top:
        top = math.inf
    rows: Rows = []
    tall: Rows = []
    for month in order:
        one = months[month + 1]
        spilled = max(one.offered_wh - one.gathered_wh, 0.0)
        values = [one.gathered_wh, spilled, one.served_wh, one.unserved_wh]
        if one.gathered_wh + spilled > top:
            values[1] = top - one.gathered_wh
            word = pen.numbers.number(one.offered_wh)
            tall.append({"month": short_month(month), "side": "sun", "top": top, "word": word})
        true = (one.gathered_wh, spilled, one.served_wh, one.unserved_wh)
        for index, (part, value) in enumerate(zip(PARTS, values, strict=True)):
            if round(value, 2) <= 0.0:
                continue
            rows.append(
                {
                    "month": short_month(month),
                    "side": "sun" if index < 2 else "asked",
                    "part": part,
                    "rank": index,
                    "wh": round(value, 2),
                    "true": round(true[index], 2),
                }
            )
    title, alt = _year_words(plan, pen)
    return pen.chart(
        "year-energy",
        title,
        alt,
        _year_body(rows, tall, [short_month(month) for month in order], pen),
        subtitle=_year_legend(plan, cut=bool(tall)),
    )


def _year_legend(plan: Plan, *, cut: bool) -> tuple[str, ...]:
    stored = plan.system.bank is not None
    return (
        phrase(
            "Watt-hours a day, mean of {winters} winters. Left bars: what the panels gave, and "
            "what a full battery",
            winters=plan.proof.winters,
        )
        if stored
        else phrase(
            "Watt-hours a day, mean of {winters} winters. Left bars: what the panels gave, and "
            "what nothing",
            winters=plan.proof.winters,
        ),
        joined(
            (
                phrase("could not take.") if stored else phrase("needed."),
                phrase("Right bars: what the loads got, and what they missed."),
                *((phrase("Numbers: bars cut off."),) if cut else ()),
            ),
            " ",
        ),
    )


def _year_words(plan: Plan, pen: Pen) -> tuple[str, str]:
    tight = _tightest(plan)
    write = pen.numbers.energy
    asked, name = tight.served_wh + tight.unserved_wh, MONTHS[tight.month - 1]
    if tight.unserved_wh > 0.005 * asked:
        title = phrase(
            "In {month} {asked} a day are asked for and {missing} are missing",
            month=name,
            asked=write(asked),
            missing=write(tight.unserved_wh),
        )
    elif tight.gathered_wh < asked and plan.second_source is not None:
        title = phrase(
            "In {month} the panels give {given} a day of the {asked} asked for; the second "
            "source brings the rest",
            month=name,
            given=write(tight.gathered_wh),
            asked=write(asked),
        )
    else:
        title = phrase(
            "Even in {month} the panels can give {given} a day for the {asked} asked for",
            month=name,
            given=write(tight.offered_wh),
            asked=write(asked),
        )
    spilled = sum(one.offered_wh - one.gathered_wh for one in plan.proof.months) / sum(
        one.offered_wh for one in plan.proof.months
    )
    most = max(plan.proof.months, key=lambda one: one.offered_wh)
    alt = phrase(
        "Bar chart of energy by month. {title}. In {month}, the brightest month, the panels "
        "could give {given} a day; over the year {share} of what they could give is not "
        "taken, because ",
        title=title,
        month=MONTHS[most.month - 1],
        given=write(most.offered_wh),
        share=pen.numbers.percent(spilled),
    ) + (
        phrase("the battery is full.")
        if plan.system.bank is not None
        else phrase("nothing needs it then.")
    )
    return title, alt


def _tightest(plan: Plan) -> MonthProof:
    """Month with most missing, or with the least sun for what is asked."""
    worst = max(plan.proof.months, key=lambda one: one.unserved_wh)
    if worst.unserved_wh > 0.0:
        return worst
    asking = [one for one in plan.proof.months if one.served_wh > 0.0]
    return min(asking or plan.proof.months, key=lambda one: one.offered_wh / (one.served_wh or 1.0))


def _year_body(rows: Rows, tall: Rows, names: list[str], pen: Pen) -> Spec:
    theme = pen.theme
    x = {"field": "month", "type": "nominal", "sort": names, "axis": {"title": None,
         "labelAngle": 0, "ticks": False, "domain": False}}  # fmt: skip
    side = {"field": "side", "type": "nominal", "sort": ["sun", "asked"],
            "scale": {"paddingOuter": 0.08, "paddingInner": 0.08}}  # fmt: skip
    y = {"field": "wh", "type": "quantitative", "stack": "zero",
         "axis": {"title": phrase("Wh a day"), "tickCount": 5, "domain": False, "ticks": False},
         }  # fmt: skip
    fills = [theme.sun, theme.spilled, theme.store, theme.paper]
    bars: Spec = {
        "data": {"values": rows},
        "mark": {"type": "bar", "strokeWidth": 1.2},
        "encoding": {
            "x": x, "xOffset": side, "y": y,
            "color": _parts(fills, theme.quiet, above=14 if tall else 0),
            "stroke": _parts([theme.sun, theme.sun, theme.store, theme.short]),
            "order": {"field": "rank", "type": "quantitative"},
            "tooltip": [
                {"field": "month", "type": "nominal", "title": phrase("month")},
                {"field": "part", "type": "nominal", "title": phrase("what")},
                {"field": "true", "type": "quantitative", "title": phrase("Wh a day"),
                 "format": ".0f"},
            ],
        },
    }  # fmt: skip
    tops = {row["month"]: row["wh"] for row in rows if row["part"] == "delivered"}
    least = 0.01 * max((row["wh"] for row in rows), default=0.0)
    lacking = [row for row in rows if row["part"] == "missing" and row["wh"] > least]
    told = column([-row["wh"] for row in lacking], pen.numbers, digits=2)
    missing = [
        {"month": row["month"], "side": "asked", "top": row["wh"] + tops.get(row["month"], 0.0),
         "word": word}
        for row, word in zip(lacking, told, strict=True)
    ]  # fmt: skip
    # What is missing is written a little to the right, into the gap between two months.
    words = [
        {
            "data": {"values": labels},
            "mark": {"type": "text", "dy": -7, "dx": dx, "color": ink, "fontSize": 10.5,
                     "fontWeight": weight},
            "encoding": {
                "x": x, "xOffset": side,
                "y": {"field": "top", "type": "quantitative"},
                "text": {"field": "word", "type": "nominal"},
            },
        }
        for labels, ink, weight, dx in (
            (missing, theme.short, "bold", 5), (tall, theme.quiet, "normal", 0)
        )
        if labels
    ]  # fmt: skip
    return {"width": WIDTH, "height": 260, "layer": [bars, *words]}


def _parts(colours: list[str], symbol_line: str = "", *, above: int = 0) -> Spec:
    """A colour for each part; a legend, so far above, where the line round its signs is given."""
    legend = {
        "title": None, "orient": "top", "direction": "horizontal", "symbolType": "square",
        "symbolStrokeColor": symbol_line, "offset": 2 + above,
    }  # fmt: skip
    return {
        "field": "part", "type": "nominal", "sort": list(PARTS),
        "scale": {"domain": list(PARTS), "range": colours},
        "legend": legend if symbol_line else None,
    }  # fmt: skip


def flow_steps(plan: Plan) -> list[tuple[str, float, bool]]:
    """Way of the energy from the panels to the loads, mean of a year.

    Parameters
    ----------
    plan : Plan
        For its audit.

    Returns
    -------
    list of (str, float, bool)
        Name, energy [Wh/year], and whether it is a loss; what came in stands first and
        what the loads got last. Losses under 0.05 % are left out.
    """
    audit = plan.proof.audit
    came = audit.gathered_wh + audit.spilled_wh
    spilled = phrase("not taken: battery full or controller at its limit")
    if plan.system.bank is None:
        spilled = phrase("not taken: nothing that needs it")
    passed = phrase("in the charge controller")
    if plan.system.controller is None:
        passed = phrase("in the panel's regulator")
    losses = (
        (spilled, audit.spilled_wh),
        (passed, audit.conversion_wh),
        (phrase("running the controller itself"), audit.own_wh),
        (phrase("warmth in the battery"), audit.ohmic_wh),
        (phrase("side reactions in the battery"), audit.side_reactions_wh),
        (phrase("splitting water in the battery"), audit.gassing_wh),
        (phrase("battery losing charge by itself"), audit.self_discharge_wh),
        (phrase("in the inverter, idling included"), audit.inverter_wh),
        (phrase("left in the battery at the end"), audit.stored_wh),
    )
    steps: list[tuple[str, float, bool]] = [(phrase("the panels could give"), came, False)]
    if audit.brought_in_wh > 0.0:
        steps.append((phrase("brought in by the second source"), audit.brought_in_wh, False))
    least = 0.0005 * (came + audit.brought_in_wh)
    steps += [(name, value, True) for name, value in losses if value > least]
    steps.append((phrase("reaches the loads"), audit.served_wh, False))
    return steps


def energy_flow(plan: Plan, pen: Pen) -> Chart:
    """Where each watt-hour goes from sun to load.

    Parameters
    ----------
    plan : Plan
        For its audit.
    pen : Pen
        Theme and numbers.
    """
    write, share = pen.numbers.energy, pen.numbers.percent
    steps = flow_steps(plan)
    came = sum(value for name, value, lost in steps[:-1] if not lost)
    rows: list[dict[str, Any]] = []
    level = 0.0
    for index, (name, value, lost) in enumerate(steps):
        last = index == len(steps) - 1
        kind = "lost" if lost else "used" if last else "came"
        if kind == "came":
            start, end = level, level + value
            level = end
        elif last:
            start, end = 0.0, value
        else:
            start, end = level - value, level
            level = start
        part = value / came if came > 0.0 else 0.0
        rows.append(
            {
                "what": name, "rank": index, "start": round(start, 1), "end": round(end, 1),
                "kind": kind, "word": joined((write(value), share(part))),
            }
        )  # fmt: skip
    used = steps[-1][1] / came if came > 0.0 else 0.0
    largest = max((step for step in steps if step[2]), key=lambda step: step[1], default=None)
    whole = round(100.0 * used)
    reach = (
        phrase("fewer than 1 reaches")
        if whole < 1
        else phrase("1 reaches")
        if whole == 1
        else phrase("{whole} reach", whole=whole)
    )
    sources = phrase("the panels could give")
    if plan.proof.audit.brought_in_wh > 0.0:
        sources = phrase("that the panels could give and the second source brings")
    title = phrase("Of every 100 Wh {sources}, {reach} the loads", sources=sources, reach=reach)
    alt = phrase("Bar chart of a year's energy from the panels to the loads. {title}.", title=title)
    if largest is not None and came > 0.0:
        alt += phrase(
            " The largest part on the way, {share}: {largest}. ",
            share=share(largest[1] / came),
            largest=largest[0],
        )
        alt += joined((joined((row["what"], row["word"]), " ") for row in rows), "; ") + "."
    return pen.chart(
        "energy-flow",
        title,
        alt,
        _flow_body(rows, [row["what"] for row in rows], came, pen),
        subtitle=(
            phrase(
                "Energy of a year, mean of {winters} winters; the losses stand in the order in "
                "which they are met.",
                winters=plan.proof.winters,
            ),
        ),
    )


def _flow_body(rows: Rows, order: list[str], came: float, pen: Pen) -> Spec:
    theme = pen.theme
    y = {"field": "what", "type": "nominal", "sort": order,
         "axis": {"title": None, "labelLimit": 320, "labelColor": theme.ink, "ticks": False,
                  "domain": False}}  # fmt: skip
    x = {"field": "start", "type": "quantitative",
         "scale": {"domain": [0, 1.32 * max(came, 1e-9)], "nice": False},
         "axis": None}  # fmt: skip
    return {
        "width": WIDTH - 240,
        "height": {"step": 27},
        "layer": [
            {
                "data": {"values": rows},
                "mark": {"type": "bar", "height": {"band": 0.68}, "strokeWidth": 1.2},
                "encoding": {
                    "y": y, "x": x, "x2": {"field": "end"},
                    "color": _kinds(theme.sun, theme.paper, theme.store),
                    "stroke": _kinds(theme.sun, theme.short, theme.store),
                },
            },
            {
                "data": {"values": rows},
                "mark": {"type": "text", "align": "left", "dx": 6, "color": theme.ink},
                "encoding": {
                    "y": y, "x": x | {"field": "end"},
                    "text": {"field": "word", "type": "nominal"},
                },
            },
            *pen.across(rows, y, x, {"what": phrase("what"), "word": phrase("a year")}),
        ],
    }  # fmt: skip


def _kinds(came: str, lost: str, used: str) -> Spec:
    return {
        "field": "kind", "type": "nominal", "legend": None,
        "scale": {"domain": ["came", "lost", "used"], "range": [came, lost, used]},
    }  # fmt: skip

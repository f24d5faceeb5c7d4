"""Cost against hours without power: the frontier, with the choice marked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunpantry.phrases import joined, phrase
from sunpantry.report.charts.style import WIDTH, Chart, Pen, Rows, Spec

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan
    from sunpantry.sizing.frontier import FrontierPoint


# Room that words take, as shares of width and height; beyond ``_FAR`` they stand to the left.
_ROOM, _FAR = (0.2, 0.065), 0.75
# Words to the right stand above the line, which falls that way; words to the left below it.
_BESIDE = (("left", 9, -10), ("right", -9, 16))


def frontier(plan: Plan, pen: Pen) -> Chart | None:
    """Draw the systems that nothing on the list beats; ``None`` without a choice.

    Parameters
    ----------
    plan : Plan
        For its frontier.
    pen : Pen
        Theme and numbers.
    """
    points = sorted(plan.frontier, key=lambda one: one.total)
    mine = next((one for one in points if one.system == plan.system), None)
    if mine is None or len(points) < 2:
        return None
    title = _title(points, mine, pen)
    money, hours = pen.numbers.money, pen.numbers.hours
    alt = (
        phrase(
            "Chart of cost against hours without power a year, {count} systems. {title}. ",
            count=len(points),
            title=title,
        )
        + joined(
            (
                phrase(
                    "{money}: {hours} a year",
                    money=money(one.total),
                    hours=hours(one.hours_without),
                )
                for one in points
            ),
            "; ",
        )
        + "."
    )
    rows = [
        {
            "total": round(one.total, 2),
            "hours": round(one.hours_without, 3),
            "kind": "chosen" if one is mine else "other",
            "word": joined((money(one.total), hours(one.hours_without))),
            "what": one.words,
        }
        for one in points
    ]
    return pen.chart(
        "frontier",
        title,
        alt,
        _body(rows, pen),
        subtitle=(
            phrase(
                "Cost over {years} in today's money, batteries bought again included, against "
                "hours a year in which",
                years=pen.numbers.number(plan.design.money.years, "years"),
            ),
            phrase("something is without power. Filled: the one chosen. To the left: safer."),
        ),
    )


def _title(points: list[FrontierPoint], mine: FrontierPoint, pen: Pen) -> str:
    money, hours = pen.numbers.money, pen.numbers.hours
    place = points.index(mine)
    if place > 0:
        below = points[place - 1]
        return phrase(
            "{money} less would mean {hours} a year without power instead of {now}",
            money=money(mine.total - below.total),
            hours=hours(below.hours_without),
            now=hours(mine.hours_without),
        )
    above = points[1]
    return phrase(
        "{money} more would bring {hours} a year without power down to {now}",
        money=money(above.total - mine.total),
        hours=hours(mine.hours_without),
        now=hours(above.hours_without),
    )


def _labelled(rows: Rows) -> tuple[Rows, Rows]:
    """Points whose words find room, those that stand to their right and to their left."""
    widest = max(float(row["hours"]) for row in rows) ** 0.5 or 1.0
    highest = max(float(row["total"]) for row in rows) or 1.0
    taken: list[tuple[float, float]] = []
    right: Rows = []
    left: Rows = []
    for row in sorted(rows, key=lambda one: one["kind"] != "chosen"):
        place = (float(row["hours"]) ** 0.5 / widest, float(row["total"]) / highest)
        near = any(
            abs(place[0] - one[0]) < _ROOM[0] and abs(place[1] - one[1]) < _ROOM[1] for one in taken
        )
        if near:
            continue
        taken.append(place)
        (left if place[0] > _FAR else right).append(row)
    return right, left


def _body(rows: Rows, pen: Pen) -> Spec:
    theme = pen.theme
    x = {
        "field": "hours", "type": "quantitative", "scale": {"type": "sqrt", "nice": True},
        "axis": {"title": phrase("hours a year without power"), "grid": False, "tickCount": 6},
    }  # fmt: skip
    y = {"field": "total", "type": "quantitative", "scale": {"zero": True},
         "axis": {"title": pen.numbers.currency, "domain": False, "ticks": False,
                  "tickCount": 5}}  # fmt: skip
    words: list[Spec] = [
        {
            "data": {"values": some},
            "mark": {"type": "text", "align": align, "dx": dx, "dy": dy, "color": theme.ink},
            "encoding": {"x": x, "y": y, "text": {"field": "word", "type": "nominal"}},
        }
        for some, (align, dx, dy) in zip(_labelled(rows), _BESIDE, strict=True)
        if some
    ]
    return {
        "width": WIDTH,
        "height": 240,
        "data": {"values": rows},
        "layer": [
            {"mark": {"type": "line", "color": theme.faint, "interpolate": "step-after"},
             "encoding": {"x": x, "y": y, "order": {"field": "hours", "type": "quantitative"}}},
            {
                "mark": {"type": "point", "filled": True, "size": 110, "strokeWidth": 2,
                         "stroke": theme.store, "opacity": 1},
                "encoding": {
                    "x": x, "y": y,
                    "fill": _marked([theme.store, theme.paper]),
                    "shape": _marked(["diamond", "circle"]),
                    "tooltip": [
                        {"field": "word", "type": "nominal", "title": phrase("cost and hours")},
                        {"field": "what", "type": "nominal", "title": phrase("what it is")},
                    ],
                },
            },
            *words,
        ],
    }  # fmt: skip


def _marked(values: list[str]) -> Spec:
    """How the chosen one differs from the others."""
    return {
        "field": "kind", "type": "nominal", "legend": None,
        "scale": {"domain": ["chosen", "other"], "range": values},
    }  # fmt: skip

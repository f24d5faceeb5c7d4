"""What uses up the battery, and how fast."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunpantry.phrases import joined, phrase
from sunpantry.report.charts.style import WIDTH, Chart, Pen, Rows, Spec

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan

# Capacity at which a battery counts as used up, as everywhere in the ageing model.
WORN_OUT = 0.8


def battery_life(plan: Plan, pen: Pen) -> Chart | None:
    """What uses up the battery, and how fast; ``None`` without a battery.

    Parameters
    ----------
    plan : Plan
        For the run of the worn battery: the one that the verdict and the money rest on.
    pen : Pen
        Theme and numbers.
    """
    life = plan.proof.life
    if life is None:
        return None
    causes = (
        (phrase("charging and discharging"), life.cycling),
        (phrase("time and warmth"), life.calendar),
        (phrase("standing half empty"), life.sulphation),
        *(((phrase("charged too high"), life.overcharge),) if life.overcharge > 0.0 else ()),
    )
    rows = [
        {"what": name, "share": round(100.0 * value, 2), "word": pen.numbers.percent(value)}
        for name, value in causes
    ]
    most = max(causes, key=lambda one: one[1])[0]
    write = pen.numbers
    years = write.number(life.years, digits=2)
    title = phrase(
        "The battery should last about {years} years; most of that goes to {most}",
        years=years,
        most=most,
    )
    span = write.span(life.low_years, life.high_years, "years", places=0)
    alt = (
        phrase(
            "Bar chart of what wears the battery in a year. {title}. Probably {span}. ",
            title=title,
            span=span,
        )
        + joined((joined((row["what"], row["word"]), " ") for row in rows), "; ")
        + phrase(" of a life each year.")
    )
    return pen.chart(
        "battery-life",
        title,
        alt,
        _body(rows, pen),
        subtitle=(
            phrase(
                "Share of a battery's life used in a year. Worn out means {percent} of the "
                "capacity left; probably {span}.",
                percent=write.percent(WORN_OUT),
                span=span,
            ),
        ),
    )


def _body(rows: Rows, pen: Pen) -> Spec:
    y = {"field": "what", "type": "nominal", "sort": None,
         "axis": {"title": None, "labelLimit": 260, "labelColor": pen.theme.ink, "ticks": False,
                  "domain": False}}  # fmt: skip
    top = max(float(row["share"]) for row in rows)
    x = {"field": "share", "type": "quantitative", "axis": None,
         "scale": {"domain": [0, 1.2 * max(top, 0.1)], "nice": False}}  # fmt: skip
    told = {"what": phrase("what"), "word": phrase("of a life each year")}
    return {
        "width": WIDTH - 200,
        "height": {"step": 30},
        "layer": [
            {"data": {"values": rows},
             "mark": {"type": "bar", "height": {"band": 0.6}, "color": pen.theme.store},
             "encoding": {"y": y, "x": x}},
            {"data": {"values": rows},
             "mark": {"type": "text", "align": "left", "dx": 6, "color": pen.theme.ink},
             "encoding": {"y": y, "x": x, "text": {"field": "word", "type": "nominal"}}},
            *pen.across(rows, y, x, told),
        ],
    }  # fmt: skip

"""Water in a plan: tank, pump and pipe for a terminal."""

from __future__ import annotations

from sunpantry.design.moments import SHORT_MONTHS
from sunpantry.phrases import phrase
from sunpantry.plan.types import WaterReport
from sunpantry.report.columns import columns_of
from sunpantry.report.spoken import figure, spoken, titled, wrapped

WIDTH = 88


def water_text(water: WaterReport) -> str:
    """Tell of one tank: what it got month by month, and what each size of pipe would do."""
    parts = [wrapped(water.words, WIDTH)]
    if water.array is not None:
        array = water.array
        panels = phrase(
            "Panels: {count} × {name}, tilted {tilt_deg:.0f}°, facing {azimuth_deg:.0f}° on the "
            "compass.",
            count=array.count,
            name=array.panel.name,
            tilt_deg=array.tilt_deg[0],
            azimuth_deg=array.azimuth_deg,
        )
        parts.append(wrapped(panels, WIDTH))
    title = phrase("Water: {tank}", tank=water.tank)
    return "\n\n".join([titled(title, parts[0]), *parts[1:], _months(water), _pipes(water)])


def _months(water: WaterReport) -> str:
    rows = [
        (
            spoken(SHORT_MONTHS[month.month - 1]),
            figure(month.asked_l, ".0f"),
            figure(month.delivered_l, ".0f"),
            figure(month.pumping_h, ".1f"),
            figure(month.dry_days, ".1f"),
            figure(month.lowest_share, ".0%"),
        )
        for month in water.proof.months
    ]
    heads = (
        *("", phrase("L a day asked"), phrase("delivered"), phrase("h pumping")),
        *(phrase("dry days"), phrase("lowest content")),
    )
    return columns_of(rows, tuple(map(spoken, heads)))


def _pipes(water: WaterReport) -> str:
    rows = [
        (
            spoken(phrase("this one")) if pipe.bore_mm == water.pipe.bore_mm else "",
            f"{pipe.outside_mm}" if pipe.outside_mm else "",
            figure(pipe.bore_mm, "g"),
            figure(pipe.flow_l_min, ".1f"),
            figure(pipe.head_m, ".1f"),
            figure(pipe.velocity_m_s, ".1f"),
            figure(pipe.wh_per_l, ".2f") if pipe.flow_l_min > 0.0 else "",
            "" if pipe.price is None else figure(pipe.price, ".0f"),
        )
        for pipe in dict.fromkeys((*water.offered, water.pipe))
    ]
    heads = (
        *("", phrase("pipe, mm"), phrase("inside"), "L/min", phrase("head, m"), "m/s"),
        *(phrase("Wh a litre"), phrase("price")),
    )
    return columns_of(rows, tuple(map(spoken, heads)))

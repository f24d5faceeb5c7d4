"""Water in a plan: tank, pump and pipe for a terminal."""

from __future__ import annotations

from textwrap import fill

from sunpantry.design.moments import SHORT_MONTHS
from sunpantry.plan.types import WaterReport
from sunpantry.report.columns import columns_of

WIDTH = 88


def water_text(water: WaterReport) -> str:
    """Tell of one tank: what it got month by month, and what each size of pipe would do."""
    title = f"Water: {water.tank}"
    parts = [fill(water.words, WIDTH)]
    if water.array is not None:
        array = water.array
        parts.append(
            fill(
                f"Panels: {array.count} × {array.panel.name}, tilted {array.tilt_deg[0]:.0f}°, "
                f"facing {array.azimuth_deg:.0f}° on the compass.",
                WIDTH,
            )
        )
    return "\n\n".join(
        [f"{title}\n{'-' * len(title)}\n{parts[0]}", *parts[1:], _months(water), _pipes(water)]
    )


def _months(water: WaterReport) -> str:
    rows = [
        (
            SHORT_MONTHS[month.month - 1],
            f"{month.asked_l:.0f}",
            f"{month.delivered_l:.0f}",
            f"{month.pumping_h:.1f}",
            f"{month.dry_days:.1f}",
            f"{month.lowest_share:.0%}",
        )
        for month in water.proof.months
    ]
    return columns_of(
        rows, ("", "L a day asked", "delivered", "h pumping", "dry days", "lowest content")
    )


def _pipes(water: WaterReport) -> str:
    rows = [
        (
            "this one" if pipe.bore_mm == water.pipe.bore_mm else "",
            f"{pipe.outside_mm or ''}",
            f"{pipe.bore_mm:g}",
            f"{pipe.flow_l_min:.1f}",
            f"{pipe.head_m:.1f}",
            f"{pipe.velocity_m_s:.1f}",
            f"{pipe.wh_per_l:.2f}" if pipe.flow_l_min > 0.0 else "",
            "" if pipe.price is None else f"{pipe.price:.0f}",
        )
        for pipe in dict.fromkeys((*water.offered, water.pipe))
    ]
    heads = ("", "pipe, mm", "inside", "L/min", "head, m", "m/s", "Wh a litre", "price")
    return columns_of(rows, heads)

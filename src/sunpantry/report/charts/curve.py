"""The panel's curve, with the points at which PWM and MPPT controllers hold it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sunpantry.explain.conditions import PanelCurve, curves_of
from sunpantry.explain.live import charging_v
from sunpantry.report.charts.style import DASHED, SOLID, WIDTH, Chart, Pen, Spec

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan


def panel_curve_chart(plan: Plan, pen: Pen) -> Chart | None:
    """Current against voltage of one panel under two skies; ``None`` without a controller.

    Parameters
    ----------
    plan : Plan
        Its first array and its sky.
    pen : Pen
        Theme and numbers.
    """
    controller = plan.system.controller
    if controller is None:
        return None
    array = plan.system.arrays[0]
    curves = curves_of(plan.setting, array, bank_v=charging_v(plan))
    bright, dim = curves
    number = pen.numbers.number
    gain = bright.best_w / bright.held_w - 1.0 if bright.held_w > 0.0 else 0.0
    percent = pen.numbers.percent
    if controller.kind == "mppt":
        title = (
            f"Following the best point, the panel gives {number(bright.best_w, 'W')} on a clear "
            f"noon; held at the battery's voltage it would give {number(bright.held_w, 'W')}"
        )
    else:
        title = (
            f"Held at {number(bright.held_v, 'V')} the panel gives {number(bright.held_w, 'W')} "
            f"on a clear noon; its best point would give {number(bright.best_w, 'W')}"
        )
    alt = (
        f"Curves of current against voltage of one panel: {array.panel.name}. {title}, "
        f"{percent(gain)} more. On {dim.sky.words}: {number(dim.held_w, 'W')} at the battery's "
        f"voltage, {number(dim.best_w, 'W')} at the best point."
    )
    skies = [
        f"{one.sky.words}: {number(one.sky.light_w_m2, digits=2)} W/m², cells at "
        f"{pen.numbers.fixed(one.sky.cell_c, '°C', places=0)}"
        for one in curves
    ]
    return pen.chart(
        "panel-curve",
        title,
        alt,
        _body(curves, pen),
        subtitle=(
            f"{array.panel.name}. Solid: {skies[0]}. Dashed: {skies[1]}.",
            "Circle: where a PWM controller holds it. Triangle: where an MPPT controller does.",
        ),
    )


def _body(curves: tuple[PanelCurve, ...], pen: Pen) -> Spec:
    theme, number = pen.theme, pen.numbers.number
    x = {"field": "v", "type": "quantitative",
         "axis": {"title": "volts of one panel", "grid": False, "tickCount": 6}}  # fmt: skip
    y = {"field": "a", "type": "quantitative",
         "axis": {"title": "amps", "domain": False, "ticks": False, "tickCount": 5}}  # fmt: skip
    layers: list[Spec] = []
    for curve, dash in zip(curves, (SOLID, DASHED), strict=True):
        rows = [
            {"v": round(volts, 3), "a": round(amps, 4)}
            for volts, amps in zip(curve.voltage_v, curve.current_a, strict=True)
        ]
        layers.append(
            {"data": {"values": rows},
             "mark": {"type": "line", "color": theme.sun, "strokeDash": dash, "strokeWidth": 2},
             "encoding": {"x": x, "y": y, "order": {"field": "v", "type": "quantitative"}}}
        )  # fmt: skip
        # Where the other curve comes down, the words stand on its inner side.
        side, shift = ("left", 9) if curve is curves[0] else ("right", -9)
        points = (
            ("PWM", "circle", theme.paper, curve.held_v, curve.held_a, curve.held_w, "right", -9),
            ("MPPT", "triangle-up", theme.store, curve.best_v, curve.best_a, curve.best_w, side,
             shift),
        )  # fmt: skip
        for name, shape, fill, volts, amps, watts, align, dx in points:
            data = {"values": [{"v": volts, "a": amps, "word": f"{name}: {number(watts, 'W')}"}]}
            layers.append(
                {"data": data,
                 "mark": {"type": "point", "shape": shape, "filled": True, "size": 90,
                          "fill": fill, "stroke": theme.store, "strokeWidth": 2, "opacity": 1},
                 "encoding": {"x": x, "y": y,
                              "tooltip": {"field": "word", "type": "nominal"}}}
            )  # fmt: skip
            layers.append(
                {"data": data,
                 "mark": {"type": "text", "align": align, "dx": dx, "dy": -11,
                          "color": theme.ink},
                 "encoding": {"x": x, "y": y, "text": {"field": "word", "type": "nominal"}}}
            )  # fmt: skip
    return {"width": WIDTH, "height": 250, "layer": layers}

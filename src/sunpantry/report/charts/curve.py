"""The panel's curve, with the points at which PWM and MPPT controllers hold it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from sunpantry.explain.asked import charging_v
from sunpantry.explain.conditions import PanelCurve, curves_of
from sunpantry.phrases import joined, phrase
from sunpantry.report.charts.style import DASHED, SOLID, WIDTH, Chart, Pen, Spec

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan

HOVER_STEP_V = 0.5


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
        title = phrase(
            "Following the best point, the panel gives {best} on a clear noon; held at the "
            "battery's voltage it would give {held}",
            best=number(bright.best_w, "W"),
            held=number(bright.held_w, "W"),
        )
    else:
        title = phrase(
            "Held at {volts} the panel gives {held} on a clear noon; its best point would "
            "give {best}",
            volts=number(bright.held_v, "V"),
            held=number(bright.held_w, "W"),
            best=number(bright.best_w, "W"),
        )
    alt = phrase(
        "Curves of current against voltage of one panel: {name}. {title}, {more} more. On "
        "{sky}: {held} at the battery's voltage, {best} at the best point.",
        name=array.panel.name,
        title=title,
        more=percent(gain),
        sky=dim.sky.words,
        held=number(dim.held_w, "W"),
        best=number(dim.best_w, "W"),
    )
    skies = [_sky_words(one, pen) for one in curves]
    return pen.chart(
        "panel-curve",
        title,
        alt,
        _body(curves, pen),
        subtitle=(
            phrase(
                "{name}. Solid: {solid}. Dashed: {dashed}.",
                name=array.panel.name,
                solid=skies[0],
                dashed=skies[1],
            ),
            phrase(
                "Circle: where a PWM controller holds it. Triangle: where an MPPT controller does."
            ),
        ),
    )


def _sky_words(curve: PanelCurve, pen: Pen) -> str:
    return phrase(
        "{sky}: {light} W/m², cells at {cells}",
        sky=curve.sky.words,
        light=pen.numbers.number(curve.sky.light_w_m2, digits=2),
        cells=pen.numbers.fixed(curve.sky.cell_c, "°C", places=0),
    )


def _body(curves: tuple[PanelCurve, ...], pen: Pen) -> Spec:
    theme, number = pen.theme, pen.numbers.number
    x = {"field": "v", "type": "quantitative",
         "axis": {"title": phrase("volts of one panel"),
                  "grid": False, "tickCount": 6}}  # fmt: skip
    y = {"field": "a", "type": "quantitative",
         "axis": {"title": phrase("amps"),
                  "domain": False, "ticks": False, "tickCount": 5}}  # fmt: skip
    point = pen.told({"sky": phrase("sky"), "word": phrase("held there")})
    layers: list[Spec] = []
    held: list[Spec] = []
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
            word = joined((name, number(watts, "W")), ": ")
            data = {"values": [{"v": volts, "a": amps, "word": word, "sky": curve.sky.words}]}
            held.append(
                {"data": data,
                 "mark": {"type": "point", "shape": shape, "filled": True, "size": 90,
                          "fill": fill, "stroke": theme.store, "strokeWidth": 2, "opacity": 1},
                 "encoding": {"x": x, "y": y, **point}}
            )  # fmt: skip
            layers.append(
                {"data": data,
                 "mark": {"type": "text", "align": align, "dx": dx, "dy": -11,
                          "color": theme.ink},
                 "encoding": {"x": x, "y": y, "text": {"field": "word", "type": "nominal"}}}
            )  # fmt: skip
    # The points lie uppermost: what they tell must not be hidden from a pointer.
    return {"width": WIDTH, "height": 250, "layer": [*layers, *_hovered(curves, x, pen), *held]}


def _hovered(curves: tuple[PanelCurve, ...], x: Spec, pen: Pen) -> list[Spec]:
    """An unseen line for every half volt, that tells amps and watts under both skies.

    The lines touch, so that no place between them is without an answer.
    """
    if not pen.hover:
        return []
    number = pen.numbers.number
    last = max(float(curve.voltage_v[-1]) for curve in curves)
    rows = []
    for volts in np.arange(0.0, last + HOVER_STEP_V / 2.0, HOVER_STEP_V):
        row = {"v": float(volts), "at": number(float(volts), "V")}
        for place, curve in enumerate(curves):
            order = np.argsort(curve.voltage_v)
            known_v, known_a = (
                np.asarray(one)[order] for one in (curve.voltage_v, curve.current_a)
            )
            amps = max(float(np.interp(volts, known_v, known_a, right=0.0)), 0.0)
            row[f"sky{place}"] = joined((number(amps, "A"), number(amps * volts, "W")), ", ")
        rows.append(row)
    names = {f"sky{place}": curve.sky.words for place, curve in enumerate(curves)}
    wide = math.ceil(WIDTH * HOVER_STEP_V / last)
    return [
        {
            "data": {"values": rows},
            "mark": {"type": "rule", "strokeWidth": wide, "opacity": 0.001},
            "encoding": {"x": x, **pen.told({"at": phrase("held at"), **names})},
        }
    ]

"""The water in a plan, worked by hand beside the simulation."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from sunpantry.design.moments import MONTHS
from sunpantry.figures import Figure
from sunpantry.match.finding import worked
from sunpantry.phrases import phrase
from sunpantry.physics.water import hydraulic_energy_wh, pump_array_w
from sunpantry.plan.types import WaterReport
from sunpantry.simulate.setting import Setting

HYDRAULIC = phrase("density of water × gravity × volume × head")
FRICTION = phrase(
    "Darcy-Weisbach with Colebrook's friction factor (White, Fluid Mechanics), on the curve"
)
AGENCIES = phrase(
    "rule of development agencies (GIZ, FAO; from memory): a third of the label's energy"
)


def water_workings(setting: Setting, reports: Sequence[WaterReport]) -> tuple[Figure, ...]:
    """Figures behind every tank.

    Parameters
    ----------
    setting : Setting
        The sky.
    reports : sequence of WaterReport
        The tanks.
    """
    return tuple(figure for one in reports for figure in _figures(setting, one))


def _figures(setting: Setting, one: WaterReport) -> Iterator[Figure]:
    pipe = one.pipe
    yield worked(
        phrase("{pump}: energy for a litre", pump=one.pump),
        pipe.wh_per_l,
        "Wh/L",
        "power / flow, at full power on this pipe",
        FRICTION,
        ("power", pipe.power_w, "W"),
        ("flow", pipe.flow_l_min, "L/min"),
        ("head", pipe.head_m, "m"),
        ("bore", pipe.bore_mm, "mm"),
        ("length", one.pipe_length_m, "m"),
    )
    month = max(one.proof.months, key=lambda month: month.asked_l)
    volume_m3 = month.asked_l / 1000.0
    yield worked(
        phrase(
            "{tank}: energy in the water lifted on a day in {month}",
            tank=one.tank,
            month=MONTHS[month.month - 1],
        ),
        hydraulic_energy_wh(volume_m3=volume_m3, head_m=pipe.head_m),
        "Wh/day",
        "2.725 Wh × volume × head",
        HYDRAULIC,
        ("volume", volume_m3, "m³/day"),
        ("head", pipe.head_m, "m"),
    )
    if one.array is None:
        return
    light = setting.plane(one.array.tilt_deg, one.array.azimuth_deg).poa_w_m2.mean(axis=0)
    sun = [float(light[setting.month_of == number].mean()) * 24.0 / 1000.0 for number in range(12)]
    by_rule = [
        pump_array_w(head_m=pipe.head_m, volume_m3=each.asked_l / 1000.0, sun_kwh_m2=max(g, 1e-3))
        for each, g in zip(one.proof.months, sun, strict=True)
    ]
    worst = int(np.argmax(by_rule))
    yield worked(
        phrase("by hand: panels for {pump}, in {month}", pump=one.pump, month=MONTHS[worst]),
        by_rule[worst],
        "W",
        phrase(
            "8.0 × head × volume a day / sun a day; the plan has {power_w:.0f} W, proven by "
            "simulation",
            power_w=one.array.power_w,
        ),
        AGENCIES,
        ("head", pipe.head_m, "m"),
        ("volume", one.proof.months[worst].asked_l / 1000.0, "m³/day"),
        ("sun on the panels", sun[worst], "kWh/m² a day"),
    )

"""Shorter steps settle on one answer, and an hour is near it."""

from __future__ import annotations

import numpy as np
import pytest
from tests.simulate.rig import Told, asked, battery, level_sun, row, run, tracked_sun

from sunpantry.simulate import layout as at
from sunpantry.timegrid import FloatArray

DAYS = 60


def course(chemistry: str, step_h: float, *, tracked: bool) -> Told:
    """The same weather and loads, level through each hour, in steps of some length."""
    model = battery(chemistry, capacity_ah=60.0)
    per_hour = round(1.0 / step_h)
    hours = np.arange(24 * DAYS)
    cloud = np.random.default_rng(2).beta(1.0, 1.3, DAYS)[hours // 24]
    height = np.clip(np.sin((hours % 24 - 7) / 10 * np.pi), 0.0, None) * cloud
    power = np.repeat(90.0 * height, per_hour)
    sun = tracked_sun(power) if tracked else level_sun(power / 14.0)
    evening = np.where(hours % 24 >= 18, 18.0, 2.0)
    design = row(
        model,
        step_h=step_h,
        columns={at.IS_MPPT: float(tracked), at.DISCONNECT_V: 0.0, at.ABSORB_H: 1e9},
    )
    return run(
        [design],
        sun=sun,
        loads=asked(power.size, dc0=np.repeat(evening, per_hour)),
        models=(model,),
        cell_c=5.0,
        step_h=step_h,
    )


def charge_at_hours(told: Told, step_h: float) -> FloatArray:
    """State of charge at the end of each hour."""
    per_hour = round(1.0 / step_h)
    return told.trace(at.TR_SOC)[per_hour - 1 :: per_hour]


@pytest.mark.convergence
@pytest.mark.parametrize("tracked", [True, False])
@pytest.mark.parametrize("chemistry", ["agm", "lifepo4"])
def test_hours_quarters_and_five_minutes(chemistry: str, tracked: bool) -> None:
    finest = 1.0 / 60.0
    want = charge_at_hours(course(chemistry, finest, tracked=tracked), finest)
    apart = {}
    for step_h in (1.0, 0.25, 1.0 / 12.0):
        got = charge_at_hours(course(chemistry, step_h, tracked=tracked), step_h)
        apart[step_h] = float(np.sqrt(np.mean((got - want) ** 2)))
        assert np.abs(got - want).max() < {1.0: 0.02, 0.25: 0.006, 1.0 / 12.0: 0.002}[step_h]
    # First order in the step, at least: from an hour to a quarter, and on to five minutes.
    order = np.log(apart[1.0] / apart[1.0 / 12.0]) / np.log(12.0)
    assert order > 0.8
    assert apart[1.0] < 0.01
    assert apart[0.25] < apart[1.0] / 2.0


@pytest.mark.convergence
def test_a_discharge_is_exact_in_any_step() -> None:
    """The wells move by their closed form: step length only enters through the voltage."""
    told = {}
    model = battery("flooded")
    for step_h in (1.0, 0.25):
        steps = round(48 / step_h)
        design = row(model, step_h=step_h, columns={at.DISCHARGE_OHM: 1e-9, at.LEAK_PER_H: 0.0})
        result = run(
            [design],
            sun=tracked_sun(np.zeros(steps)),
            loads=asked(steps, dc0=20.0),
            models=(model,),
            step_h=step_h,
        )
        told[step_h] = charge_at_hours(result, step_h)[:40]
    np.testing.assert_allclose(told[0.25], told[1.0], rtol=1e-9)

"""Battery temperature: a first-order lag has answers in closed form."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sunpantry.physics.enclosure import HOUSINGS, housed_temperature_c


@pytest.mark.analytic
@pytest.mark.parametrize("housing", ["outdoors", "shed", "buried"])
@pytest.mark.parametrize("step_h", [1.0, 0.25])
def test_step_of_the_air(housing: str, step_h: float) -> None:
    lag_h = HOUSINGS[housing].lag_h
    steps = round(24 * 60 / step_h)
    air = np.zeros((1, steps))
    begun = round(24 * 40 / step_h)
    air[:, begun:] = 10.0
    told = housed_temperature_c(air, housing=housing, step_h=step_h)
    after_h = (np.arange(steps - begun) + 1) * step_h
    assert_allclose(told[begun:], 10.0 * (1.0 - np.exp(-after_h / lag_h)), atol=1e-9)
    assert_allclose(told[:begun], 0.0, atol=1e-12)


@pytest.mark.analytic
@pytest.mark.parametrize(("housing", "days"), [("shed", 1.0), ("buried", 365.0)])
def test_swing_is_damped_and_late(housing: str, days: float) -> None:
    lag_h = HOUSINGS[housing].lag_h
    hours = np.arange(8760 * 3)
    speed = 2.0 * np.pi / (24.0 * days)
    air = (5.0 + 8.0 * np.sin(speed * hours)).reshape(3, -1)
    told = housed_temperature_c(air, housing=housing, step_h=1.0)[8760:]
    damped = 8.0 / np.sqrt(1.0 + (speed * lag_h) ** 2)
    late = np.arctan(speed * lag_h)
    want = 5.0 + damped * np.sin(speed * hours[8760:] - late)
    # Hourly means stand for half an hour of delay at the most.
    assert_allclose(told, want, atol=damped * speed * 0.5 + 0.01)


@pytest.mark.analytic
def test_a_house_is_kept_warm() -> None:
    air = np.full((1, 8760), -20.0)
    told = housed_temperature_c(air, housing="house", step_h=1.0)
    assert_allclose(told, 15.0)

"""The two-well battery and Peukert's law against published figures."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sunpantry.physics.kinetic import (
    Wells,
    capacity_at,
    fit_wells,
    peukert_capacity_ah,
    step_coefficients,
)

# Jongerden & Haverkort, IET Software 3 (2009) 445-457: 7200 As, c = 0.625,
# k' = 4.5e-5 / (c (1 - c)) per second; lifetimes at 0.96 A from memory of the paper's table.
PAPER_C = 0.625
PAPER = Wells(
    available_fraction=PAPER_C,
    rate_per_h=4.5e-5 / (PAPER_C * (1.0 - PAPER_C)) * 3600.0,
    slow_capacity_ah=2.0,
)


def life_h(wells: Wells, amps: float) -> float:
    """Time until the available well is empty at a constant current [h]."""
    low, high = 1e-3, 1e4
    for _ in range(200):
        middle = 0.5 * (low + high)
        if capacity_at(wells, middle) > amps * middle:
            low = middle
        else:
            high = middle
    return low


@pytest.mark.published
def test_continuous_discharge_of_the_paper() -> None:
    assert_allclose(life_h(PAPER, 0.96) * 60.0, 91.0, atol=0.5)


@pytest.mark.published
@pytest.mark.parametrize("period_s", [1.0, 5.0])
def test_square_wave_of_the_paper(period_s: float) -> None:
    step_h = period_s / 2.0 / 3600.0
    moves = step_coefficients(PAPER, step_h)
    available = PAPER.available_fraction * PAPER.slow_capacity_ah
    whole, steps = PAPER.slow_capacity_ah, 0
    while available > 0.0:
        amps = 0.96 if steps % 2 == 0 else 0.0
        available = moves.keep * available + moves.refill * whole - moves.draw_h * amps
        whole -= amps * step_h
        steps += 1
    assert_allclose(steps * step_h * 60.0, 203.0, atol=1.0)


# Check sheet KB3, the closed form evaluated independently: c = 0.3, k = 0.5 / h, 100 Ah.
@pytest.mark.independent
def test_capacity_against_time() -> None:
    wells = Wells(available_fraction=0.3, rate_per_h=0.5, slow_capacity_ah=100.0)
    told = [capacity_at(wells, hours) for hours in (1.0, 5.0, 10.0, 20.0, 100.0)]
    assert_allclose(told, [35.26, 53.86, 68.33, 81.08, 95.54], rtol=1e-3)


@pytest.mark.analytic
@pytest.mark.parametrize("step_h", [1.0, 0.25, 24.0])
def test_a_step_is_the_exact_solution(step_h: float) -> None:
    """Stepping at the constant current of a capacity empties the available well on time."""
    wells = Wells(available_fraction=0.35, rate_per_h=0.6, slow_capacity_ah=120.0)
    steps = 48
    amps = capacity_at(wells, steps * step_h) / (steps * step_h)
    moves = step_coefficients(wells, step_h)
    available = wells.available_fraction * wells.slow_capacity_ah
    whole = wells.slow_capacity_ah
    for _ in range(steps):
        available = moves.keep * available + moves.refill * whole - moves.draw_h * amps
        whole -= amps * step_h
    assert_allclose(available, 0.0, atol=1e-9 * wells.slow_capacity_ah)


@pytest.mark.analytic
def test_fit_gives_back_the_wells_behind_a_label() -> None:
    wells = Wells(available_fraction=0.31, rate_per_h=0.42, slow_capacity_ah=113.0)
    found = fit_wells({h: capacity_at(wells, h) for h in (1.0, 5.0, 10.0, 20.0, 100.0)})
    assert_allclose(
        [found.available_fraction, found.rate_per_h, found.slow_capacity_ah],
        [0.31, 0.42, 113.0],
        rtol=1e-4,
    )
    two = fit_wells({5.0: 80.0, 20.0: 100.0})
    assert_allclose([capacity_at(two, 5.0), capacity_at(two, 20.0)], [80.0, 100.0], rtol=1e-6)


@pytest.mark.regression
def test_fit_refuses_what_cannot_be() -> None:
    with pytest.raises(ValueError, match="two capacities"):
        fit_wells({20.0: 100.0})
    with pytest.raises(ValueError, match="must not fall"):
        fit_wells({5.0: 110.0, 20.0: 100.0})


# PK1, a worked example on the web: 100 Ah in the raw form t = Cp / I^k with k = 1.2 at 5 A.
@pytest.mark.published
def test_peukert_raw_form() -> None:
    hours = 100.0 / 5.0**1.2
    assert_allclose(hours, 14.5, atol=0.05)
    told = peukert_capacity_ah(100.0, rated_hours=100.0, exponent=1.2, hours=hours)
    assert_allclose(told, 5.0 * hours, rtol=1e-12)


# PK2: 100 Ah at 20 h, k = 1.2, 10 A: 8.706 h, 87.06 Ah.
@pytest.mark.independent
def test_peukert_referred_to_the_rated_hours() -> None:
    told = peukert_capacity_ah(100.0, rated_hours=20.0, exponent=1.2, hours=8.706)
    assert_allclose(told, 87.06, rtol=1e-3)


# PK3-PK5: capacity over that at 20 h for 100, 10, 5 and 1 h.
@pytest.mark.independent
@pytest.mark.parametrize(
    ("exponent", "factors"),
    [
        (1.1, [1.158, 0.939, 0.882, 0.762]),
        (1.2, [1.308, 0.891, 0.794, 0.607]),
        (1.3, [1.450, 0.852, 0.726, 0.501]),
    ],
)
def test_peukert_factors(exponent: float, factors: list[float]) -> None:
    told = [
        peukert_capacity_ah(1.0, rated_hours=20.0, exponent=exponent, hours=hours)
        for hours in (100.0, 10.0, 5.0, 1.0)
    ]
    assert_allclose(told, factors, atol=0.002)


@pytest.mark.conservation
def test_rest_levels_the_wells_and_loses_nothing() -> None:
    moves = step_coefficients(Wells(0.3, 0.5, 100.0), 1.0)
    available, whole = 5.0, 60.0
    for _ in range(100):
        available = moves.keep * available + moves.refill * whole
    assert_allclose(available, 0.3 * whole, rtol=1e-9)
    assert np.isclose(moves.keep + moves.refill / 0.3, 1.0, rtol=1e-12)

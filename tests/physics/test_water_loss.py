"""Water lost by gassing, against the standard on battery rooms and another computation."""

from __future__ import annotations

import pytest
from numpy.testing import assert_allclose

from sunpantry.physics.water_loss import WATER_G_PER_ML, topping_up_months, water_ml


# EN IEC 62485-2, annex on gas: 1 Ah splits 0.336 g of water (from memory; three digits).
@pytest.mark.published
def test_water_of_an_ampere_hour() -> None:
    assert_allclose(water_ml(1.0) * WATER_G_PER_ML, 0.336, atol=0.0005)


# The same standard: 0.42 L of hydrogen an ampere-hour at 0 °C (two digits). A litre of gas is
# 1/22.414 mol, and there is as much hydrogen as there was water.
@pytest.mark.published
def test_water_is_what_the_hydrogen_came_from() -> None:
    hydrogen_mol = 0.42 / 22.414
    assert_allclose(water_ml(1.0) * WATER_G_PER_ML, hydrogen_mol * 18.015, rtol=0.005 / 0.42)


# Half of 1 mL/Ah may go: 50 mL of a cell of 100 Ah.
@pytest.mark.analytic
@pytest.mark.parametrize(
    ("ml_per_year", "months"),
    [(0.0, 12), (49.9, 12), (50.1, 6), (100.1, 3), (200.1, 2), (300.1, 1), (5000.0, 1)],
)
def test_interval(ml_per_year: float, months: int) -> None:
    assert topping_up_months(ml_per_year, cell_ah=100.0) == months

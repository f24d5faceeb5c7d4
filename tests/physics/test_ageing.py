"""Counting cycles and years of life against published examples and usual figures."""

from __future__ import annotations

from collections import defaultdict

import pytest
from numpy.testing import assert_allclose

from sunpantry.physics.ageing import (
    BatteryLife,
    arrhenius_factor,
    battery_life,
    count_cycles,
    longest_life_years,
    overcharge_speed,
    wear_of,
)
from sunpantry.physics.battery import BatteryModel, battery_model
from sunpantry.physics.battery_step import gassing_current

AGM = battery_model(chemistry="agm", nominal_v=12.0, capacity_ah=100.0)
FLOODED = battery_model(chemistry="flooded", nominal_v=12.0, capacity_ah=110.0)


# ASTM E1049-85 (2017), section 5.4.4 and figure 6.
@pytest.mark.published
def test_rainflow_of_the_standard() -> None:
    counts: defaultdict[float, float] = defaultdict(float)
    for depth, count in count_cycles([-2, 1, -3, 5, -1, 3, -4, 4, -2]):
        counts[depth] += count
    assert counts == {3.0: 0.5, 4.0: 1.5, 6.0: 0.5, 8.0: 1.0, 9.0: 0.5}


@pytest.mark.analytic
def test_rainflow_of_plain_days() -> None:
    days = [1.0, 0.7] * 365 + [1.0]
    found = count_cycles(days)
    assert_allclose(sum(count for _, count in found), 365.0)
    assert_allclose([depth for depth, _ in found], 0.3)
    assert count_cycles([0.5, 0.5, 0.5]) == []


# Life halves for every 10 K (Arrhenius rule), common practice; check sheet LF3.
@pytest.mark.published
def test_life_halves_for_ten_kelvin() -> None:
    assert_allclose(arrhenius_factor([20.0]) / arrhenius_factor([30.0]), 0.5)
    assert_allclose(arrhenius_factor([10.0, 30.0]), 1.25)


# Check sheet LF1 and LF2, from memory of catalogues, good to a factor of 1.5: cycles to
# 80 % of the capacity against depth.
@pytest.mark.published
@pytest.mark.parametrize(
    ("chemistry", "volts", "depth", "fewest", "most"),
    [
        ("flooded", 12.0, 0.2, 1500, 2500),
        ("agm", 12.0, 0.3, 1000, 1500),
        ("agm", 12.0, 0.5, 400, 700),
        ("flooded", 12.0, 0.8, 250, 400),
        ("agm", 12.0, 1.0, 150, 250),
        ("lifepo4", 12.8, 0.8, 2500, 5000),
        ("lifepo4", 12.8, 1.0, 2000, 3000),
    ],
)
def test_cycles_against_depth(
    chemistry: str, volts: float, depth: float, fewest: float, most: float
) -> None:
    model = battery_model(chemistry=chemistry, nominal_v=volts, capacity_ah=100.0)
    cycles = 1.0 / wear_of([(depth, 1.0)], model)
    assert fewest / 1.5 <= cycles <= most * 1.5


# IEEE Std 450 and 1188 halve the life on float for 8.3 K (15 °F), makers for 10 K (from memory).
@pytest.mark.published
def test_warmth_is_within_what_is_printed() -> None:
    for_15_f, for_10_k = arrhenius_factor([25.0 + 8.33]), arrhenius_factor([25.0 + 10.0])
    at_25 = arrhenius_factor([25.0])
    assert 1.0 < for_15_f / at_25 <= 2.0 <= for_10_k / at_25 + 1e-12


# On float at its own voltage and 20 °C all year a battery lives its calendar life: what the
# float does is in that figure and must not be added once more. 63 mV a cell more, ln 2 / 11,
# halve it; so do 11.6 K, ln 2 / 0.06, where the warmth of the calendar (10 K) is already more.
@pytest.mark.analytic
@pytest.mark.parametrize("model", [AGM, FLOODED])
def test_float_is_counted_once(model: BatteryModel) -> None:
    def life(above_v: float, cell_c: float) -> BatteryLife:
        base_a = model.constants.gas_ma_per_100ah / 1e5 * model.rated_ah
        gas_a = gassing_current(base_a, model.constants.float_v + above_v, cell_c)
        return battery_life(
            model, wear_per_year=0.0, low_h_per_year=0.0, unfilled_h_per_year=0.0,
            warmth=arrhenius_factor([cell_c]), gassing_ah_per_year=gas_a * 8760.0,
        )  # fmt: skip

    assert_allclose(life(0.0, 20.0).years, model.calendar_years)
    assert_allclose(life(0.06301, 20.0).years, model.calendar_years / 2.0, rtol=1e-4)
    warm = life(0.0, 30.0)
    assert_allclose(warm.years, model.calendar_years / 2.0)
    assert warm.overcharge == 0.0
    both = life(0.06301, 31.0)
    assert_allclose(both.calendar + both.overcharge, both.used_per_year)
    assert both.overcharge > 0.0


@pytest.mark.analytic
def test_lithium_is_not_overcharged() -> None:
    lithium = battery_model(chemistry="lifepo4", nominal_v=12.8, capacity_ah=100.0)
    assert overcharge_speed(lithium, 100.0) == 0.0


@pytest.mark.analytic
def test_lives_add_up() -> None:
    idle = battery_life(
        AGM, wear_per_year=0.0, low_h_per_year=0.0, unfilled_h_per_year=0.0, warmth=1.0
    )
    assert_allclose(idle.years, AGM.calendar_years)
    assert_allclose(longest_life_years(AGM, warmth=1.0), AGM.calendar_years)
    # Cycled to its end in four years, and seven on the shelf: 1 / (1/4 + 1/7).
    both = battery_life(
        AGM, wear_per_year=0.25, low_h_per_year=0.0, unfilled_h_per_year=0.0, warmth=1.0
    )
    assert_allclose(both.years, 1.0 / (0.25 + 1.0 / AGM.calendar_years))
    assert both.low_years < both.years < both.high_years


@pytest.mark.analytic
def test_standing_empty_ruins_lead_not_lithium() -> None:
    empty = {"wear_per_year": 0.0, "low_h_per_year": 8760.0, "unfilled_h_per_year": 0.0}
    lead = battery_life(AGM, warmth=1.0, **empty)
    assert lead.years < 2.0
    lithium = battery_model(chemistry="lifepo4", nominal_v=12.8, capacity_ah=100.0)
    other = battery_life(lithium, warmth=1.0, **empty)
    assert_allclose(other.years, lithium.calendar_years)

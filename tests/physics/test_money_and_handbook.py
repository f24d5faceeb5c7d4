"""Money formulas and sizing by hand against published worked examples."""

from __future__ import annotations

import math

import pytest
from numpy.testing import assert_allclose

from sunpantry.physics import handbook
from sunpantry.physics.economics import (
    battery_years,
    capital_recovery_factor,
    future_value,
    internal_rate_of_return,
    levelised_cost,
    net_present_value,
    present_cost,
    present_worth_factor,
    replacement_years,
)


# EC1 to EC4: examples of the documentation of numpy-financial, digits as printed.
@pytest.mark.published
def test_spreadsheet_functions() -> None:
    assert_allclose(internal_rate_of_return([-100, 39, 59, 55, 20]) or 0.0, 0.28095, atol=5e-6)
    assert_allclose(
        net_present_value(0.08, [-40_000, 5_000, 8_000, 12_000, 30_000]), 3065.22, atol=0.005
    )
    monthly = 200_000 * capital_recovery_factor(0.075 / 12, 180)
    assert_allclose(monthly, 1854.02, atol=0.005)
    saved = future_value(rate=0.05 / 12, periods=120, payment=100.0, start=100.0)
    assert_allclose(saved, 15692.93, atol=0.005)


# EC5, EC6: standard tables of interest factors.
@pytest.mark.published
@pytest.mark.parametrize(
    ("rate", "years", "recovery"),
    [(0.08, 20, 0.101852), (0.10, 10, 0.162745), (0.05, 25, 0.070952)],
)
def test_interest_tables(rate: float, years: int, recovery: float) -> None:
    assert_allclose(capital_recovery_factor(rate, years), recovery, atol=5e-7)
    factor = present_worth_factor(rate, years)
    assert_allclose(factor, net_present_value(rate, [0.0] + [1.0] * years), rtol=1e-12)


@pytest.mark.published
def test_present_worth_factors() -> None:
    assert_allclose(present_worth_factor(0.08, 20), 9.8181, atol=5e-5)
    assert_allclose(present_worth_factor(0.10, 10), 6.1446, atol=5e-5)
    assert present_worth_factor(0.0, 12) == 12
    assert future_value(rate=0.0, periods=3, payment=2.0, start=1.0) == 7.0


# EC7: the sheet's worked levelised cost, computed there from the definition.
@pytest.mark.published
def test_levelised_cost() -> None:
    batteries = [(year, 600.0) for year in replacement_years(5.0, 20.0)]
    assert [year for year, _ in batteries] == [5.0, 10.0, 15.0]
    alone = present_cost(0.08, first=0.0, yearly=0.0, years=20, later=batteries)
    upkeep = present_cost(0.08, first=0.0, yearly=20.0, years=20, later=[])
    whole = present_cost(0.08, first=2000.0, yearly=20.0, years=20, later=batteries)
    assert_allclose([alone, upkeep], [875.41, 196.36], atol=0.005)
    unit = levelised_cost(present_cost=whole, energy_per_year=700.0, rate=0.08, years=20)
    assert_allclose(unit, 0.44695, atol=5e-6)
    nothing = levelised_cost(present_cost=1.0, energy_per_year=0.0, rate=0.08, years=20)
    assert math.isinf(nothing)


# EC8: 1500 cycles, one a day, last 4.1 years.
@pytest.mark.published
def test_battery_years() -> None:
    daily = battery_years(cycles=1500, cycles_per_year=365, calendar_life_years=10)
    assert_allclose(daily, 4.1, atol=0.05)
    assert battery_years(cycles=1500, cycles_per_year=20, calendar_life_years=10) == 10
    assert battery_years(cycles=1500, cycles_per_year=0, calendar_life_years=10) == 10


@pytest.mark.analytic
def test_replacements_and_rates_without_an_answer() -> None:
    assert replacement_years(8.0, 20.0) == (8.0, 16.0)
    assert replacement_years(25.0, 20.0) == ()
    assert internal_rate_of_return([100.0, 10.0]) is None


# SZ1 to SZ8, worked example A: "Stand-alone camp, Baton Rouge", anonymous worksheet, two
# copies read. Tolerances are the spread of the copies' own rounding.
CAMP = [(150, 2), (500, 5), (135, 8), (1500, 0.86), (200, 4), (1500, 0.25)]


@pytest.mark.published
def test_worked_example_of_a_camp() -> None:
    energy = handbook.daily_energy_wh([(watts, hours, 0.85) for watts, hours in CAMP])
    assert 7463 <= energy <= 7465
    charge = handbook.daily_charge_ah(energy, 24.0)
    assert_allclose(charge, 311, atol=0.5)
    capacity = handbook.battery_capacity_ah(daily_ah=311, days=7, max_depth=0.8)
    assert_allclose(capacity, 2721.5, atol=0.5)
    series, parallel = handbook.batteries_needed(
        capacity_ah=capacity, bank_v=24.0, block_ah=478.0, block_v=12.0
    )
    assert (series, parallel, series * parallel, parallel * 478) == (2, 6, 12, 2868)
    assert_allclose(
        handbook.array_energy_wh(energy_wh=energy, battery_efficiency=0.85), 8782, atol=1
    )
    bare = handbook.panel_energy_wh(power_w=47.7, sun_hours=3.77, derate=1.0)
    panel = handbook.panel_energy_wh(power_w=47.7, sun_hours=3.77, derate=0.9)
    assert_allclose([bare, panel], [179.8, 161.9], atol=0.07)
    # The copies divide rounded figures and round again (54.2, then 54): one in the last digit.
    assert_allclose(8782 / panel, 54.2, atol=0.1)


# SZ9 to SZ12, worked example B: Masters (2004), cabin near Salt Lake City (from memory).
@pytest.mark.published
def test_worked_example_of_a_cabin() -> None:
    energy = handbook.daily_energy_wh([(3000.0, 1.0, 0.85)])
    assert_allclose(energy, 3529, atol=0.5)
    charge = handbook.daily_charge_ah(energy, 24.0)
    assert_allclose(charge, 147, atol=0.5)
    assert_allclose(handbook.storage_days(3.1), 4.597, atol=0.0005)
    assert_allclose(handbook.storage_days(3.1, availability_pct=99), 12.22, atol=0.005)
    usable = handbook.battery_capacity_ah(daily_ah=147.0, days=4.6, max_depth=1.0)
    nominal = handbook.battery_capacity_ah(
        daily_ah=147.0, days=4.6, max_depth=0.80, cold_factor=0.97
    )
    assert_allclose([usable, nominal], [676, 871.4], atol=0.5)
    assert_allclose(handbook.panel_charge_ah(imp_a=5.0, sun_hours=4.0), 16.2, rtol=1e-12)
    assert handbook.storage_days(1.0) == handbook.storage_days(2.0)
    assert handbook.storage_days(9.0) == handbook.storage_days(7.0)


# SZ13 to SZ16: procedures of SAND87-7023, IEEE 1562 and IEEE 1013 (from memory), with the
# arithmetic done by hand here.
@pytest.mark.published
def test_procedures() -> None:
    corrected = handbook.corrected_charge_ah(88.2)
    assert_allclose(corrected, 100.0, rtol=1e-12)
    # 100 Ah in 2.5 h is 40 A; a string gives 0.9 × 5 A: 8.9 strings.
    strings = handbook.strings_by_worksheet(corrected_ah=100.0, sun_hours=2.5, imp_a=5.0)
    assert strings == 9
    # 1.2 × 88.2 / (0.85 × 5 × 2.5) = 9.96 strings.
    assert handbook.strings_by_ratio(daily_ah=88.2, sun_hours=2.5, imp_a=5.0) == 10
    wanted = {"daily_ah": 100.0, "max_depth": 0.5, "margin": 1.0}
    assert_allclose(
        handbook.capacity_by_standard_ah(
            **wanted, days=5.0, max_daily_depth=0.2, temperature_factor=1.19
        ),
        1190.0,
        rtol=1e-12,
    )
    shallow = handbook.capacity_by_standard_ah(**wanted, days=1.0, max_daily_depth=0.2)
    assert_allclose(shallow, 500.0, rtol=1e-12)
    assert handbook.usual_autonomy_days(54.0) == (8.0, 14.0)
    assert handbook.usual_autonomy_days(-40.0) == (4.0, 7.0)
    assert handbook.usual_autonomy_days(10.0) == (2.0, 3.0)
    assert handbook.usual_autonomy_days(10.0, critical=True) == (8.0, 14.0)

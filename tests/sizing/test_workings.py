"""The hand method: published worked examples through the functions that the workings use."""

from __future__ import annotations

import numpy as np
import pytest
from tests.sizing.cases import random_case

from sunpantry.figures import Given
from sunpantry.physics import handbook
from sunpantry.sizing.workings import hand_method

# Lights, refrigerator, fans, washer, television, toaster: power [W], hours a day.
CAMP = ((150, 2), (500, 5), (135, 8), (1500, 0.86), (200, 4), (1500, 0.25))


@pytest.mark.published
def test_worked_example_a_stand_alone_camp() -> None:
    """'Stand-alone camp, Baton Rouge', a university worksheet (two copies agree): SZ1-SZ8."""
    energy = handbook.daily_energy_wh((power, hours, 0.85) for power, hours in CAMP)
    assert energy == pytest.approx(7464.0, rel=1e-3)  # SZ1
    charge = handbook.daily_charge_ah(energy, 24.0)
    assert charge == pytest.approx(311.0, abs=1.0)  # SZ2
    assert sum(power for power, _ in CAMP) == pytest.approx(3985.0, abs=1.0)  # SZ3
    assert sum(power for power, _ in CAMP) / 0.85 == pytest.approx(4688.0, abs=1.0)
    capacity = handbook.battery_capacity_ah(daily_ah=311.0, days=7.0, max_depth=0.8)
    assert capacity == pytest.approx(2721.5, abs=2.0)  # SZ4
    series, parallel = handbook.batteries_needed(
        capacity_ah=capacity, bank_v=24.0, block_ah=478.0, block_v=12.0
    )
    assert (parallel, series) == (6, 2)  # SZ5
    assert parallel * 478.0 == pytest.approx(2868.0)
    wanted = handbook.array_energy_wh(energy_wh=7465.0, battery_efficiency=0.85)
    assert wanted == pytest.approx(8782.0, abs=5.0)  # SZ6
    bare = handbook.panel_energy_wh(power_w=47.7, sun_hours=3.77, derate=1.0)
    warm = handbook.panel_energy_wh(power_w=47.7, sun_hours=3.77, derate=0.9)
    assert bare == pytest.approx(179.8, abs=0.5)  # SZ7
    assert warm == pytest.approx(161.9, abs=0.5)
    assert wanted / warm == pytest.approx(54.2, abs=0.1)  # SZ8


@pytest.mark.published
def test_worked_example_b_cabin() -> None:
    """G. M. Masters (2004), cabin near Salt Lake City (from memory): SZ9-SZ12."""
    energy = handbook.daily_energy_wh([(3000.0, 1.0, 0.85)])
    assert energy == pytest.approx(3529.0, rel=2e-3)  # SZ9
    charge = handbook.daily_charge_ah(energy, 24.0)
    assert charge == pytest.approx(147.0, rel=2e-3)
    days = handbook.storage_days(3.1)
    assert days == pytest.approx(4.6, abs=0.05)  # SZ10
    assert handbook.storage_days(3.1, availability_pct=99) == pytest.approx(12.22, abs=0.05)
    capacity = handbook.battery_capacity_ah(
        daily_ah=147.0, days=4.6, max_depth=0.8, cold_factor=0.97
    )
    assert capacity == pytest.approx(872.0, rel=0.01)  # SZ11
    assert handbook.panel_charge_ah(imp_a=5.0, sun_hours=4.0) == pytest.approx(16.2)  # SZ12


@pytest.mark.independent
@pytest.mark.parametrize("seed", [8, 24, 98])
def test_hand_method_follows_from_the_figures_it_shows(seed: int) -> None:
    """Each working, worked out again from its printed inputs, gives its printed value."""
    case = random_case(seed)
    best = case.searcher().find(case.demanded)
    answer = best.best or best.closest
    assert answer is not None
    figures = hand_method(case.setting, answer.system)
    by_words = {
        figure.name.split(":")[-1].split(" on a day")[0].strip(): figure for figure in figures
    }
    given = {
        name: {one.name: one.value for one in figure.inputs} for name, figure in by_words.items()
    }
    energy = by_words["energy asked for"]
    charge = by_words["charge the array must give in a day"]
    inputs = given["charge the array must give in a day"]
    assert inputs["energy a day"] == pytest.approx(energy.value)
    assert charge.value == pytest.approx(
        number(inputs["energy a day"])
        / number(inputs["battery voltage"])
        / (number(inputs["wire efficiency"]) * number(inputs["battery efficiency"]))
    )
    battery, inputs = by_words["battery capacity"], given["battery capacity"]
    days, drawn = number(inputs["days of autonomy"]), number(inputs["charge drawn in a day"])
    demands = (
        days * drawn / number(inputs["depth of discharge allowed"]),
        drawn / number(inputs["depth allowed in a day"]),
        days * drawn / 0.8,
    )
    assert battery.value == pytest.approx(max(demands) * number(inputs["cold factor"]) * 1.10)
    array, inputs = by_words["array power"], given["array power"]
    amps = number(inputs["charge the array must give"]) / (number(inputs["peak sun hours"]) * 0.9)
    volts = (
        number(inputs["panel voltage at maximum power"])
        if inputs["controller"] == "PWM"
        else answer.system.bank_v
    )
    assert array.value == pytest.approx(amps * volts)
    assert all(np.isfinite(figure.value) and figure.source for figure in figures)


def number(value: float | str) -> float:
    """An input that must be a number."""
    assert isinstance(value, float | int), Given("not a number", value)
    return float(value)

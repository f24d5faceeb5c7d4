"""A battery that fades from year to year."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose
from tests.simulate.yard import YEARS, lead_system, system_with, yard

from sunpantry.physics.ageing import arrhenius_factor
from sunpantry.simulate import layout as at
from sunpantry.simulate.course import Course
from sunpantry.simulate.fading import change_bank, fade
from sunpantry.simulate.run import Rows, run_systems


@pytest.mark.conservation
def test_hours_are_those_of_plain_runs() -> None:
    """First and last stage are what a run at their capacity shows; the first year is new."""
    setting, system = yard(load_w=0.4), lead_system()
    fading = fade(setting, system)
    assert fading is not None
    for stage in (fading.first, fading.middle, fading.last):
        runs = run_systems(setting, [system], capacity_left=stage.capacity_left)
        assert_allclose(stage.hours_without, runs.yearly[0, :, at.Y_ANY_HOURS].mean())
    new = run_systems(setting, [system])
    assert fading.first.capacity_left == 1.0
    assert fading.years[0].hours_without == new.yearly[0, 0, at.Y_ANY_HOURS]
    assert fading.last.hours_without > fading.first.hours_without


@pytest.mark.analytic
def test_capacity_falls_by_a_fifth_of_what_is_used() -> None:
    fading = fade(yard(), lead_system())
    assert fading is not None
    assert len(fading.years) == YEARS
    assert fading.replaced_after
    for before, after in zip(fading.years, fading.years[1:], strict=False):
        if after.battery == before.battery:
            assert_allclose(after.capacity_left, before.capacity_left - 0.2 * before.used)
            assert after.capacity_left > 0.8
        else:
            assert before.year in fading.replaced_after
            assert before.capacity_left - 0.2 * before.used <= 0.8
            assert after.capacity_left == 1.0


# A battery far too large is hardly cycled and always full: only the calendar ages it. At a
# steady temperature it then lasts its calendar life at 20 °C over the Arrhenius factor.
@pytest.mark.analytic
def test_an_idle_battery_ages_by_the_calendar() -> None:
    setting = yard(load_w=0.01)
    system = system_with("lifepo4", capacity_ah=400.0, calendar_years=3.0)
    fading = fade(setting, system)
    assert fading is not None
    cells_c = setting.cells_c("house").reshape(YEARS, -1)
    expected = 1.0
    for year in range(2):
        assert_allclose(fading.years[year].capacity_left, expected, atol=2e-4)
        expected -= 0.2 * arrhenius_factor(cells_c[year]) / 3.0
    assert fading.replaced_after == () or fading.replaced_after[0] >= 3


@pytest.mark.analytic
def test_an_owned_battery_begins_where_it_is() -> None:
    system = system_with("agm", capacity_ah=40.0, worn_pct=90.0)
    fading = fade(yard(), system)
    assert fading is not None
    assert_allclose(fading.first.capacity_left, 0.9)
    new = [one for one in fading.years if one.battery == 2]
    assert new[0].capacity_left == 1.0


@pytest.mark.analytic
def test_no_battery_does_not_fade() -> None:
    assert fade(yard(), system_with(None)) is None


@pytest.mark.conservation
@pytest.mark.parametrize("anew", [False, True])
def test_state_of_charge_survives_the_change(anew: bool) -> None:
    setting, system = yard(), lead_system()
    course = _laid_out(1.0)
    course.go(0, 1)
    before = course.states[0].copy()
    filled = (before[at.S_AVAILABLE] + before[at.S_BOUND]) / course.designs[0, at.FULL_WH]
    rows = Rows(setting, capacity_left=0.9)
    rows.add(system)
    change_bank(course, rows.designs[0], anew=anew, year=1)
    state, full = course.states[0], course.designs[0, at.FULL_WH]
    assert_allclose(full, 0.9 * _laid_out(1.0).designs[0, at.FULL_WH])
    now = (state[at.S_AVAILABLE] + state[at.S_BOUND]) / full
    assert_allclose(now, 1.0 if anew else filled)
    ratio = before[at.S_AVAILABLE] / before[at.S_BOUND]
    if not anew:
        assert_allclose(state[at.S_AVAILABLE] / state[at.S_BOUND], ratio)


def _laid_out(capacity: float) -> Course:
    rows = Rows(yard(), capacity_left=capacity)
    rows.add(lead_system())
    return rows.lay_out()


@pytest.mark.independent
def test_without_fading_the_years_are_those_of_one_run() -> None:
    """Year by year through ``change_bank`` with the same bank: not a bit differs."""
    whole, parts = _laid_out(1.0), _laid_out(1.0)
    whole.go(0, YEARS)
    for year in range(YEARS):
        if year:
            change_bank(parts, parts.designs[0].copy(), anew=False, year=year)
        parts.go(year, year + 1)
    np.testing.assert_array_equal(parts.yearly, whole.yearly)
    np.testing.assert_array_equal(parts.totals, whole.totals)
    np.testing.assert_array_equal(parts.states, whole.states)

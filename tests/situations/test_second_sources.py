"""Mains, generator and carried batteries: counted, and never a dark hour behind a transfer."""

from __future__ import annotations

import math

import pytest
from tests.situations.documents import FENCE, SITE, pwm_system
from tests.situations.plans import PlanOf

from sunpantry.simulate import layout as at
from sunpantry.sizing.cost import fuel_litres

SMALL = pwm_system(panel="20 W panel, 36 cells", battery="12 V 18 Ah AGM")
SMALLER = pwm_system(panel="10 W panel, 36 cells", battery="12 V 18 Ah AGM")
CARRIED = """
[backup]
kind = "carried_battery"
carried = "200 Wh"
trip_cost = 5
"""
GENERATOR = """
[backup]
kind = "generator"
power = "60 W"
fuel_per_kwh = "0.8 L/kWh"
fuel_price = 2
charger_efficiency = "80 %"
quiet_from = "22:00"
quiet_until = "07:00"
"""


# Behind the switch every appliance gets all it asks for, from the sun or from the mains.
@pytest.mark.conservation
def test_a_house_with_a_transfer_switch_never_goes_dark(shipped: PlanOf) -> None:
    plan = shipped("whole-house")
    proof = plan.proof
    assert proof.hours_without_power_per_year == 0.0
    assert proof.unserved_fraction == 0.0
    assert (proof.traces[at.TR_UNSERVED] == 0.0).all()
    asked = sum(load.energy_wh_per_year for load in proof.loads)
    # Jobs that wait at the end are the difference.
    assert proof.audit.served_wh == pytest.approx(asked, rel=0.005)
    second = plan.second_source
    assert second is not None
    assert second.sun_share == pytest.approx(
        1.0 - proof.audit.brought_in_wh / proof.audit.served_wh
    )
    assert 0.5 < second.sun_share < 1.0
    assert second.brought_in_wh_per_year == pytest.approx(
        sum(one.backup_wh for one in proof.winter_list) / proof.winters, rel=1e-9
    )
    # The mains serves in the dark months, not at midsummer.
    assert plan.cost.running > 0.0


@pytest.mark.conservation
def test_carried_batteries_are_counted(planned: PlanOf) -> None:
    some = planned(SITE + FENCE + SMALL + CARRIED)
    more = planned(SITE + FENCE + SMALLER + CARRIED)
    for plan in (some, more):
        second = plan.second_source
        assert second is not None
        assert second.trips_half is not None
        assert second.trips_nine_in_ten is not None
        assert second.trips_half <= second.trips_nine_in_ten
        counts = sorted(math.ceil(one.backup_wh / 200.0 - 1e-6) for one in plan.proof.winter_list)
        assert second.trips_half in counts
        # Four winters: nine in ten is the worst of them.
        assert second.trips_nine_in_ten == counts[-1]
        assert plan.proof.hours_without_power_per_year == 0.0
    alone = planned(SITE + FENCE + SMALLER)
    assert alone.proof.hours_without_power_per_year > 0.0
    assert more.proof.audit.brought_in_wh > some.proof.audit.brought_in_wh > 0.0
    # What a trip carries at least makes up for what was missing.
    missing = sum(one.unserved_wh for one in alone.proof.winter_list) / alone.proof.winters
    assert more.proof.audit.brought_in_wh >= missing


@pytest.mark.conservation
def test_too_many_trips_break_the_promise(planned: PlanOf) -> None:
    plan = planned(SITE + FENCE + SMALLER + CARRIED + "max_per_winter = 1\n")
    assert plan.second_source is not None
    assert plan.second_source.trips_nine_in_ten is not None
    assert plan.second_source.trips_nine_in_ten > 1
    assert not plan.search.kept


# Energy at the battery, through an 80 % charger, at 0.8 L for each kilowatt-hour.
@pytest.mark.analytic
def test_generator_burns_fuel_and_keeps_quiet_hours(planned: PlanOf) -> None:
    plan = planned(SITE + FENCE + SMALLER + GENERATOR)
    second = plan.second_source
    assert second is not None
    kwh = plan.proof.audit.brought_in_wh / 0.8 / 1000.0
    assert kwh > 0.0
    assert second.fuel_l_per_year == pytest.approx(0.8 * kwh, rel=1e-12)
    assert plan.design.backup is not None
    assert fuel_litres(plan.design.backup, 1000.0) == pytest.approx(1.0)
    assert second.hours_per_year >= plan.proof.audit.brought_in_wh / (60.0 * 0.8) - 1e-9
    # Between ten at night and seven in the morning it stands still.
    traces = plan.proof.traces
    night = plan.setting.habits.backup_allowed
    assert night is not None
    assert (night == 0.0).sum() == 9 * 365
    assert traces.shape[1] == night.size * plan.proof.winters


@pytest.mark.regression
def test_fence_shows_other_ways(shipped: PlanOf) -> None:
    plan = shipped("fence")
    carried = [one for one in plan.alternatives if one.system is None]
    assert len(carried) == 1
    assert "weeks" in carried[0].words
    # 1.28 kWh, four fifths of them used, for 2 W at full duty: 21 days in the hungriest month.
    assert "3.0 weeks in the" in carried[0].words
    assert carried[0].trips_per_year == pytest.approx(
        plan.proof.loads[0].energy_wh_per_year / (0.8 * 1280.0), rel=1e-9
    )
    helped = [one for one in plan.alternatives if one.system is not None]
    for one in helped:
        assert one.total < plan.cost.total
        assert one.hours_without == 0.0

"""Fence, inverter, phone, washing and lights behave as their physics demand."""

from __future__ import annotations

import numpy as np
import pytest
from tests.situations.documents import FENCE, PLENTY, SITE, pwm_system
from tests.situations.plans import PlanOf

from sunpantry.physics.battery import WORN_OUT
from sunpantry.simulate import layout as at

DARK = {11, 12, 1}
BRIGHT = {5, 6, 7}


# What is delivered cannot exceed what the sun offers and the battery held: from the
# month's light alone a 30 W panel falls short in December, and has plenty in June.
@pytest.mark.conservation
def test_fence_with_too_small_a_panel_dies_in_december_and_not_in_june(planned: PlanOf) -> None:
    system = pwm_system(panel="30 W panel, 36 cells", battery="12 V 35 Ah AGM")
    plan = planned(SITE + FENCE + system)
    months = {one.month: one for one in plan.proof.months}
    assert months[12].offered_wh < 48.0 < months[6].offered_wh
    assert months[12].hours_without > 24.0
    for month in BRIGHT:
        assert months[month].hours_without == 0.0
    missing = months[12].unserved_wh
    assert missing >= 48.0 - months[12].offered_wh - 35.0 * 12.0 / 31.0
    assert not plan.search.kept
    # A larger panel and battery carry it through nearly every hour.
    better = planned(
        SITE + FENCE + pwm_system(panel="160 W panel, 36 cells", battery="12 V 100 Ah AGM")
    )
    assert better.proof.hours_without_power_per_year < 0.1 * plan.proof.hours_without_power_per_year


INVERTER = """
[[load]]
name = "Laptop"
power = "45 W"
supply = "mains"
kind = "electronics"
from = "18:00"
until = "22:00"
[inverter]
part = "300 W sine, 12 V"
"""


# The label's idle draw times the hours in which nothing runs.
@pytest.mark.analytic
def test_switching_off_the_idle_inverter_saves_its_idle_draw(planned: PlanOf) -> None:
    left_on = planned(SITE + INVERTER + PLENTY)
    switched = planned(SITE + INVERTER + "off_when_idle = true\n" + PLENTY)
    for plan in (left_on, switched):
        assert plan.proof.hours_without_power_per_year == 0.0
    assert left_on.system.inverter is not None
    idle_wh = left_on.system.inverter.idle_w * 20.0 * 365.0
    saved = left_on.proof.audit.inverter_wh - switched.proof.audit.inverter_wh
    assert saved == pytest.approx(idle_wh, rel=0.005)


# No light, no current; never more than the panel's socket or the phone takes.
@pytest.mark.conservation
def test_direct_phone_charger_follows_the_sun(shipped: PlanOf) -> None:
    plan = shipped("phone-by-day")
    traces, setting = plan.proof.traces, plan.setting
    assert plan.system.bank is None
    done_w = traces[at.TRACE_COLUMNS + at.TR_DONE]
    offered_w = traces[at.TR_OFFERED]
    sun = setting.weather.ghi_w_m2.reshape(-1)
    assert (done_w[sun <= 0.0] == 0.0).all()
    assert (done_w > 0.0).sum() > 1000
    assert done_w.max() <= 7.0 + 1e-9
    assert (done_w <= offered_w + 1e-9).all()
    # Below a threshold it does not begin, except for the last drop of a charge: one a day.
    small = (done_w > 0.0) & (done_w < 0.15 * 7.0 - 1e-9)
    days = (done_w.reshape(365, -1) > 0.0).any(axis=1)
    assert small.sum() <= days.sum()
    months = {one.month: one for one in plan.proof.months}
    assert months[12].served_wh < 0.5 * months[6].served_wh


@pytest.mark.regression
def test_power_bank_works_at_night(shipped: PlanOf) -> None:
    plan = shipped("phone-by-night")
    assert plan.system.bank is not None
    assert plan.system.bank.battery.chemistry == "power_bank"
    night = plan.setting.weather.ghi_w_m2.reshape(-1) <= 0.0
    assert plan.proof.traces[at.TR_LOAD][night].sum() > 0.0


# A vehicle socket is trusted with 10 A; common practice, no source.
@pytest.mark.regression
def test_too_much_on_a_vehicle_socket_is_told(planned: PlanOf) -> None:
    document = (
        SITE
        + PLENTY
        + """
[[load]]
name = "Kettle"
power = "170 W"
supply = "12 V"
plug = "vehicle socket"
hours_per_day = 0.5
"""
    )
    told = [one.sentence for one in planned(document).findings if "Kettle" in one.about]
    assert any("socket" in sentence for sentence in told)


@pytest.mark.regression
def test_an_inverter_for_120_v_where_sockets_give_it(shipped: PlanOf) -> None:
    plan = shipped("laptop-and-lights")
    assert plan.design.site.mains_v == 120.0
    assert plan.system.inverter is not None
    assert plan.system.inverter.output_v == 120.0


# The rule of the document, step by step: the machine turns only above 80 % of charge.
@pytest.mark.conservation
def test_washing_waits_for_a_full_battery(planned: PlanOf) -> None:
    document = (
        SITE
        + """
[[load]]
name = "Washing machine"
like = "washing machine, cold wash"
surge = "900 W"
uses_per_week = 3
can_wait = { days = 5, rule = "battery above 80 %" }
[inverter]
part = "1500 W modified sine, 12 V"
off_when_idle = true
"""
        + pwm_system(panel="100 W panel, 36 cells", battery="12.8 V 100 Ah LiFePO4")
    )
    plan = planned(document)
    traces = plan.proof.traces
    done_w = traces[at.TRACE_COLUMNS + at.TR_DONE]
    before = np.concatenate(([1.0], traces[at.TR_SOC][:-1]))
    assert (done_w > 0.0).sum() > 100
    # Self-discharge and rest shift the charge a little between the end of one step and the next.
    assert before[done_w > 0.0].min() >= 0.80 - 1e-3
    washing = plan.proof.loads[0]
    assert washing.uses_missed_per_year is not None
    assert 0.0 < washing.uses_missed_per_year < 3 * 52
    jobs_wh = washing.delivered_wh_per_year + washing.unserved_wh_per_year
    assert jobs_wh == pytest.approx(washing.energy_wh_per_year, rel=0.01)
    months = {one.month: one for one in plan.proof.months}
    assert sum(months[one].unserved_wh for one in BRIGHT) == 0.0
    assert sum(months[one].unserved_wh for one in DARK) > 0.0


# Eight bursts of a minute and a half on three lamps, and three sensors all night long.
@pytest.mark.analytic
def test_motion_lights_use_what_their_bursts_add_up_to(shipped: PlanOf) -> None:
    plan = shipped("yard-lights")
    load = next(one for one in plan.demand.loads if one.name == "Motion lights")
    bursts_wh = 3 * 15.0 * 8 * 1.5 / 60.0 * 365.0
    rest_h = 8760.0 - 8 * 1.5 / 60.0 * 365.0
    assert plan.demand.yearly_wh(load) == pytest.approx(bursts_wh + 3 * 0.4 * rest_h, rel=1e-6)


@pytest.mark.conservation
def test_packs_that_wait_are_counted(shipped: PlanOf) -> None:
    plan = shipped("tool-batteries")
    packs = next(one for one in plan.proof.loads if one.name == "Saw packs")
    assert packs.uses_waiting is not None
    # Six a week with three days of patience: never more than three or four at once.
    assert 1 <= packs.uses_waiting <= 4


@pytest.mark.regression
def test_worn_battery_is_what_the_promise_rests_on(shipped: PlanOf) -> None:
    plan = shipped("shed")
    assert plan.proof.capacity_left == WORN_OUT

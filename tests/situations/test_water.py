"""Pumps and tanks: the kernel against plain loops, a rule of agencies, and common sense."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.situations.documents import PLENTY, SITE
from tests.situations.plans import PlanOf, read

from sunpantry.demand.water_jobs import PumpJob, best_pipe
from sunpantry.errors import InputError, SearchError
from sunpantry.examples import example
from sunpantry.match.finding import Severity
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.system import Array
from sunpantry.physics.water import hydraulic_energy_wh
from sunpantry.plan.questions import question_of
from sunpantry.simulate import kernel_tank
from sunpantry.simulate import layout as at
from sunpantry.simulate.water import MATCHED, DirectPumping
from sunpantry.timegrid import FloatArray

TANK = """
[[load]]
name = "Lamp"
power = "5 W"
supply = "12 V"
hours_per_day = 3
[[tank]]
name = "Tank"
volume = "{volume} L"
full_at_start = 0.5
litres_per_day = [
  1800, 1800, 2100, 2700, 3300, 4200, 4500, 3900, 3000, 2400, 1800, 1800,
]
[[pump]]
supply = "12 V"
static_head = "10 m"
pipe_length = "60 m"
pipe_bore = "20.4 mm"
rated_flow = "2.5 L/min"
rated_head = "14 m"
rated_power = "30 W"
{more}
"""


def by_hand(
    job: PumpJob, years: int, *, step_h: float, most_l_per_day: float = np.inf
) -> tuple[FloatArray, FloatArray]:
    """Fill and empty a tank whose pump may always run; pumped and missing in each step [L]."""
    content, today = job.tank.start_l, 0.0
    per_day = round(24.0 / step_h)
    pumped, missing = [], []
    for step, wanted in enumerate(np.tile(job.tank.drawn_l, years).tolist()):
        if step % per_day == 0:
            today = 0.0
        room = job.tank.volume_l - content + wanted
        into = min(60.0 * job.pipe.flow_l_min * step_h, room, most_l_per_day - today)
        today += into
        short = max(wanted - content - into, 0.0)
        content = max(content + into - wanted, 0.0)
        pumped.append(into)
        missing.append(short)
    return np.array(pumped), np.array(missing)


# The other computation is a loop over litres; the kernel counts the work that waits in Wh.
@pytest.mark.independent
@pytest.mark.parametrize("well_l", [None, 2500.0])
def test_tank_behind_a_battery_that_never_fails(planned: PlanOf, well_l: float | None) -> None:
    more = "" if well_l is None else f'well_yield_per_day = "{well_l:g} L"'
    plan = planned(SITE + TANK.format(volume=800, more=more) + PLENTY)
    job, water = plan.demand.pumps[0], plan.water[0].proof
    pumped, missing = by_hand(
        job, plan.proof.winters, step_h=1.0, most_l_per_day=np.inf if well_l is None else well_l
    )
    np.testing.assert_allclose(water.pumped_l, pumped, atol=1e-6)
    np.testing.assert_allclose(water.missing_l, missing, atol=1e-6)
    assert water.dry_days_per_year > 0.0
    assert 0.0 < water.missing_l_per_year < water.asked_l_per_year
    # Every litre takes the same energy at the pump.
    pump = plan.proof.loads[-1]
    assert pump.delivered_wh_per_year == pytest.approx(
        pumped.sum() / plan.proof.winters * job.pipe.wh_per_l, rel=1e-9
    )
    assert pump.hours_without_per_year == pytest.approx(water.dry_hours_per_year, rel=1e-9)
    lifted = hydraulic_energy_wh(volume_m3=pumped.sum() / 1000.0, head_m=job.pipe.head_m)
    assert lifted < 0.6 * pump.delivered_wh_per_year * plan.proof.winters


@pytest.mark.conservation
def test_water_is_neither_made_nor_lost(shipped: PlanOf) -> None:
    for name in ("water-from-the-sun", "water-by-battery"):
        plan = shipped(name)
        job, water = plan.demand.pumps[0], plan.water[0].proof
        asked = np.tile(job.tank.drawn_l, water.years)
        content = job.tank.start_l + np.cumsum(water.pumped_l + water.missing_l - asked)
        assert content.min() >= -1e-6
        assert content.max() <= job.tank.volume_l + 1e-6
        assert (water.missing_l <= asked + 1e-9).all()
        delivered = sum(
            month.delivered_l * days
            for month, days in zip(
                water.months, (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31), strict=True
            )
        )
        assert delivered == pytest.approx(water.delivered_l_per_year, rel=1e-9)


# A smaller tank is never fuller: every dry step of the large one is one of the small one.
@pytest.mark.conservation
def test_halving_the_tank_raises_dry_days(planned: PlanOf, shipped: PlanOf) -> None:
    whole = planned(SITE + TANK.format(volume=1600, more="") + PLENTY).water[0].proof
    half = planned(SITE + TANK.format(volume=800, more="") + PLENTY).water[0].proof
    assert half.missing_l_per_year > whole.missing_l_per_year
    assert half.dry_days_per_year > whole.dry_days_per_year
    plan = shipped("water-from-the-sun")
    report = plan.water[0]
    assert report.array is not None
    job = replace(plan.demand.pumps[0], pipe=report.pipe)
    smaller = replace(
        job,
        tank=replace(job.tank, volume_l=0.5 * job.tank.volume_l, start_l=0.5 * job.tank.start_l),
    )
    halved = DirectPumping(plan.setting, smaller).run(report.array, report.pipe).tank
    assert halved.dry_days_per_year > report.proof.dry_days_per_year


def _brighter(plan_array: Array, factor: int) -> Array:
    return replace(plan_array, series=1, parallel=plan_array.count * factor)


@pytest.mark.conservation
def test_direct_pump_starts_only_above_some_light(shipped: PlanOf) -> None:
    plan = shipped("water-from-the-sun")
    report = plan.water[0]
    assert report.array is not None
    job = plan.demand.pumps[0]
    pumping = DirectPumping(plan.setting, job)
    run = pumping.run(report.array, report.pipe)
    least_w = job.table(report.pipe.bore_mm).start_power_w / MATCHED
    idle = run.offered_w < least_w * (1.0 - 1e-9)
    assert (run.tank.pumped_l[idle] == 0.0).all()
    assert (run.taken_w <= run.offered_w + 1e-6).all()
    assert run.taken_w.max() <= report.pipe.power_w / MATCHED + 1e-6
    night = plan.setting.weather.ghi_w_m2.reshape(-1) <= 0.0
    assert run.tank.pumped_l[night].sum() == 0.0
    # More panels, and a wider pipe, never dry the tank.
    double = pumping.dry_hours(_brighter(report.array, 2), report.pipe)
    wider = pumping.dry_hours(report.array, report.offered[-1])
    as_planned = pumping.dry_hours(report.array, report.pipe)
    assert double <= as_planned
    assert wider <= as_planned


@pytest.mark.independent
def test_tank_loop_compiled_and_interpreted_agree(shipped: PlanOf) -> None:
    plan = shipped("water-from-the-sun")
    job, setting = plan.demand.pumps[0], plan.setting
    table = job.table(plan.water[0].pipe.bore_mm)
    lit = setting.lit.size
    power = np.random.default_rng(3).uniform(0.0, 220.0, lit)
    results = []
    for run in (kernel_tank.fill_tank, kernel_tank.fill_tank.py_func):
        kept = np.zeros((kernel_tank.KEPT_ROWS, setting.sun_place.size))
        dry_h = run(
            power, 0.7, setting.sun_place, table.power_w, 60.0 * table.flow_l_min,
            job.tank.drawn_l, 500.0, 100.0, 1200.0, -1.0, 1, 1.0, kept,
        )  # fmt: skip
        results.append((dry_h, kept))
    assert results[0][0] == results[1][0]
    assert results[0][0] > 0.0
    np.testing.assert_array_equal(results[0][1], results[1][1])


AGENCY = """
schema = 1
name = "Rule of agencies"
winters = 4
[site]
latitude = 13.5
longitude = 2.1
monthly_sun = [6, 6, 6, 6, 6, 6, 6, 6, 6, 6, 6, 6]
[[tank]]
volume = "60000 L"
litres_per_day = 20000
[[pump]]
supply = "panel"
static_head = "30 m"
pipe_length = "40 m"
pipe_bore = "51.4 mm"
rated_flow = "47.3 L/min"
rated_head = "31 m"
rated_power = "480 W"
"""


# Rule of development agencies (GIZ, FAO; from memory): 30 m, 20 m³ a day and 6 kWh/m² a day
# want 8.0·H·V/G = 800 W of panel. The pump of the check turns half of its power into lifted
# water (range 40 to 60 % for submersible pumps, from memory) and has 60 % of the panels'
# power. A rule without temperature, dirt and age holds within a quarter.
@pytest.mark.published
def test_a_whole_pumping_system_against_the_rule_of_agencies() -> None:
    question = question_of(read(AGENCY))
    job = question.setting.demand.pumps[0]
    panel = next(one for one in shipped_catalogue().panels if one.power_w == 200.0)
    sun = question.setting.weather.ghi_w_m2.mean() * 24.0 / 1000.0
    assert sun == pytest.approx(6.0, rel=0.03)
    array = Array(panel, 1, 4, (13.0,) * 12, 180.0)
    roomy = replace(job, tank=replace(job.tank, drawn_l=job.tank.drawn_l * 3.0))
    run = DirectPumping(question.setting, roomy).run(array, job.pipe)
    daily_m3 = run.tank.pumped_l.sum() / 1000.0 / (365 * run.tank.years)
    assert daily_m3 == pytest.approx(20.0, rel=0.25)


@pytest.mark.regression
def test_best_pipe_weighs_price_against_energy(shipped: PlanOf) -> None:
    offered = shipped("water-by-battery").water[0].offered
    little = best_pipe(offered, yearly_l=1e3, daily_l=10.0, years=15.0)
    much = best_pipe(offered, yearly_l=1e7, daily_l=10.0, years=15.0)
    assert little.bore_mm < much.bore_mm
    assert [one.wh_per_l for one in offered] == sorted(
        (one.wh_per_l for one in offered), reverse=True
    )
    fast = best_pipe(offered, yearly_l=1e3, daily_l=1e9, years=15.0)
    assert fast == offered[-1]


@pytest.mark.regression
def test_a_pump_that_cannot_reach_is_refused() -> None:
    text = TANK.format(volume=800, more="").replace('"10 m"', '"40 m"')
    with pytest.raises(InputError, match="static_head"):
        question_of(read(SITE + text, winters=1))
    twice = TANK.format(volume=800, more="") + '[[pump]]\nname = "second"\nsupply = "12 V"\n'
    twice += "static_head = 5\npipe_length = 10\nrated_flow = 5\nrated_head = 9\nrated_power = 40\n"
    with pytest.raises(InputError, match="a tank of its own"):
        read(SITE + twice)


@pytest.mark.regression
def test_pipe_and_pump_are_told(planned: PlanOf) -> None:
    more = 'suction = "9 m"\nwell_yield_per_day = "700 L"'
    text = TANK.format(volume=800, more=more).replace("20.4 mm", "7 mm").replace('"10 m"', '"2 m"')
    rules = {one.rule for one in planned(SITE + text + PLENTY).findings}
    assert {"pump-suction", "pipe-bore", "well-yield"} <= rules
    assert example("water-by-battery").teaches


@pytest.mark.regression
def test_cable_of_a_direct_pump_is_told(shipped: PlanOf) -> None:
    wired = shipped("water-from-the-sun").wiring
    assert wired is not None
    (cable,) = wired.circuit.direct_pumps()
    (run,) = [one for one in wired.runs if one.cable.id == cable.id]
    assert run.size_mm2 > 0.0
    assert cable.duty is not None
    assert run.drop_v < cable.duty.drop_share * cable.duty.base_v


@pytest.mark.published
def test_panels_of_a_direct_pump_are_judged_like_any_other(
    shipped: PlanOf, planned: PlanOf
) -> None:
    """120 V DC is the limit of extra-low voltage (IEC 61140, Band I)."""
    few = {one.rule: one.severity for one in shipped("water-from-the-sun").findings}
    assert few["extra-low-voltage"] is Severity.FINE
    assert few["wind-on-panels"] is Severity.WORTH_KNOWING
    panels = """
[[array]]
part = "450 W half-cut panel, 72 cells"
count = 4
series = {series}
"""
    text = example("water-from-the-sun").text
    plan = planned(text + panels.format(series=2))
    (found,) = [one for one in plan.findings if one.rule == "extra-low-voltage"]
    assert found.severity is Severity.WORTH_KNOWING
    with pytest.raises(SearchError, match=r"licensed electrician.*2 panels in each string"):
        planned(text + panels.format(series=4))


@pytest.mark.regression
def test_pump_with_sun_to_spare_uses_no_battery(planned: PlanOf) -> None:
    text = TANK.format(volume=3000, more='rule = "sun to spare"')
    plan = planned(SITE + text + PLENTY)
    done_w = plan.proof.traces[at.TRACE_COLUMNS + at.TR_DONE]
    night = plan.setting.weather.ghi_w_m2.reshape(-1) <= 0.0
    assert done_w[night].sum() == 0.0
    assert done_w.sum() > 0.0

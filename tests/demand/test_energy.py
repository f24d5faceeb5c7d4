"""The energy a habit asks for, against what can be counted on paper."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sunpantry.demand.demand import demand_of
from sunpantry.demand.series import Demand, LoadSeries
from sunpantry.design import Load, parse_design
from sunpantry.design.models import Design
from sunpantry.errors import InputError
from sunpantry.sky.place import Place
from sunpantry.timegrid import MONTH_LENGTHS, NOMINAL_YEAR, TimeGrid

HUT = Place(54.1, -9.2, 26.0, "Europe/Dublin")
TROMSO = Place(69.65, 18.96, 10.0, "Europe/Oslo")
HEAD = "[site]\nlatitude = 54.1\nlongitude = -9.2\n"


def design(lines: str) -> Design:
    return parse_design(f'{HEAD}[[load]]\nname = "It"\nsupply = "12 V"\n{lines}\n')


def one(
    lines: str, *, place: Place = HUT, step_h: float = 1.0, seed: int = 1
) -> tuple[Demand, LoadSeries]:
    grid = TimeGrid.for_latitude(place.latitude, step_h=step_h)
    demand = demand_of(design(lines), place, grid, seed=seed)
    return demand, demand.loads[0]


def dates() -> list[dt.date]:
    return [dt.date(NOMINAL_YEAR, 1, 1) + dt.timedelta(days=day) for day in range(365)]


def count(*, months: set[int] | None = None, weekdays: set[int] | None = None) -> int:
    return sum(
        (months is None or day.month in months) and (weekdays is None or day.weekday() in weekdays)
        for day in dates()
    )


DUTY = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 0.05, 0.15]

# Habit -> energy of a year [Wh], counted on paper.
YEARS = {
    "power = 8\nhours_per_day = 4": 8 * 4 * 365,
    "power = 8\nhours_per_day = 24": 8 * 8760,
    "power = 60\nduty = 0.35": 60 * 0.35 * 8760,
    # March is an hour short and October an hour long where the clocks change.
    f"power = 60\nduty = {DUTY}": (
        60 * (24 * float(np.dot(DUTY, MONTH_LENGTHS)) + DUTY[9] - DUTY[2])
    ),
    "power = 8\nquantity = 3\nhours_per_day = 2.5": 3 * 8 * 2.5 * 365,
    'power = 8\nfrom = "17:40"\nuntil = "21:10"': 8 * 3.5 * 365,
    'power = 8\nfrom = "22:00"\nuntil = "02:30"': 8 * 4.5 * 365,
    'power = 8\nfrom = "00:00"\nuntil = "24:00"': 8 * 8760,
    'power = 8\nfrom = "06:10"\nhours_per_day = 0.4': 8 * 0.4 * 365,
    'power = 8\nuntil = "dawn-0:10"\nhours_per_day = 2': 8 * 2 * 365,
    'power = 8\nfrom = "dusk"\nuntil = "dusk+1:30"': 8 * 1.5 * 365,
    'power = 8\nfrom = "19:00"\nuntil = "20:00"\nweekdays = ["sat", "sun"]': (
        8 * count(weekdays={5, 6})
    ),
    'power = 8\nfrom = "19:00"\nuntil = "20:00"\nmonths = "Nov-Feb"\nweekdays = ["mon"]': (
        8 * count(months={11, 12, 1, 2}, weekdays={0})
    ),
    "power = 400\nenergy_per_use = 130\nuses_per_week = 3": 130 * 3 / 7 * 365,
    "minutes_per_use = 90\nenergy_per_use = 600\nuses_per_week = 2.5": 600 * 2.5 / 7 * 365,
    "power = 800\nminutes_per_use = 20\nuses_per_week = 20": 800 / 3 * 20 / 7 * 365,
    'power = 100\nenergy_per_use = 50\nuses_per_week = 3\nweekdays = ["tue", "sat"]': (
        50 * 1.5 * count(weekdays={1, 5})
    ),
    'power = 100\nenergy_per_use = 50\nuses_per_week = 1\nmonths = ["Dec", "Jan"]': 50 / 7 * 62,
    'power = 100\nenergy_per_use = 50\nuses_per_week = 14\nfrom = "06:30"\nuntil = "18:30"': (
        50 * 2 * 365
    ),
    "power = 20\nbursts = { per_night = 8, minutes = 2 }": 20 * 16 / 60 * 365,
    "power = 20\nbursts = { per_day = 0.3, minutes = 10 }": 20 * 0.3 / 6 * 365,
    "standby = 2": 2 * 8760,
    "power = 20\nstandby = 0.5\nbursts = { per_night = 8, minutes = 2 }": (
        20 * 16 / 60 * 365 + 0.5 * (8760 - 16 / 60 * 365)
    ),
    'power = 90\nstandby = 1\nfrom = "10:00"\nhours_per_day = 4\nmonths = [6]': 30
    * (90 * 4 + 1 * 20),
    "power = 90\nhours_per_day = 0\nstandby = 1": 8760,
    "power = 90\nenergy_per_use = 115\nuses_per_week = 4\ncan_wait = {}": 115 * 4 / 7 * 365,
    "power = 300\nhours_per_day = 2\nduty = 0.5\nquantity = 2\ncan_wait = {}": 600 * 365,
}


@pytest.mark.analytic
@pytest.mark.parametrize("step_h", [1.0, 0.25])
@pytest.mark.parametrize(("lines", "expected_wh"), YEARS.items())
def test_a_year_of_a_habit(lines: str, expected_wh: float, step_h: float) -> None:
    demand, load = one(lines, step_h=step_h)
    # Daylight saving takes an hour in spring and gives it back in autumn: no net change.
    assert demand.yearly_wh(load) == pytest.approx(expected_wh, rel=1e-9)
    assert demand.daily_wh(load).sum() == pytest.approx(expected_wh, rel=1e-9)
    assert demand.monthly_wh(load).sum() == pytest.approx(expected_wh, rel=1e-9)
    assert load.power_w.min() >= 0.0


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("step_h", "shares"),
    [
        (1.0, {17: 1 / 3, 18: 1.0, 19: 1.0, 20: 1.0, 21: 1 / 6}),
        (0.25, {17.5: 1 / 3, 17.75: 1.0, 21.0: 2 / 3}),
    ],
)
def test_a_step_that_is_cut_has_its_share(step_h: float, shares: dict[float, float]) -> None:
    demand, load = one('power = 9\nfrom = "17:40"\nuntil = "21:10"', step_h=step_h)
    # 20 January, when Irish time is UTC.
    day = demand.grid.day_of_year == 20
    by_hour = dict(zip(demand.grid.hour_utc[day], load.power_w[day], strict=True))
    for hour, share in shares.items():
        assert by_hour[hour] == pytest.approx(9 * share, rel=1e-9)
    closed = [power for hour, power in by_hour.items() if not 17 <= hour < 22]
    assert closed == [0.0] * len(closed)


@pytest.mark.analytic
def test_around_the_clock_is_the_same_in_every_step() -> None:
    _, load = one("power = 3\nhours_per_day = 24")
    assert load.power_w == pytest.approx(np.full(8760, 3.0), rel=1e-9)


@pytest.mark.analytic
def test_quarter_hours_add_up_to_hours() -> None:
    lines = 'power = 9\nfrom = "dusk-0:20"\nuntil = "23:10"\nduty = 0.7'
    _, hourly = one(lines)
    _, quarters = one(lines, step_h=0.25)
    assert quarters.power_w.reshape(-1, 4).mean(axis=1) == pytest.approx(hourly.power_w, abs=1e-9)


_CLOCK = st.builds("{:02d}:{:02d}".format, st.integers(3, 23), st.integers(0, 59))


@pytest.mark.conservation
@settings(max_examples=40, deadline=None)
@given(
    start=_CLOCK,
    end=_CLOCK,
    power=st.floats(0.1, 500),
    duty=st.floats(0.01, 1),
    months=st.sets(st.integers(1, 12), min_size=1),
    step_h=st.sampled_from([1.0, 0.5, 0.25]),
)
def test_any_window_is_exact(
    *, start: str, end: str, power: float, duty: float, months: set[int], step_h: float
) -> None:
    """Windows that keep clear of the hour the clocks change, counted on paper."""
    if start == end:
        return
    lines = (
        f'power = {power}\nduty = {duty}\nmonths = {sorted(months)}\nfrom = "{start}"\n'
        f'until = "{end}"'
    )
    demand, load = one(lines, step_h=step_h)
    first, last = (int(text[:2]) + int(text[3:]) / 60 for text in (start, end))
    hours = (last - first) % 24 * count(months=months)
    if last <= first:
        # The night the clocks go forward, that of Saturday 29 March 2025, is an hour short;
        # that of Saturday 25 October an hour long (2 AM summer time, in the European Union).
        hours += (10 in months) - (3 in months)
    assert demand.yearly_wh(load) == pytest.approx(power * duty * hours, rel=1e-9)


@pytest.mark.regression
def test_bursts_fall_into_the_night_and_do_not_overlap() -> None:
    demand, load = one("power = 30\nbursts = { per_night = 40, minutes = 3 }", step_h=0.25)
    june = demand.grid.day_of_year == 172
    hours = demand.grid.hour_utc[june][load.power_w[june] > 0.0]
    # At 54° N on 21 June the sun is up from about 04:10 to 21:10 UTC.
    assert hours.min() < 3.5
    assert not ((hours > 4.5) & (hours < 21.0)).any()
    assert load.power_w.max() <= 30.0 + 1e-9


@pytest.mark.regression
def test_bursts_follow_the_seed() -> None:
    lines = "power = 30\nbursts = { per_night = 4, minutes = 2 }"
    first, again, other = (one(lines, seed=seed)[1] for seed in (1, 1, 2))
    assert np.array_equal(first.power_w, again.power_w)
    assert not np.array_equal(first.power_w, other.power_w)
    assert first.power_w.sum() == pytest.approx(other.power_w.sum(), rel=1e-9)


@pytest.mark.regression
def test_two_loads_do_not_burst_together() -> None:
    text = "".join(
        f'[[load]]\nname = "{name}"\nsupply = "12 V"\npower = 30\n'
        "bursts = { per_night = 4, minutes = 2 }\n"
        for name in ("north", "south")
    )
    north, south = demand_of(parse_design(HEAD + text), HUT, TimeGrid()).loads
    assert not np.array_equal(north.power_w, south.power_w)


@pytest.mark.analytic
def test_the_sun_that_does_not_set_leaves_no_night() -> None:
    demand, load = one('power = 10\nfrom = "dusk"\nuntil = "dawn"', place=TROMSO)
    monthly = demand.monthly_wh(load)
    # Tromsø has midnight sun from late May to late July and polar night in December.
    assert monthly[5] == 0.0
    assert monthly[11] == pytest.approx(10 * 24 * 31, rel=1e-9)
    assert 0.0 < monthly[2] < monthly[11]


@pytest.mark.analytic
def test_an_evening_is_kept_through_polar_night_and_day() -> None:
    demand, load = one("power = 10\nhours_per_day = 4", place=TROMSO)
    assert demand.yearly_wh(load) == pytest.approx(10 * 4 * 365, rel=1e-9)
    for day, hour_utc in ((355, 17), (172, 16)):  # 18:00 in Norway, winter and summer
        today = demand.grid.day_of_year == day
        assert load.power_w[today][hour_utc : hour_utc + 4] == pytest.approx([10.0] * 4)


@pytest.mark.analytic
def test_bursts_in_a_night_that_does_not_come_are_left_out() -> None:
    demand, load = one("power = 10\nbursts = { per_night = 2, minutes = 6 }", place=TROMSO)
    monthly = demand.monthly_wh(load)
    assert monthly[5] == 0.0
    assert monthly[0] == pytest.approx(10 * 0.2 * 31, rel=0.05)


@pytest.mark.regression
def test_a_window_that_never_opens_here_is_told() -> None:
    kampala = Place(0.3, 32.6, 1190.0, "Africa/Kampala")
    lines = 'power = 8\nfrom = "dawn"\nuntil = "05:00"'
    with pytest.raises(InputError) as caught:
        one(lines, place=kampala)
    assert str(caught.value) == (
        'load[1].from = "dawn" until "05:00": a window that opens here on some day of its '
        "months; change from or until, or the months"
    )
    # In June in Ireland the sun rises about 05:10 summer time: never before 05:00 either, but
    # a window of half an hour more opens.
    assert one('power = 8\nfrom = "dawn"\nuntil = "05:40"')[1].running.any()


@pytest.mark.analytic
def test_a_winter_morning_is_no_window_in_summer() -> None:
    demand, load = one('power = 8\nfrom = "06:30"\nuntil = "dawn"')
    monthly = demand.monthly_wh(load)
    assert monthly[5] == monthly[6] == 0.0
    # 17 January by hand: declination -20.9°, equation of time -9.3 min (Duffie & Beckman,
    # table 1.6.1 and equation 1.5.3), so that the sun's upper edge, 0.833° below the horizon,
    # rises 3.996 h before noon at 12:46 UTC: 2.273 h after half past six.
    morning = load.power_w[demand.grid.day_of_year == 17].sum()
    assert morning == pytest.approx(8 * 2.273, abs=8 * 0.05)


@pytest.mark.analytic
def test_jobs_that_can_wait_are_a_queue() -> None:
    demand, load = one(
        "power = 90\nenergy_per_use = 115\nuses_per_week = 4\nquantity = 2\nstandby = 1\n"
        'can_wait = { days = 2, rule = "battery above 80 %" }\nfrom = "09:00"',
        step_h=0.5,
    )
    jobs = load.flexible
    assert jobs is not None
    assert jobs.job_wh == 230.0
    assert jobs.power_w == 180.0
    assert jobs.deadline_steps == 96
    assert jobs.battery_above == 0.8
    assert jobs.arrivals_wh.sum() == pytest.approx(230 * 4 / 7 * 365, rel=1e-9)
    arrive = np.flatnonzero(jobs.arrivals_wh)
    assert jobs.arrivals_wh[arrive[:-1]] == pytest.approx(np.full(arrive.size - 1, 230.0))
    assert set(demand.grid.hour_utc[arrive]) == {8.0, 9.0}  # 09:00 civil, summer and winter
    assert load.power_w == pytest.approx(np.full(load.power_w.size, 2.0), rel=1e-9)


@pytest.mark.regression
def test_sun_to_spare_has_no_threshold() -> None:
    _, load = one("power = 90\nhours_per_day = 1\ncan_wait = {}")
    assert load.flexible is not None
    assert load.flexible.battery_above is None
    assert load.flexible.deadline_steps == 72


@pytest.mark.analytic
def test_a_device_with_its_own_battery() -> None:
    _, load = one(
        "power = 10\nenergy_per_use = 15\nuses_per_week = 7\nown_battery = 12\nquantity = 2"
    )
    own = load.own_battery
    assert own is not None
    assert (own.capacity_wh, own.charge_power_w) == (24.0, 20.0)
    assert own.daily_use_wh == pytest.approx(30.0)


@pytest.mark.analytic
def test_surges_do_not_all_fall_together() -> None:
    """By the rule: all that run at once, and the one largest start on top."""
    rows = {
        "A": 'power = 100\nsurge = 700\nquantity = 2\nfrom = "10:00"\nuntil = "12:00"',
        "B": 'power = 300\nsurge = 800\nfrom = "11:00"\nuntil = "13:00"',
        "C": 'power = 1000\nsurge = 1100\nfrom = "20:00"\nuntil = "21:00"',
        "D": "power = 50\nsurge = 60\nhours_per_day = 1\ncan_wait = {}",
    }
    text = "".join(
        f'[[load]]\nname = "{name}"\nsupply = "mains"\n{lines}\n' for name, lines in rows.items()
    )
    demand = demand_of(parse_design(HEAD + text), HUT, TimeGrid())
    assert demand.loads[0].surge_w == 100 + 700
    # 11 to 12: 200 + 300 + 50 running, A's start adds 600. 20 to 21: 1000 + 50 + 100.
    assert demand.surge_w("mains") == 1150.0
    assert demand.surge_w("12 V") == 0.0


@pytest.mark.conservation
def test_classes_add_up_to_the_loads() -> None:
    text = "".join(
        f'[[load]]\nname = "{k}"\nsupply = "{supply}"\npower = {k + 1}\nhours_per_day = {k + 1}\n'
        f'importance = "{importance}"\n'
        for k, (supply, importance) in enumerate(
            [("12 V", "must"), ("12 V", "may"), ("mains", "should"), ("5 V", "may")]
        )
    )
    demand = demand_of(parse_design(HEAD + text), HUT, TimeGrid())
    assert demand.supplies() == ("5 V", "12 V", "mains")
    total = sum(demand.by_supply_and_importance(supply) for supply in demand.supplies())
    assert np.sum(total) == pytest.approx(sum(load.power_w.sum() for load in demand.loads))
    twelve = demand.by_supply_and_importance("12 V")
    assert twelve.sum(axis=1) == pytest.approx([1 * 1 * 365, 0.0, 2 * 2 * 365])
    assert demand.by_supply_and_importance("48 V").sum() == 0.0


@pytest.mark.regression
def test_a_series_must_fit_its_grid() -> None:
    _, load = one("power = 8\nhours_per_day = 4")
    with pytest.raises(ValueError, match="It: power_w does not fit the grid"):
        Demand(TimeGrid(step_h=0.5), (load,))


@pytest.mark.regression
def test_importance_is_should_when_nothing_is_said() -> None:
    assert Load(name="x").importance is None
    assert one("power = 8\nhours_per_day = 4")[1].importance == 1

"""Civil time, daylight saving, dusk and dawn."""

from __future__ import annotations

import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from sunpantry.demand.civil import CivilYear
from sunpantry.demand.demand import demand_of, window_share
from sunpantry.demand.water import water_of
from sunpantry.design import parse_design
from sunpantry.design.moments import Moment
from sunpantry.sky.place import Place
from sunpantry.sky.sun import sun_times
from sunpantry.timegrid import FloatArray, TimeGrid

# Half-hour daylight saving, a quarter-hour zone, the south, the west, and both sides of
# the date line.
PLACES = {
    "Europe/Dublin": Place(54.1, -9.2, 0.0, "Europe/Dublin"),
    "Australia/Lord_Howe": Place(-31.55, 159.08, 0.0, "Australia/Lord_Howe"),
    "Asia/Kathmandu": Place(27.7, 85.3, 1400.0, "Asia/Kathmandu"),
    "America/Denver": Place(39.7, -105.0, 1600.0, "America/Denver"),
    "Pacific/Apia": Place(-13.8, -171.8, 0.0, "Pacific/Apia"),
    "Pacific/Kiritimati": Place(1.9, -157.4, 0.0, "Pacific/Kiritimati"),
    "Pacific/Auckland": Place(-36.8, 174.8, 0.0, "Pacific/Auckland"),
}


def minute_by_minute(zone: str, *, start: dt.time, end: dt.time, grid: TimeGrid) -> FloatArray:
    """Look at the wall clock in each minute of the year; hourly shares in the grid's order."""
    first = dt.datetime(2025, 1, 1, tzinfo=dt.UTC)
    local = ZoneInfo(zone)
    open_ = np.zeros(365 * 24 * 60)
    for quarter in range(365 * 24 * 4):
        clock = (first + dt.timedelta(minutes=15 * quarter)).astimezone(local)
        begin = clock.hour * 60 + clock.minute
        for minute in range(15):
            now = begin + minute
            inside = start.hour * 60 + start.minute <= now < end.hour * 60 + end.minute
            open_[15 * quarter + minute] = inside
    hourly: FloatArray = open_.reshape(-1, 60).mean(axis=1)
    return np.roll(hourly, -(grid.start_day - 1) * 24)


@pytest.mark.independent
@pytest.mark.parametrize("zone", PLACES)
def test_a_clock_window_is_what_a_wall_clock_shows(zone: str) -> None:
    place = PLACES[zone]
    grid = TimeGrid.for_latitude(place.latitude)
    text = (
        f"[site]\nlatitude = {place.latitude}\nlongitude = {place.longitude}\n[[load]]\n"
        'name = "x"\npower = 1\nsupply = "12 V"\nfrom = "17:40"\nuntil = "21:10"\n'
    )
    (load,) = demand_of(parse_design(text), place, grid).loads
    expected = minute_by_minute(zone, start=dt.time(17, 40), end=dt.time(21, 10), grid=grid)
    # The nominal year closes on itself, and no zone here changes offset at New Year.
    assert load.power_w == pytest.approx(expected, abs=1e-9)


@pytest.mark.independent
@pytest.mark.parametrize("zone", PLACES)
def test_dawn_and_dusk_belong_to_the_civil_day(zone: str) -> None:
    """Wherever the date line runs, the wall clock shows morning at dawn, evening at dusk."""
    place = PLACES[zone]
    civil = CivilYear.of(place, TimeGrid.for_latitude(place.latitude))
    local = ZoneInfo(zone)
    first = dt.datetime(2025, 1, 1, tzinfo=dt.UTC)
    for day in range(1, 364):
        for hours, low, high in (
            (civil.dawn_h[day], 3.5, 9.5),
            (civil.dusk_h[day], 15.5, 22.5),
        ):
            clock = (first + dt.timedelta(hours=float(hours))).astimezone(local)
            assert clock.date() == dt.date(2025, 1, 1) + dt.timedelta(days=day)
            assert low < clock.hour + clock.minute / 60 < high


# FAO Irrigation and Drainage Paper 56 (Allen et al. 1998), Annex 2, Table 2.7, daylight
# hours N on the 15th of each month (day of the year 15, 46, 74, 105, 135, 166, 196, 227,
# 258, 288, 319, 349), as transcribed in two public repositories. The table counts the
# sun's centre on a level horizon without refraction. August to November are left out below:
# there the paper's own declination (its equation 24) is up to 1.3° off the almanac's.
DAYS = (15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349)
DAYLIGHT_H = {
    60: (6.4, 8.8, 11.4, 14.2, 16.8, 18.4, 17.7, 15.3, 12.5, 9.7, 7.1, 5.6),
    50: (8.3, 9.8, 11.6, 13.5, 15.2, 16.1, 15.7, 14.3, 12.3, 10.4, 8.7, 7.9),
    30: (10.3, 11.0, 11.8, 12.7, 13.5, 13.9, 13.8, 13.1, 12.2, 11.3, 10.5, 10.1),
    0: (12.0,) * 12,
    -30: (13.7, 13.0, 12.2, 11.3, 10.5, 10.1, 10.2, 10.9, 11.8, 12.7, 13.5, 13.9),
    -50: (15.7, 14.2, 12.4, 10.5, 8.8, 7.9, 8.3, 9.7, 11.7, 13.6, 15.3, 16.1),
}


@pytest.mark.published
@pytest.mark.parametrize("latitude", DAYLIGHT_H)
def test_a_window_from_dawn_to_dusk_is_as_long_as_the_day(latitude: float) -> None:
    place = Place(latitude, 20.0, 0.0, "Etc/GMT-1")
    grid = TimeGrid.for_latitude(latitude)
    civil = CivilYear.of(place, grid, sun=sun_times(place, grid, elevation_deg=0.0))
    kept = [*range(7), 11]
    days = np.array(DAYS)[kept] - 1
    daylight_h = np.array(DAYLIGHT_H[int(latitude)])[kept]
    dawn, dusk = Moment("dawn", 0.0), Moment("dusk", 0.0)
    start_h, end_h = civil.window(dawn, dusk, days)
    # 0.1 h: the fair tolerance of a table printed to 0.1 h with its own declination formula.
    assert end_h - start_h == pytest.approx(daylight_h, abs=0.1)
    start_h, end_h = civil.window(dusk, dawn, days)
    # A night runs to the next day's dawn: up to 0.05 h from one day's figure.
    assert end_h - start_h == pytest.approx(24 - daylight_h, abs=0.15)


@pytest.mark.analytic
def test_a_share_of_a_window() -> None:
    place = PLACES["Europe/Dublin"]
    civil = CivilYear.of(place, TimeGrid(step_h=0.5))
    share = window_share(civil, "22:15", "07:00")
    assert share.sum() * 0.5 == pytest.approx(8.75 * 365, rel=1e-9)
    assert share.min() == 0.0
    assert share.max() <= 1.0
    assert set(np.round(share, 9)) == {0.0, 0.5, 1.0}


@pytest.mark.analytic
def test_weights_of_spans_that_cross_the_new_year_come_round() -> None:
    civil = CivilYear.of(PLACES["Europe/Dublin"], TimeGrid(start_day=1))
    laid = civil.lay(np.array([8758.5, -1.0]), np.array([8761.25, 0.5]), np.array([2.0, 10.0]))
    assert laid[:3] == pytest.approx([2.0 + 5.0, 0.5, 0.0])
    assert laid[-3:] == pytest.approx([0.0, 1.0, 2.0 + 10.0])
    assert laid.sum() == pytest.approx(2 * 2.75 + 10 * 1.5)


TANK = """
[site]
latitude = 54.1
longitude = -9.2
[[tank]]
name = "trough"
volume = "1 m³"
full_at_start = "50 %"
litres_per_day = "20 L"
[[tank.drinker]]
name = "cows, dry"
number = 4
litres_each = 45
[[tank.drinker]]
name = "sheep"
number = 10
litres_each = [2, 2, 3, 3, 4, 4, 5, 5, 4, 3, 2, 2]
months = [6, 7]
[[pump]]
static_head = 5
pipe_length = 20
rated_flow = 10
rated_head = 8
rated_power = 60
"""


@pytest.mark.analytic
def test_water_of_a_year_is_counted_on_paper() -> None:
    place = PLACES["Europe/Dublin"]
    for step_h in (1.0, 0.25):
        grid = TimeGrid(step_h=step_h)
        (tank,) = water_of(parse_design(TANK), place, grid)
        assert (tank.name, tank.importance) == ("trough", 1)
        assert (tank.volume_l, tank.start_l) == pytest.approx((1000.0, 500.0))
        expected = 365 * (20 + 4 * 45) + 10 * (30 * 4 + 31 * 5)
        assert tank.drawn_l.sum() == pytest.approx(expected, rel=1e-9)
        # In January, in UTC: nothing before seven, the day's water by nine in the evening.
        january = grid.day_of_year == 10
        assert tank.drawn_l[january & (grid.hour_utc < 7)].sum() == 0.0
        assert tank.drawn_l[january].sum() == pytest.approx(200.0)
    assert water_of(parse_design(TANK.partition("[[tank]]")[0] + LAMP), place, TimeGrid()) == ()


LAMP = '[[load]]\nname = "x"\npower = 1\nsupply = "12 V"\nhours_per_day = 4\n'

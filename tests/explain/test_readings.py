"""What a meter should show, and where the shadow falls.

Sources: pvlib (NREL's solar position algorithm) for the height of the sun and solar noon;
Ohm's and plane geometry; the label of the panel for its short-circuit current.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from sunpantry.demand.demand import demand_of
from sunpantry.design.document import parse_design
from sunpantry.explain.asked import PlanLike
from sunpantry.explain.conditions import hour_of_month, light_by_month, utc_offset_h
from sunpantry.explain.readings import first_readings, rest_voltages
from sunpantry.explain.shadow import row_pitch_m, shadow_noons
from sunpantry.explain.water_readings import flows_by_hour, outlet_point
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.system import Bank, System
from sunpantry.simulate.setting import Setting
from sunpantry.sky.from_site import sky_of
from sunpantry.sky.place import place_at
from sunpantry.timegrid import MONTH_LENGTHS

WATER = """
schema = 1
name = "Carrowmoor: a spring pump"
winters = 4
[site]
latitude = 54.1
longitude = -9.2
[[tank]]
name = "Tank"
volume = "2000 L"
litres_per_day = "500 L"
[[pump]]
name = "Pump"
supply = "panel"
static_head = "20 m"
pipe_length = "60 m"
rated_flow = "12 L/min"
rated_head = "30 m"
rated_power = "160 W"
"""


@pytest.mark.conservation
def test_ranges_are_ordered_and_within_what_parts_can_do(hut: PlanLike) -> None:
    """Low below high; never more than the label's short-circuit current and tolerance."""
    found = first_readings(hut.setting, hut.system, charging_v=13.2)
    assert [one.month for one in found.months] == [11, 2, 5, 8]
    panel = hut.system.arrays[0].panel
    for month in found.months:
        assert len(month.hours) >= 6
        for hour in month.hours:
            assert 0.0 <= hour.cloudy_a.low <= hour.cloudy_a.high
            assert hour.cloudy_a.low <= hour.clear_a.low <= hour.clear_a.high
            assert hour.clear_a.high < 1.35 * panel.isc_a
            assert 0.8 * panel.voc_v < hour.open_v.low <= hour.open_v.high < 1.15 * panel.voc_v
    for point in (*found.points, *found.loads):
        assert 0.0 < point.expected.low < point.expected.high


@pytest.mark.conservation
def test_most_hours_of_the_simulated_sky_fall_into_the_ranges(hut: PlanLike) -> None:
    """Hours between the two skies' outer ends: at least eight of ten, at midday in June."""
    found = first_readings(hut.setting, hut.system, charging_v=13.2, month=5)
    (month,) = found.months
    (noon,) = (hour for hour in month.hours if hour.clock_h == 13)
    light, _ = hour_of_month(hut.setting, hut.system.arrays[0], month=5, clock_h=13)
    # With a PWM controller the current follows the light, nearly in proportion.
    amps = light / 1000.0 * hut.system.arrays[0].panel.isc_a * 0.97
    inside = (amps >= noon.cloudy_a.low) & (amps <= noon.clear_a.high)
    assert inside.mean() >= 0.8


@pytest.mark.analytic
def test_an_mppt_controller_hands_on_power_at_the_battery(
    hut: PlanLike, with_system: Callable[[System], PlanLike]
) -> None:
    """Into the battery: power times efficiency over battery voltage, at most its rating."""
    mppt = next(
        one for one in shipped_catalogue().controllers if one.kind == "mppt" and one.rated_a == 10.0
    )
    array = replace(hut.system.arrays[0], parallel=3)
    told = with_system(replace(hut.system, controller=mppt, arrays=(array,)))
    found = first_readings(told.setting, told.system, charging_v=13.0, month=5)
    top = max(hour.clear_a.high for hour in found.months[0].hours)
    assert top == pytest.approx(1.08 * mppt.rated_a)


@pytest.mark.published
@pytest.mark.parametrize("hours", [20.0, 100.0])
def test_rest_voltages_of_a_flooded_battery(hours: float) -> None:
    """Many battery handbooks print 12.65 V full and about 11.9 V empty at rest (from memory).

    That is for the charge of 20 hours, whichever rate the label tells.
    """
    listed = next(one for one in shipped_catalogue().batteries if one.chemistry == "flooded")
    battery = listed.model_copy(update={"capacity_hours": hours, "other_capacities_ah": {}})
    volts = [one.volts * 12.0 / battery.nominal_v for one in rest_voltages(Bank(battery, 1, 1))]
    assert volts[0] == pytest.approx(12.65, abs=0.05)
    assert volts[-1] == pytest.approx(11.9, abs=0.05)
    assert volts == sorted(volts, reverse=True)


@pytest.mark.independent
@pytest.mark.parametrize(
    ("latitude", "longitude"), [(54.1, -9.2), (-33.9, 18.4), (40.0, 116.4), (64.1, -21.9)]
)
def test_the_shadow_points_along_the_meridian(latitude: float, longitude: float) -> None:
    """At the stated clock time the sun stands due south or north by NREL's algorithm."""
    import pandas as pd
    from pvlib import solarposition

    place = place_at(latitude, longitude)
    noons = shadow_noons(place)
    assert len(noons) == 36
    for noon in noons:
        if not noon.points:
            continue
        when = pd.Timestamp(2025, noon.month, noon.day, tz="UTC") + pd.Timedelta(
            hours=noon.clock_h - utc_offset_h(place.timezone, noon.month - 1, day=noon.day)
        )
        sun = solarposition.get_solarposition(pd.DatetimeIndex([when]), latitude, longitude)
        azimuth = float(sun["azimuth"].iloc[0])
        away = 0.0 if noon.points == "south" else 180.0
        assert abs((azimuth - away + 180.0) % 360.0 - 180.0) < 0.6
        # Spencer's series follows the calendar of 1971, which has since slipped by a day and a
        # quarter; the declination changes by up to 0.4° a day.
        assert float(sun["elevation"].iloc[0]) == pytest.approx(noon.elevation_deg, abs=0.6)


@pytest.mark.regression
def test_no_shadow_where_the_sun_stands_overhead_or_not_at_all() -> None:
    """Some days in the tropics and beyond the polar circle have no readable shadow."""
    tropic = [one.points for one in shadow_noons(place_at(5.0, 10.0))]
    assert "" in tropic
    assert {"north", "south"} <= set(tropic)
    assert "" in [one.points for one in shadow_noons(place_at(70.0, 25.0))]


@pytest.mark.analytic
def test_rows_apart() -> None:
    """By hand: 54° north, noon height 12.56°, a panel of 1 m at 65°."""
    height = math.radians(90.0 - 54.0 - 23.44)
    want = math.cos(math.radians(65.0)) + math.sin(math.radians(65.0)) / math.tan(height)
    assert row_pitch_m(latitude=54.0, tilt_deg=65.0, length_m=1.0) == pytest.approx(want)
    assert row_pitch_m(latitude=70.0, tilt_deg=65.0, length_m=1.0) is None


@pytest.mark.conservation
def test_light_of_months_adds_up_to_the_year(hut: PlanLike) -> None:
    """Weighted by their days, the months give the year's mean."""
    array = hut.system.arrays[0]
    light = hut.setting.plane(array.tilt_deg, array.azimuth_deg)
    months = light_by_month(hut.setting, array)
    year = float(np.dot(months, MONTH_LENGTHS))
    assert year == pytest.approx(float(light.poa_w_m2.mean()) * 8.76, rel=1e-9)


@pytest.mark.analytic
def test_a_panel_with_a_socket(hut: PlanLike, with_system: Callable[[System], PlanLike]) -> None:
    """A travel panel gives 5 V at its socket, and no more amps than its regulator passes."""
    parts = shipped_catalogue()
    panel = next(one for one in parts.panels if one.regulated_max_a is not None)
    store = next(one for one in parts.batteries if one.chemistry == "power_bank")
    told = with_system(
        System(
            5.0,
            (replace(hut.system.arrays[0], panel=panel),),
            Bank(store, 1, 1),
            None,
        )
    )
    found = first_readings(told.setting, told.system, charging_v=3.9, month=5)
    assert found.charging_v == panel.regulated_output_v == 5.0
    (socket,) = found.points
    assert socket.expected.low == pytest.approx(4.75)
    assert socket.expected.high == pytest.approx(5.25)
    assert panel.regulated_max_a is not None
    watts = panel.power_w * panel.regulated_efficiency_pct / 100.0
    most = max(hour.clear_a.high for hour in found.months[0].hours)
    assert 0.0 < most <= 1.08 * min(panel.regulated_max_a, 1.2 * watts / 5.0)


@pytest.mark.independent
@pytest.mark.parametrize(("zone", "ahead_h"), [("Asia/Kolkata", 5.5), ("Asia/Kathmandu", 5.75)])
def test_hours_of_clocks_half_an_hour_apart(hut: PlanLike, zone: str, ahead_h: float) -> None:
    """Mean light of a clock hour: shared out by hand among the two steps it lies in."""
    setting = replace(
        hut.setting,
        weather=replace(
            hut.setting.weather, place=replace(hut.setting.weather.place, timezone=zone)
        ),
    )
    array = hut.system.arrays[0]
    light, _ = hour_of_month(setting, array, month=5, clock_h=17)
    plane = setting.plane(array.tilt_deg, array.azimuth_deg)
    june = plane.grid.month == 5
    by_utc = {
        hour: plane.poa_w_m2[:, june & (plane.grid.hour_utc == hour)].mean() for hour in (11, 12)
    }
    part = (17.0 - ahead_h) % 1.0
    assert light.mean() == pytest.approx((1.0 - part) * by_utc[11] + part * by_utc[12])


@pytest.mark.analytic
def test_what_a_bucket_shows(hut: PlanLike) -> None:
    """Rises with the light, never above the pump at full power; nothing below its threshold."""
    water = parse_design(WATER)
    sky = sky_of(water.site, years=water.winters, seed=1)
    demand = demand_of(water, sky.place, sky.weather.grid, library=())
    (job,) = demand.pumps
    bore = next(one.bore_mm for one in job.offered if one.flow_l_min > 0.0)
    array = replace(hut.system.arrays[0], parallel=3, tilt_deg=(30.0,) * 12)
    setting = Setting(sky.climate, sky.weather, demand)
    hours = flows_by_hour(setting, job, array, bore_mm=bore, month=5)
    most = job.table(bore).full_flow_l_min
    assert hours
    for hour in hours:
        assert 0.0 <= hour.cloudy.low <= hour.clear.high <= most * (1.0 + 1e-9)
        assert hour.clear.high > 0.0
    assert max(one.clear.high for one in hours) > 0.5 * most
    point = outlet_point("Pump", flow_l_min=10.0, is_direct=True)
    assert (point.expected.low, point.expected.high) == pytest.approx((7.5, 11.0))
    assert point.unit == "L/min"

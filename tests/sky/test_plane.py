"""Light on a plane: geometry, transposition, glass, dirt and snow."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import ArrayLike
from pvlib import irradiance

from sunpantry.errors import InputError
from sunpantry.sky.climate import climate_of
from sunpantry.sky.generator import weather_years
from sunpantry.sky.horizon import Horizon
from sunpantry.sky.losses import NO_LOSSES, MonthlyLosses, default_losses
from sunpantry.sky.place import Place, place_at
from sunpantry.sky.plane import cell_temperature_c, light_on_plane
from sunpantry.sky.sun import sun_year
from sunpantry.sky.weather import Weather
from sunpantry.timegrid import FloatArray, TimeGrid

CARROWMOOR = place_at(54.1, -9.2, altitude_m=40, name="Carrowmoor")
MEAN_DAYS = np.array([17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344])


@pytest.fixture(scope="module")
def weather() -> Weather:
    return weather_years(climate_of(CARROWMOOR), years=3)


def only_beam(place: Place) -> Weather:
    """A sky without air: all beam, of the strength above the atmosphere."""
    grid = TimeGrid.for_latitude(place.latitude, step_h=1 / 12)
    sun = sun_year(place, grid)
    dni = sun.extraterrestrial_w_m2[None, :] * (sun.cos_zenith > 0)
    nothing = np.zeros_like(dni)
    return Weather(place, grid, dni * sun.cos_zenith, dni, nothing, nothing, "no air")


def noon_declination(place: Place) -> np.ndarray:
    """Declination at noon of each day, from where the placed sun stands [rad], 1 January first."""
    sun = sun_year(place, TimeGrid(start_day=1))
    noon = slice(12, None, 24)
    elevation, azimuth = (
        np.radians(array[noon, 0]) for array in (sun.elevation_deg, sun.azimuth_deg)
    )
    phi = np.radians(place.latitude)
    return np.asarray(
        np.arcsin(
            np.sin(phi) * np.sin(elevation) + np.cos(phi) * np.cos(elevation) * np.cos(azimuth)
        )
    )


# Duffie & Beckman (2013), Example 2.19.1: Madison, 43°, slope 60° south [MJ/m²/day].
MADISON_H0 = (13.37, 18.81, 26.03, 33.78, 39.42, 41.78, 40.56, 35.92, 28.80, 20.90, 14.62, 11.91)
MADISON_H = (6.44, 9.89, 12.86, 16.05, 21.36, 23.04, 22.58, 20.33, 14.59, 10.48, 6.37, 5.74)
MADISON_RB = (2.79, 2.04, 1.42, 0.96, 0.71, 0.62, 0.66, 0.84, 1.21, 1.81, 2.56, 3.06)
MADISON_HT = (13.7, 17.2, 15.8, 14.7, 16.6, 16.5, 16.8, 17.5, 15.6, 15.2, 11.4, 12.7)


@pytest.mark.published
def test_monthly_tilted_method_of_duffie_and_beckman() -> None:
    """The whole example, with the beam ratio taken from our own plane under a beam-only sky."""
    place = place_at(43.0, 0.0, altitude_m=270)
    airless = only_beam(place)
    tilted = light_on_plane(
        airless, place, tilt_deg=60, azimuth_deg=180, albedo=0, losses=NO_LOSSES, glass=False
    )
    on_slope, on_flat = (
        np.bincount(airless.grid.day_of_year, array[0])[1:]
        for array in (tilted.poa_w_m2, airless.ghi_w_m2)
    )
    # The beam ratio depends on the declination alone: it is read at the example's (Cooper's).
    declination = noon_declination(place)
    cooper = np.radians(23.45 * np.sin(2 * np.pi * (284 + MEAN_DAYS) / 365))
    rising, falling = np.arange(172), np.arange(172, 354)[::-1]
    spring, autumn = (
        np.interp(cooper, declination[half], (on_slope / on_flat)[half])
        for half in (rising, falling)
    )
    ratio = np.where(MEAN_DAYS <= 172, spring, autumn)
    np.testing.assert_allclose(ratio, MADISON_RB, rtol=0.006)

    k = np.array(MADISON_H) / np.array(MADISON_H0)
    low_sun = np.isin(np.arange(12), (0, 1, 9, 10, 11))  # sunset hour angle up to 81.4°
    diffuse = np.where(
        low_sun,
        1.391 - 3.560 * k + 4.189 * k**2 - 2.137 * k**3,
        1.311 - 3.022 * k + 3.427 * k**2 - 1.821 * k**3,
    )
    ground = np.array([0.7, 0.7, 0.4, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.2, 0.4])
    tilted_mj = np.array(MADISON_H) * ((1 - diffuse) * ratio + diffuse * 0.75 + ground * 0.25)
    np.testing.assert_allclose(tilted_mj, MADISON_HT, atol=0.1)


@pytest.mark.independent
@pytest.mark.parametrize(("tilt", "azimuth"), [(0, 180), (35, 180), (60, 135), (90, 200)])
def test_transposition_is_that_of_pvlib_step_by_step(
    weather: Weather, tilt: float, azimuth: float
) -> None:
    """Quarter hours, where a step's sun hardly moves, against pvlib's own total irradiance."""
    quarter = weather_years(climate_of(CARROWMOOR), years=1, step_h=0.25)
    light = light_on_plane(
        quarter, CARROWMOOR, tilt_deg=tilt, azimuth_deg=azimuth, losses=NO_LOSSES, glass=False
    )
    sun = sun_year(CARROWMOOR, quarter.grid)
    zenith = sun.zenith_up_deg
    high = sun.cos_zenith > np.cos(np.radians(80.0))
    total = irradiance.get_total_irradiance(
        tilt, azimuth, zenith, sun.azimuth_deg.mean(1), quarter.dni_w_m2[0], quarter.ghi_w_m2[0],
        quarter.dhi_w_m2[0], dni_extra=sun.extraterrestrial_w_m2, albedo=0.2, model="perez",
    )["poa_global"]  # fmt: skip
    got, want = light.poa_w_m2[0][high], np.asarray(total)[high]
    # Mean of cosines within a quarter hour against the cosine of the mean.
    assert np.abs(got - want).max() < 8.0
    assert got.sum() == pytest.approx(want.sum(), rel=2e-3)


@pytest.mark.analytic
def test_flat_plane_gets_what_falls_on_the_flat(weather: Weather) -> None:
    light = light_on_plane(
        weather, CARROWMOOR, tilt_deg=0, azimuth_deg=180, losses=NO_LOSSES, glass=False
    )
    sun = sun_year(CARROWMOOR, weather.grid)
    high = sun.cos_zenith > np.cos(np.radians(80.0))
    np.testing.assert_allclose(light.poa_w_m2[:, high], weather.ghi_w_m2[:, high], atol=2.0)


@pytest.mark.conservation
def test_each_hindrance_only_takes_light_away(weather: Weather) -> None:
    def poa(**more: object) -> np.ndarray:
        options = {"losses": NO_LOSSES, "glass": False, "tilt_deg": 50, "azimuth_deg": 170}
        light = light_on_plane(weather, CARROWMOOR, **{**options, **more})  # type: ignore[arg-type]
        return light.poa_w_m2

    bare = poa()
    assert np.all(bare >= 0)
    hill = Horizon.of([(90, 10), (270, 10)])
    for hindered in (poa(glass=True), poa(losses=MonthlyLosses()), poa(horizon=hill)):
        assert np.all(hindered <= bare + 1e-9)
        assert hindered.sum() < 0.999 * bare.sum()
    assert poa(albedo=0.6).sum() > bare.sum()


@pytest.mark.analytic
def test_ground_light_of_an_upright_plane_is_half_of_the_albedo(weather: Weather) -> None:
    dark, bright = (
        light_on_plane(
            weather, CARROWMOOR, tilt_deg=90, azimuth_deg=180, albedo=albedo, losses=NO_LOSSES,
            glass=False,
        ).poa_w_m2
        for albedo in (0.0, 0.6)
    )  # fmt: skip
    np.testing.assert_allclose(bright - dark, 0.3 * weather.ghi_w_m2, atol=1e-9)


@pytest.mark.analytic
def test_two_position_tilt_is_each_position_in_its_months(weather: Weather) -> None:
    winter, summer = (
        light_on_plane(weather, CARROWMOOR, tilt_deg=tilt, azimuth_deg=180).poa_w_m2
        for tilt in (70, 30)
    )
    tilts = [70.0] * 3 + [30.0] * 6 + [70.0] * 3
    both = light_on_plane(weather, CARROWMOOR, tilt_deg=tilts, azimuth_deg=180).poa_w_m2
    in_summer = (weather.grid.month >= 3) & (weather.grid.month <= 8)
    np.testing.assert_allclose(both, np.where(in_summer, summer, winter), atol=1e-9)


@pytest.mark.analytic
def test_south_of_the_equator_a_panel_faces_north() -> None:
    place = place_at(-36.8, 174.8, altitude_m=20)
    weather = weather_years(climate_of(place), years=2)
    north, south = (
        light_on_plane(weather, place, tilt_deg=40, azimuth_deg=azimuth).poa_w_m2.mean()
        for azimuth in (0, 180)
    )
    assert north > 1.3 * south


@pytest.mark.published
def test_cell_temperature_at_the_conditions_of_the_label() -> None:
    """IEC 61215: NOCT is the cell's temperature at 800 W/m² and 20 °C."""
    got = cell_temperature_c(np.array([0.0, 800.0, 1000.0]), np.array([20.0] * 3), noct_c=45.0)
    np.testing.assert_allclose(got, [20.0, 45.0, 51.25])


@pytest.mark.regression
def test_snow_lies_where_it_freezes_and_slides_off_steep_panels() -> None:
    cold = np.linspace(-10, 12, 12)
    shallow, steep = (default_losses(cold, tilt_deg=tilt) for tilt in (20, 75))
    assert shallow.snow[0] == pytest.approx(0.20)
    assert steep.snow[0] == pytest.approx(0.05)
    assert shallow.snow[-1] == 0.0
    assert np.all(np.diff(shallow.snow) <= 0)
    assert default_losses(np.full(12, 10.0), tilt_deg=30).passed == pytest.approx(0.98)


@pytest.mark.regression
def test_impossible_planes_are_refused(weather: Weather) -> None:
    with pytest.raises(InputError, match="tilt"):
        light_on_plane(weather, CARROWMOOR, tilt_deg=95, azimuth_deg=180)
    with pytest.raises(InputError, match="twelve"):
        light_on_plane(weather, CARROWMOOR, tilt_deg=[30, 40], azimuth_deg=180)
    with pytest.raises(InputError, match="albedo"):
        light_on_plane(weather, CARROWMOOR, tilt_deg=30, azimuth_deg=180, albedo=1.5)


@pytest.mark.regression
def test_a_skyline_of_another_kind_is_heard_too(weather: Weather) -> None:
    class Wall:
        def beam_factor(
            self, sun_azimuth_deg: ArrayLike, sun_elevation_deg: ArrayLike, month: ArrayLike
        ) -> FloatArray:
            azimuth, elevation, _ = np.broadcast_arrays(sun_azimuth_deg, sun_elevation_deg, month)
            return np.where(azimuth + elevation > -1e9, 0.0, 1.0)

        def sky_view(self, tilt_deg: float, azimuth_deg: float, month: int) -> float:
            return 0.0 * (tilt_deg + azimuth_deg + month)

    walled = light_on_plane(
        weather, CARROWMOOR, tilt_deg=60, azimuth_deg=180, albedo=0.0,
        horizon=Wall(),
    )  # fmt: skip
    assert np.all(walled.poa_w_m2 == 0.0)


@pytest.mark.analytic
def test_light_follows_the_weather_it_is_given(weather: Weather) -> None:
    half = replace(
        weather,
        ghi_w_m2=0.0 * weather.ghi_w_m2,
        dni_w_m2=0.0 * weather.dni_w_m2,
        dhi_w_m2=0.0 * weather.dhi_w_m2,
    )
    night = light_on_plane(half, CARROWMOOR, tilt_deg=40, azimuth_deg=180)
    assert night.poa_w_m2.max() == 0.0
    np.testing.assert_array_equal(night.cell_temperature_c(), weather.air_temperature_c)

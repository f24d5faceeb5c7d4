"""Sun position, extraterrestrial radiation, day length, against published tables."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from numpy.typing import NDArray
from pvlib import irradiance, solarposition

from sunpantry.sky.clearness import daily_on_flat_kwh_m2
from sunpantry.sky.climate import monthly_extraterrestrial
from sunpantry.sky.place import place_at
from sunpantry.sky.sun import half_day_h, sun_times, sun_year
from sunpantry.timegrid import FloatArray, TimeGrid

MJ_PER_KWH = 3.6
# FAO-56 takes 0.0820 MJ/m²/min (1366.7 W/m²) for the solar constant, we take 1361 W/m².
FAO_CONSTANT = 1366.7 / 1361.0
# The 15th of each month, for which FAO-56 prints its tables.
FAO_DAYS = np.array([15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349])
# FAO-56 (1998), Annex 2, Table 2.6, Ra [MJ/m²/day].
FAO_RA = {
    60: (3.3, 8.3, 16.6, 27.5, 36.5, 41.2, 39.2, 31.3, 20.6, 10.9, 4.4, 2.2),
    50: (8.9, 14.4, 22.2, 31.5, 38.5, 41.7, 40.2, 34.4, 25.7, 16.9, 10.2, 7.5),
    40: (15.0, 20.4, 27.2, 34.7, 39.7, 41.9, 40.8, 36.7, 30.0, 22.5, 16.3, 13.6),
    30: (21.1, 25.8, 31.4, 36.8, 40.0, 41.2, 40.6, 38.1, 33.4, 27.6, 22.2, 19.8),
    20: (26.8, 30.6, 34.7, 37.9, 39.3, 39.5, 39.3, 38.3, 35.8, 31.8, 27.7, 25.6),
    10: (31.8, 34.5, 36.9, 37.9, 37.6, 37.0, 37.1, 37.5, 37.1, 35.1, 32.4, 31.0),
    0: (36.2, 37.5, 37.9, 36.8, 34.8, 33.4, 33.9, 35.7, 37.2, 37.4, 36.3, 35.6),
    -10: (39.5, 39.3, 37.8, 34.6, 31.1, 29.1, 29.8, 32.8, 36.3, 38.5, 39.3, 39.4),
    -20: (41.9, 40.0, 36.6, 31.3, 26.6, 24.1, 25.0, 28.9, 34.2, 38.6, 41.2, 42.1),
    -30: (43.1, 39.6, 34.3, 27.2, 21.4, 18.5, 19.6, 24.3, 31.1, 37.5, 42.0, 43.9),
    -40: (43.4, 38.1, 30.9, 22.3, 15.8, 12.8, 13.9, 19.1, 27.1, 35.3, 41.8, 44.6),
    -50: (42.7, 35.6, 26.6, 16.7, 10.0, 7.1, 8.2, 13.4, 22.2, 32.1, 40.6, 44.5),
}
# FAO-56 (1998), Annex 2, Table 2.7, N [h], sunrise of the sun's centre without refraction.
FAO_N = {
    60: (6.4, 8.8, 11.4, 14.2, 16.8, 18.4, 17.7, 15.3, 12.5, 9.7, 7.1, 5.6),
    50: (8.3, 9.8, 11.6, 13.5, 15.2, 16.1, 15.7, 14.3, 12.3, 10.4, 8.7, 7.9),
    40: (9.5, 10.5, 11.7, 13.1, 14.2, 14.8, 14.6, 13.6, 12.2, 10.9, 9.7, 9.2),
    30: (10.3, 11.0, 11.8, 12.7, 13.5, 13.9, 13.8, 13.1, 12.2, 11.3, 10.5, 10.1),
    10: (11.5, 11.7, 11.9, 12.2, 12.5, 12.6, 12.5, 12.3, 12.1, 11.8, 11.5, 11.4),
    0: (12.0,) * 12,
    -30: (13.7, 13.0, 12.2, 11.3, 10.5, 10.1, 10.2, 10.9, 11.8, 12.7, 13.5, 13.9),
    -50: (15.7, 14.2, 12.4, 10.5, 8.8, 7.9, 8.3, 9.7, 11.7, 13.6, 15.3, 16.1),
}
# Duffie & Beckman (2013), Table 1.6.1, the mean day of each month.
MEAN_DAYS = np.array([17, 47, 75, 105, 135, 162, 198, 228, 258, 288, 318, 344])
# Duffie & Beckman (2013), Table 1.10.1, monthly mean H0 [MJ/m²/day].
DUFFIE_BECKMAN_H0 = {
    45: (12.2, 17.4, 25.1, 33.2, 39.2, 41.7, 40.4, 35.3, 27.8, 19.6, 13.3, 10.7),
    30: (21.3, 25.7, 31.5, 36.8, 40.0, 41.1, 40.4, 37.8, 33.2, 27.4, 22.2, 19.9),
    0: (36.2, 37.4, 37.8, 36.7, 34.8, 33.5, 34.0, 35.7, 37.2, 37.3, 36.3, 35.7),
    -45: (42.8, 37.1, 28.6, 19.6, 12.9, 10.0, 11.3, 16.6, 24.9, 34.0, 41.2, 44.5),
}


def fao_declination(day: NDArray[np.int64] | float) -> FloatArray:
    """FAO-56 eq. 24: one sine, up to 1.3° off the sun in October [rad]."""
    return np.asarray(0.409 * np.sin(2 * np.pi * np.asarray(day) / 365 - 1.39))


def fao_ra(latitude: float, day: NDArray[np.int64] | float) -> FloatArray:
    """Our integral over the day, fed with FAO-56's sun (eq. 23, 24) and constant [MJ/m²/day]."""
    distance = np.asarray(1 + 0.033 * np.cos(2 * np.pi * np.asarray(day) / 365))
    kwh = daily_on_flat_kwh_m2(
        latitude, declination_rad=fao_declination(day), eccentricity=distance
    )
    return np.asarray(FAO_CONSTANT * MJ_PER_KWH * kwh)


@pytest.mark.published
def test_solar_position_algorithm_example() -> None:
    """Reda & Andreas, NREL/TP-560-34302 (2008), appendix; pvlib is what places our sun."""
    when = pd.DatetimeIndex(["2003-10-17T12:30:30-07:00"])
    sun = solarposition.get_solarposition(
        when, 39.742476, -105.1786, altitude=1830.14, pressure=82000, temperature=11,
        method="nrel_numpy", delta_t=67, atmos_refract=0.5667,
    )  # fmt: skip
    assert sun["apparent_zenith"].iloc[0] == pytest.approx(50.111622, abs=1e-3)
    assert sun["azimuth"].iloc[0] == pytest.approx(194.340241, abs=1e-3)


@pytest.mark.published
@pytest.mark.parametrize("latitude", sorted(FAO_RA))
def test_extraterrestrial_radiation_is_the_table_of_fao_56(latitude: int) -> None:
    # FAO's formula reproduces its printed rows to 0.11 up to 50° and to 0.16 at 60°.
    atol = 0.12 if abs(latitude) <= 50 else 0.17
    np.testing.assert_allclose(fao_ra(latitude, FAO_DAYS), FAO_RA[latitude], atol=atol)


@pytest.mark.published
def test_extraterrestrial_radiation_of_fao_56_example_8() -> None:
    assert float(fao_ra(-20.0, 246)) == pytest.approx(32.2, abs=0.05)


@pytest.mark.published
@pytest.mark.parametrize("latitude", sorted(DUFFIE_BECKMAN_H0))
def test_monthly_extraterrestrial_radiation_of_duffie_and_beckman(latitude: int) -> None:
    """Our integral over the day, fed with their sun (Cooper) and constant, on their mean days."""
    turn = 2 * np.pi * MEAN_DAYS / 365
    got = daily_on_flat_kwh_m2(
        latitude,
        declination_rad=np.radians(23.45) * np.sin(2 * np.pi * 284 / 365 + turn),
        eccentricity=1 + 0.033 * np.cos(turn),
    )
    want = np.array(DUFFIE_BECKMAN_H0[latitude])
    # Their own formula meets the printed rows to 0.27 MJ up to 45°: 0.3 MJ or 1.5 %.
    assert np.all(np.abs(1367 / 1361 * MJ_PER_KWH * got - want) <= np.maximum(0.3, 0.015 * want))


@pytest.mark.independent
@pytest.mark.parametrize("latitude", [-45.0, 0.0, 52.0, 65.0])
def test_formula_and_placed_sun_agree_on_what_arrives_above_the_air(latitude: float) -> None:
    place = place_at(latitude, 0.0, altitude_m=0, timezone="UTC")
    grid = TimeGrid.for_latitude(latitude)
    sun = sun_year(place, grid)
    monthly = np.bincount(grid.month, sun.extraterrestrial_w_m2 * sun.cos_zenith) / 1000.0
    lengths = np.bincount(grid.month) / grid.steps_per_day
    want = monthly_extraterrestrial(latitude)
    rtol = 0.008 if abs(latitude) < 60 else 0.04
    np.testing.assert_allclose(monthly / lengths, want, rtol=rtol, atol=0.01)


@pytest.mark.published
@pytest.mark.parametrize("latitude", sorted(FAO_N))
def test_day_length_is_the_table_of_fao_56(latitude: int) -> None:
    got = 2 * half_day_h(latitude, declination_rad=fao_declination(FAO_DAYS), elevation_deg=0.0)
    np.testing.assert_allclose(got, FAO_N[latitude], atol=0.06)


@pytest.mark.independent
@pytest.mark.parametrize(("latitude", "longitude"), [(53.9, -9.3), (-36.8, 174.8), (1.3, 103.8)])
def test_sunrise_and_sunset_agree_with_the_full_algorithm(
    latitude: float, longitude: float
) -> None:
    place = place_at(latitude, longitude, altitude_m=0)
    grid = TimeGrid(start_day=1)
    times = sun_times(place, grid)
    midnights = pd.date_range("2025-01-01", periods=365, tz="UTC")
    full = solarposition.sun_rise_set_transit_spa(midnights, latitude, longitude)
    for got, name in ((times.rise_utc_h, "sunrise"), (times.set_utc_h, "sunset")):
        want = (full[name] - midnights).dt.total_seconds().to_numpy() / 3600.0
        apart = (got - want + 12.0) % 24.0 - 12.0
        assert np.abs(apart).max() < 0.07  # four minutes, as the neighbouring day may be meant


@pytest.mark.analytic
def test_polar_day_and_night_are_told() -> None:
    place = place_at(78.2, 15.6, altitude_m=0)
    times = sun_times(place, TimeGrid(start_day=1))
    midwinter, midsummer = 354, 171
    assert times.polar_night[midwinter]
    assert times.day_length_h[midwinter] == 0.0
    assert times.polar_day[midsummer]
    assert times.day_length_h[midsummer] == 24.0
    assert np.isnan(times.rise_utc_h[[midwinter, midsummer]]).all()
    assert not (times.polar_day & times.polar_night).any()


@pytest.mark.convergence
def test_mean_cosine_settles_with_the_step() -> None:
    place = place_at(54.1, -9.2, altitude_m=0)
    sums = [
        float(sun_year(place, TimeGrid(step_h=step)).cos_zenith.sum() * step)
        for step in (1.0, 0.25, 1 / 12)
    ]
    assert sums[0] == pytest.approx(sums[2], rel=2e-4)
    assert abs(sums[1] - sums[2]) <= abs(sums[0] - sums[2]) + 1e-6


@pytest.mark.published
def test_diffuse_share_is_that_of_erbs() -> None:
    """Erbs, Klein & Duffie (1982), table of the correlation; pvlib's continuous form."""
    k = np.array([0.1, 0.22, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8])
    want = np.array([0.991, 0.980, 0.949, 0.840, 0.659, 0.440, 0.244, 0.165])
    extra = irradiance.get_extra_radiation(172)
    share = irradiance.erbs(k * extra, np.zeros(8), 172)["dhi"] / (k * extra)
    np.testing.assert_allclose(share, want, atol=1e-3)
    smooth = irradiance.erbs_driesse(k * extra, np.zeros(8), dni_extra=extra)["dhi"] / (k * extra)
    # Driesse et al. (2024) join the pieces smoothly: within 0.02 of the original.
    np.testing.assert_allclose(smooth, want, atol=0.02)

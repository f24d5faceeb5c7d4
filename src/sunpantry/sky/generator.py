"""Years of invented weather with the statistics of a climate, the same for the same seed.

The days: a *score* runs through all the days of all the years without a break, the sum of
a quick and a slow autoregressive part; its probability picks the day's clearness from the
month's quantile function, blended between mid-months. The temperature anomaly runs beside
it, its innovations tied to those of the score. The hours are :mod:`sunpantry.sky.hourly`.

Every random number is a counter-based (Philox) draw at a fixed place in its stream, so the
first years are the same however many are made.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sunpantry.errors import InputError
from sunpantry.phrases import phrase
from sunpantry.sky.cache import cached_arrays, content_key
from sunpantry.sky.clearness import (
    LEVELS,
    MID_MONTH_DAY,
    clear_day_kt,
    extraterrestrial_kwh_m2_day,
    mean_kt,
)
from sunpantry.sky.climate import MONTH_OF_DAY, SPENCER_DAYS, Climate
from sunpantry.sky.hourly import (
    air_temperature_through_day,
    diffuse_w_m2,
    diurnal_range_k,
    light_through_day,
)
from sunpantry.sky.sun import SunYear, sun_times, sun_year
from sunpantry.sky.weather import Weather
from sunpantry.timegrid import DAYS_PER_YEAR, FloatArray, IntArray, TimeGrid

MOST_YEARS = 500
_FAST, _SLOW, _AIR, _HOURS = range(4)
# Innovations tied by c give anomalies correlated by about 0.75 c (simulated).
_INNOVATION_LINK, _STRONGEST_LINK = 0.75, 0.7
# Days that flow into each other from noon to noon keep this share of their spread.
_NOON_TO_NOON = 0.945
# A whole day is never brighter than this share of the clear-sky day.
BRIGHTEST_DAY = 1.04
# Below about 6° of elevation the clear-sky formula falls to nothing; this clearness does not.
LOW_SUN_CLEAR_KT = 0.45


@dataclass(frozen=True, eq=False)
class Days:
    """Daily weather in local solar days, one more at either end of the years.

    Parameters
    ----------
    day_of_year : ndarray of int, shape (days,)
        1…365.
    ghi_kwh_m2 : ndarray, shape (days,)
        Irradiation on the flat [kWh/m²].
    kt : ndarray, shape (days,)
        Clearness index [-].
    temperature_c : ndarray, shape (days,)
        Mean air temperature [°C].
    diurnal_range_k : ndarray, shape (days,)
        Highest less lowest temperature [K].
    """

    day_of_year: IntArray
    ghi_kwh_m2: FloatArray
    kt: FloatArray
    temperature_c: FloatArray
    diurnal_range_k: FloatArray


def weather_years(
    climate: Climate, *, years: int = 30, seed: int = 1, step_h: float = 1.0
) -> Weather:
    """Make years of weather.

    Parameters
    ----------
    climate : Climate
        What to draw from.
    years : int
        How many, 1…500.
    seed : int
        Non-negative; the same seed gives the same years.
    step_h : float
        Step [h]; divides a day, e.g. 1, 0.25, 1/12.

    Returns
    -------
    Weather
        Arrays of shape (years, steps).

    Raises
    ------
    InputError
        If the number of years or the seed is out of range.
    """
    if not 1 <= years <= MOST_YEARS:
        raise InputError.one("winters", years, f"from 1 to {MOST_YEARS}", "30 is usual")
    if not 0 <= seed < 2**63:
        raise InputError.one("seed", seed, "a whole number from 0", "any will do, e.g. 1")
    arrays = cached_arrays(
        content_key("weather", climate, years, seed, float(step_h)),
        lambda: _made(climate, years=years, seed=seed, step_h=step_h),
    )
    return Weather(
        place=climate.place,
        grid=TimeGrid.for_latitude(climate.place.latitude, step_h=step_h),
        ghi_w_m2=arrays["ghi"],
        dni_w_m2=arrays["dni"],
        dhi_w_m2=arrays["dhi"],
        air_temperature_c=arrays["air"],
        source=phrase(
            "{years} years made from: {source}; seed {seed}",
            years=years,
            source=climate.source,
            seed=str(seed),
        ),
        notes=climate.notes,
    )


def _made(climate: Climate, *, years: int, seed: int, step_h: float) -> dict[str, FloatArray]:
    grid = TimeGrid.for_latitude(climate.place.latitude, step_h=step_h)
    sun = sun_year(climate.place, grid)
    offset = round(climate.place.solar_offset_h / step_h)
    local = _LocalSun.of(sun, offset, climate.place.altitude_m)
    days = _daily_weather(climate, grid, local, years=years, seed=seed)

    noise = _normals(seed, _HOURS, (len(days.kt), grid.steps_per_day))
    ghi_local = light_through_day(
        days.ghi_kwh_m2,
        clear_w_m2=local.clear_w_m2,
        noise=noise,
        step_h=step_h,
        hourly_lag1=climate.variability.hourly_lag1,
        first_day=-1,
    )
    times = sun_times(climate.place, grid)
    air_local = air_temperature_through_day(
        days.temperature_c,
        diurnal_range_k=days.diurnal_range_k,
        day_length_h=times.day_length_h,
        step_h=step_h,
        first_day=-1,
    )
    first = grid.steps_per_day + offset
    total = years * grid.steps_per_year
    shape = (years, grid.steps_per_year)
    ghi = ghi_local.ravel()[first : first + total].reshape(shape)
    air = air_local.ravel()[first : first + total].reshape(shape)
    ghi = np.where(sun.cos_zenith > 0.0, ghi, 0.0)
    dhi = diffuse_w_m2(ghi, sun)
    dni = np.divide(ghi - dhi, sun.cos_zenith, out=np.zeros(shape), where=sun.cos_zenith > 0.0)
    return {"ghi": ghi, "dni": dni, "dhi": dhi, "air": air}


def expected_daily_kt(climate: Climate) -> FloatArray:
    """Quantile functions of every day of the year.

    Parameters
    ----------
    climate : Climate
        What to draw from.

    Returns
    -------
    ndarray, shape (365, levels)
        1 January first; blended quantile by quantile between mid-months, the mid-month
        values adjusted so that the months' mean irradiation comes out as the climate has it.
    """
    weight = extraterrestrial_kwh_m2_day(climate.place.latitude, SPENCER_DAYS) + 1e-3
    means = mean_kt(climate.kt_quantiles)
    knots = np.clip(_knots(means, weight), 0.85 * means, 1.15 * means)
    adjusted = climate.kt_quantiles * (knots / means)[:, None]
    return np.asarray(_BLEND @ adjusted)


def _blend_matrix() -> FloatArray:
    """Weights (365, 12) of the linear blend between mid-months, round the year."""
    days = np.arange(1, DAYS_PER_YEAR + 1, dtype=np.float64)
    centres = np.concatenate(
        [[MID_MONTH_DAY[-1] - 365.0], MID_MONTH_DAY, [MID_MONTH_DAY[0] + 365.0]]
    )
    blend = np.zeros((DAYS_PER_YEAR, 12))
    for month in range(12):
        bump = np.zeros(14)
        bump[month + 1] = 1.0
        if month == 0:
            bump[13] = 1.0
        if month == 11:
            bump[0] = 1.0
        blend[:, month] = np.interp(days, centres, bump)
    return blend


_BLEND = _blend_matrix()


def _knots(monthly: FloatArray, weight: FloatArray) -> FloatArray:
    """Mid-month values whose blend has the given (weighted) monthly means."""
    sums = np.zeros((12, 12))
    np.add.at(sums, MONTH_OF_DAY, _BLEND * weight[:, None])
    means = sums / np.bincount(MONTH_OF_DAY, weight)[:, None]
    return np.asarray(np.linalg.solve(means, monthly))


@dataclass(frozen=True, eq=False)
class _LocalSun:
    """The sun in local solar days, shapes (365,) and (365, steps a day)."""

    above_kwh_m2: FloatArray
    clear_kwh_m2: FloatArray
    clear_w_m2: FloatArray

    @classmethod
    def of(cls, sun: SunYear, offset: int, altitude_m: float) -> _LocalSun:
        shape = (DAYS_PER_YEAR, sun.grid.steps_per_day)
        thin_air = float(clear_day_kt(altitude_m) / clear_day_kt(0.0))
        above = np.roll(sun.extraterrestrial_w_m2 * sun.cos_zenith, offset).reshape(shape)
        clear = np.roll(sun.clear_ghi_w_m2, offset).reshape(shape) * thin_air
        clear = np.maximum(clear, LOW_SUN_CLEAR_KT * above)
        to_kwh = sun.grid.step_h / 1000.0
        return cls(above.sum(1) * to_kwh, clear.sum(1) * to_kwh, clear)


def _daily_weather(
    climate: Climate, grid: TimeGrid, local: _LocalSun, *, years: int, seed: int
) -> Days:
    count = years * DAYS_PER_YEAR + 2
    in_grid = (np.arange(count) - 1) % DAYS_PER_YEAR
    day_of_year = grid.day_of_year[:: grid.steps_per_day][in_grid]
    season = _season(day_of_year, climate.place.latitude)
    score, quick = _scores(climate, count, seed)
    kt = _pick(expected_daily_kt(climate), day_of_year, score)
    ghi = np.minimum(kt * local.above_kwh_m2[in_grid], BRIGHTEST_DAY * local.clear_kwh_m2[in_grid])
    v = climate.variability
    base = _BLEND @ _knots(climate.monthly_temperature_c, np.ones(DAYS_PER_YEAR))
    middle = 0.5 * (v.temperature_sd_cold_k + v.temperature_sd_warm_k)
    half_swing = 0.5 * (v.temperature_sd_cold_k - v.temperature_sd_warm_k)
    spread = (middle + half_swing * np.cos(season)) / _NOON_TO_NOON
    link = (v.cloud_mean - v.cloud_swing * np.cos(season)) / _INNOVATION_LINK
    link = np.clip(link, -_STRONGEST_LINK, _STRONGEST_LINK)
    own = _normals(seed, _AIR, (count,))
    anomaly = _autoregression(link * quick + np.sqrt(1.0 - link**2) * own, v.temperature_lag1)
    return Days(
        day_of_year=day_of_year,
        ghi_kwh_m2=ghi,
        kt=kt,
        temperature_c=base[day_of_year - 1] + spread * anomaly,
        diurnal_range_k=diurnal_range_k(kt, ghi),
    )


def _season(day_of_year: IntArray, latitude: float) -> FloatArray:
    """Angle round the year, 0 in midwinter (mid-January north, mid-July south) [rad]."""
    midwinter = 15.0 if latitude >= 0 else 196.0
    return 2.0 * np.pi * (day_of_year - midwinter) / DAYS_PER_YEAR


def _scores(climate: Climate, count: int, seed: int) -> tuple[FloatArray, FloatArray]:
    """Normal scores of the days, and the innovations of their quick part."""
    v = climate.variability
    quick_lag1 = (v.lag1 - v.slow_share * v.slow_lag1) / (1.0 - v.slow_share)
    innovations = _normals(seed, _FAST, (count,))
    quick = _autoregression(innovations, quick_lag1)
    slow = _autoregression(_normals(seed, _SLOW, (count,)), v.slow_lag1)
    return np.sqrt(1.0 - v.slow_share) * quick + np.sqrt(v.slow_share) * slow, innovations


def _autoregression(innovations: FloatArray, lag1: float) -> FloatArray:
    """Standard normal series with the given day-to-day correlation, stationary from the start."""
    pushes = (np.sqrt(1.0 - lag1**2) * innovations).tolist()
    state = float(innovations[0])
    states = [state]
    for push in pushes[1:]:
        state = lag1 * state + push
        states.append(state)
    return np.array(states)


def _pick(quantiles: FloatArray, day_of_year: IntArray, score: FloatArray) -> FloatArray:
    """Clearness of each day from its probability, linear between the stored quantiles."""
    from scipy.special import ndtr

    probability = ndtr(score)
    upper = np.clip(np.searchsorted(LEVELS, probability), 1, len(LEVELS) - 1)
    share = (probability - LEVELS[upper - 1]) / (LEVELS[upper] - LEVELS[upper - 1])
    row = day_of_year - 1
    low, high = quantiles[row, upper - 1], quantiles[row, upper]
    return np.asarray(low + share * (high - low))


def _normals(seed: int, stream: int, shape: tuple[int, ...]) -> FloatArray:
    """Standard normal numbers from a counter-based generator, by inversion.

    Raw Philox words are promised to stay the same between versions of numpy, which its
    ready-made normals are not.
    """
    from scipy.special import ndtri

    raw = np.random.Philox(key=np.array([seed, stream], dtype=np.uint64)).random_raw(
        int(np.prod(shape))
    )
    uniform = ((raw >> np.uint64(11)).astype(np.float64) + 0.5) * 2.0**-53
    return np.asarray(ndtri(uniform)).reshape(shape)

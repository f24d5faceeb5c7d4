"""From a day's figures to the course of the day: sun, diffuse share, air temperature."""

from __future__ import annotations

import numpy as np

from sunpantry.sky.sun import SunYear
from sunpantry.timegrid import DAYS_PER_YEAR, FloatArray

# Clear-sky index of a step: never below, never above (broken cloud adds a little).
DULLEST_STEP, BRIGHTEST_STEP = 0.03, 1.08
NOISE_SCALE = 2.05
_NEWTON_ROUNDS, _BISECTIONS, _LEAST_FREE = 4, 50, 0.05
WARMEST_SOLAR_HOUR = 14.5


def light_through_day(
    daily_kwh_m2: FloatArray,
    *,
    clear_w_m2: FloatArray,
    noise: FloatArray,
    step_h: float,
    hourly_lag1: float,
    first_day: int = 0,
) -> FloatArray:
    """Spread each day's irradiation over its steps, with passing clouds.

    Parameters
    ----------
    daily_kwh_m2 : ndarray, shape (days,)
        Irradiation on the flat [kWh/m²].
    clear_w_m2 : ndarray, shape (365, steps a day)
        Irradiance on the flat under a clear sky, by day of the grid [W/m²].
    noise : ndarray, shape (days, steps a day)
        Independent standard normal numbers.
    step_h : float
        Step [h].
    hourly_lag1 : float
        Correlation of the clear-sky index from one hour to the next [-].
    first_day : int
        Place of the first day in the grid's year.

    Returns
    -------
    ndarray, shape (days, steps a day)
        Global irradiance [W/m²], whose sum over a day is the day's irradiation.

    Notes
    -----
    The clear-sky index of a step is that of the day plus an autoregressive disturbance of
    standard deviation s Kc² (1 - Kc), clipped to 0.03…1.08 and shifted until the day's sum
    is right. The spread within days of the same index at a measured station (DTU Lyngby)
    peaks at Kc = 0.65, as this does; Kc (1 - Kc) would peak at 0.5.
    """
    year_day = (first_day + np.arange(len(daily_kwh_m2))) % DAYS_PER_YEAR
    clear_day = clear_w_m2.sum(1) * step_h / 1000.0
    lit = clear_day[year_day] > 1e-9
    index = np.divide(daily_kwh_m2, clear_day[year_day], out=np.zeros_like(daily_kwh_m2), where=lit)
    spread = NOISE_SCALE * index**2 * np.maximum(1.0 - index, 0.0)
    wander = _wander(noise, hourly_lag1**step_h)
    wander *= spread[:, None]
    wander += index[:, None]
    shape = clear_w_m2 / np.maximum(clear_w_m2.sum(1), 1e-9)[:, None]
    bottom = np.minimum(DULLEST_STEP, 0.5 * index)[:, None]
    top = np.maximum(BRIGHTEST_STEP, index)[:, None]
    weights = shape[year_day]
    steps = _meeting_sum(wander, index, weights, bottom, top)
    steps *= clear_w_m2[year_day]
    return steps


def _meeting_sum(
    wander: FloatArray,
    index: FloatArray,
    weights: FloatArray,
    bottom: FloatArray,
    top: FloatArray,
) -> FloatArray:
    """Clip each row between its bottom and top after the shift that makes its weighted mean right.

    The mean is a rising broken line in the shift: Newton's method settles nearly every row;
    the few that it throws to and fro are bisected.
    """
    shift = np.zeros_like(index)
    for _ in range(_NEWTON_ROUNDS):
        moved = wander + shift[:, None]
        missing = index - np.einsum("ij,ij->i", np.clip(moved, bottom, top), weights)
        free = np.einsum("ij,ij->i", (moved > bottom) & (moved < top), weights)
        shift += missing / np.maximum(free, _LEAST_FREE)
    reached = np.einsum("ij,ij->i", np.clip(wander + shift[:, None], bottom, top), weights)
    stray = np.nonzero(np.abs(reached - index) > 1e-10 * np.maximum(index, 1e-6))[0]
    if len(stray):
        low = bottom[stray, 0] - wander[stray].max(1)
        high = top[stray, 0] - wander[stray].min(1)
        for _ in range(_BISECTIONS):
            middle = 0.5 * (low + high)
            clipped = np.clip(wander[stray] + middle[:, None], bottom[stray], top[stray])
            over = np.einsum("ij,ij->i", clipped, weights[stray]) > index[stray]
            low, high = np.where(over, low, middle), np.where(over, middle, high)
        shift[stray] = 0.5 * (low + high)
    steps = np.clip(wander + shift[:, None], bottom, top)
    reached = np.einsum("ij,ij->i", steps, weights)
    steps *= np.divide(index, reached, out=np.ones_like(index), where=reached > 0.0)[:, None]
    return np.asarray(steps)


def _wander(noise: FloatArray, lag1: float) -> FloatArray:
    """Autoregressive series along each row, in place of the noise."""
    series = noise.copy()
    push = np.sqrt(1.0 - lag1**2)
    for step in range(1, series.shape[1]):
        series[:, step] = lag1 * series[:, step - 1] + push * noise[:, step]
    return series


def diffuse_w_m2(ghi_w_m2: FloatArray, sun: SunYear) -> FloatArray:
    """Diffuse part of the global irradiance on the flat.

    Parameters
    ----------
    ghi_w_m2 : ndarray, shape (years, steps)
        Global irradiance [W/m²].
    sun : SunYear
        The sun of the same steps.

    Returns
    -------
    ndarray, shape (years, steps)
        Diffuse irradiance, 0 ≤ dhi ≤ ghi [W/m²].

    References
    ----------
    D. G. Erbs, S. A. Klein and J. A. Duffie, *Solar Energy* 28 (1982) 293; continuous
    form by A. Driesse, A. R. Jensen and R. Perez, *Solar Energy* 267 (2024) 112093,
    through pvlib.
    """
    from pvlib.irradiance import erbs_driesse

    lit = np.nonzero(sun.cos_zenith > 0.0)[0]
    zenith = np.degrees(np.arccos(np.minimum(sun.cos_zenith[lit], 1.0)))
    split = erbs_driesse(
        ghi_w_m2[:, lit], zenith[None, :], dni_extra=sun.extraterrestrial_w_m2[None, lit]
    )
    diffuse = np.zeros_like(ghi_w_m2)
    diffuse[:, lit] = np.clip(split["dhi"], 0.0, ghi_w_m2[:, lit])
    return diffuse


def diurnal_range_k(kt: FloatArray, ghi_kwh_m2: FloatArray) -> FloatArray:
    """Highest less lowest air temperature of a day, from how clear and how bright it is.

    Parameters
    ----------
    kt : ndarray
        Clearness index of the day [-].
    ghi_kwh_m2 : ndarray
        Irradiation on the flat [kWh/m²].

    Returns
    -------
    ndarray
        [K]; spread 2.9 K about it at the stations it was fitted to (``docs/sky.md``).
    """
    return 2.2 + 9.0 * kt + 0.42 * ghi_kwh_m2


def air_temperature_through_day(
    daily_c: FloatArray,
    *,
    diurnal_range_k: FloatArray,
    day_length_h: FloatArray,
    step_h: float,
    first_day: int = 0,
) -> FloatArray:
    """Course of the air temperature: lowest at sunrise, highest at half past two, solar time.

    Parameters
    ----------
    daily_c : ndarray, shape (days,)
        Mean of each local solar day [°C].
    diurnal_range_k : ndarray, shape (days,)
        Highest less lowest temperature [K].
    day_length_h : ndarray, shape (365,)
        Time from sunrise to sunset by day of the grid [h].
    step_h : float
        Step [h].
    first_day : int
        Place of the first day in the grid's year.

    Returns
    -------
    ndarray, shape (days, steps a day)
        Air temperature [°C]; days flow into each other between their noons.
    """
    year_day = (first_day + np.arange(len(daily_c))) % DAYS_PER_YEAR
    hour: FloatArray = (np.arange(round(24.0 / step_h), dtype=np.float64) + 0.5) * step_h
    sunrise = 12.0 - 0.5 * np.clip(day_length_h, 4.0, 20.0)[:, None]
    rising_h = WARMEST_SOLAR_HOUR - sunrise
    since_sunrise = (hour[None, :] - sunrise) % 24.0
    wave = np.where(
        since_sunrise < rising_h,
        -np.cos(np.pi * since_sunrise / rising_h),
        np.cos(np.pi * (since_sunrise - rising_h) / (24.0 - rising_h)),
    )
    return _flowing(daily_c, hour) + 0.5 * _flowing(diurnal_range_k, hour) * wave[year_day]


def _flowing(daily: FloatArray, hour: FloatArray) -> FloatArray:
    """Straight lines from noon to noon, shape (days, steps a day)."""
    before = np.concatenate([daily[:1], daily[:-1]])[:, None]
    after = np.concatenate([daily[1:], daily[-1:]])[:, None]
    now = daily[:, None]
    share = (hour / 24.0)[None, :]
    morning = before + (share + 0.5) * (now - before)
    evening = now + (share - 0.5) * (after - now)
    return np.where(share < 0.5, morning, evening)

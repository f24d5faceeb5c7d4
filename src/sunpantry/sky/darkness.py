"""How dark the dark season gets: the dullest spells of each winter."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sunpantry.sky.weather import Weather
from sunpantry.timegrid import DAYS_PER_YEAR, MONTH_LENGTHS, FloatArray

SPELL_DAYS = (1, 3, 5, 7, 10, 14, 21, 30)
SEASON_MONTHS = 3


@dataclass(frozen=True, eq=False)
class DarkSpells:
    """The dullest n days in a row of each dark season, over the winters.

    Parameters
    ----------
    days : tuple of int
        Length n of the spells [days].
    p10, p50, p90 : ndarray, shape (lengths,)
        Mean irradiation on the flat through the dullest spell: in one winter of ten it is
        at or below p10, in an ordinary winter p50, in one of ten at or above p90
        [kWh/m²/day].
    season : tuple of int
        The dark season: the three months in a row with the least sun, 0 = January.
    season_mean_kwh_m2_day : float
        Mean irradiation on the flat through the season [kWh/m²/day].
    winters : int
        How many seasons were looked at.
    """

    days: tuple[int, ...]
    p10: FloatArray
    p50: FloatArray
    p90: FloatArray
    season: tuple[int, ...]
    season_mean_kwh_m2_day: float
    winters: int


def dark_spells(weather: Weather, *, days: tuple[int, ...] = SPELL_DAYS) -> DarkSpells:
    """Find the dullest spells.

    Parameters
    ----------
    weather : Weather
        Years of weather.
    days : tuple of int
        Lengths of the spells, each from 1 to 89 [days].

    Returns
    -------
    DarkSpells
        Spells lie wholly within the season. A season that runs over the end of the last
        year is left out, unless there is only one year, which is then closed on itself.
    """
    daily = daily_ghi_kwh_m2(weather).ravel()
    month = weather.grid.month[:: weather.grid.steps_per_day]
    monthly = np.bincount(month, daily.reshape(weather.years, -1).mean(0)) / MONTH_LENGTHS
    sums = sum(np.roll(monthly, -shift) for shift in range(SEASON_MONTHS))
    first = int(np.argmin(sums))
    season = tuple((first + shift) % 12 for shift in range(SEASON_MONTHS))
    length = sum(MONTH_LENGTHS[number] for number in season)
    start = int(np.nonzero((month == first) & (np.roll(month, 1) != first))[0][0])
    starts = start + DAYS_PER_YEAR * np.arange(weather.years)
    whole = starts[starts + length <= len(daily)]
    rows = (whole if len(whole) else starts)[:, None] + np.arange(length)
    seasons = daily[rows % len(daily)]
    sums_to = np.cumsum(np.pad(seasons, ((0, 0), (1, 0))), axis=1)
    dullest = np.array([((sums_to[:, n:] - sums_to[:, :-n]) / n).min(axis=1) for n in days])
    p10, p50, p90 = np.percentile(dullest, (10, 50, 90), axis=1)
    return DarkSpells(days, p10, p50, p90, season, float(seasons.mean()), len(seasons))


def daily_ghi_kwh_m2(weather: Weather) -> FloatArray:
    """Irradiation on the flat of each local solar day.

    Parameters
    ----------
    weather : Weather
        Years of weather.

    Returns
    -------
    ndarray, shape (years, 365)
        [kWh/m²]; far from Greenwich one day at the end is closed with the steps of the start.
    """
    offset = round(weather.place.solar_offset_h / weather.grid.step_h)
    local = np.roll(weather.ghi_w_m2.ravel(), offset)
    per_day = local.reshape(weather.years, DAYS_PER_YEAR, weather.grid.steps_per_day)
    return np.asarray(per_day.sum(axis=2) * (weather.grid.step_h / 1000.0))

"""The civil year of a place: its days, its clock, its dusk and dawn, in hours of UTC.

Every moment is an hour counted from 1 January 00:00 UTC of the nominal year. A day past
the year's end is the same day a year earlier, 8760 hours later, so that the year closes
on itself.
"""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from functools import cached_property, lru_cache
from zoneinfo import ZoneInfo

import numpy as np

from sunpantry.design.moments import HOURS_PER_DAY, WEEKDAY_NAMES, Moment, days_later
from sunpantry.sky.place import Place
from sunpantry.sky.sun import SunTimes, sun_times
from sunpantry.timegrid import (
    DAYS_PER_YEAR,
    HOURS_PER_YEAR,
    MONTH_LENGTHS,
    NOMINAL_YEAR,
    FloatArray,
    IntArray,
    TimeGrid,
)

# The evening of a day on which the sun does not rise or does not set.
POLAR_EVENING_H = 18.0
_DAYS = np.arange(DAYS_PER_YEAR)


@dataclass(frozen=True, eq=False)
class CivilYear:
    """Days of the civil year and the sun on them.

    Parameters
    ----------
    grid : TimeGrid
        Steps that energy is laid into.
    timezone : str
        IANA name of the civil time kept.
    dawn_h, dusk_h : ndarray, shape (365,)
        Sunrise and sunset of each civil day, 1 January first [h of the year, UTC]. On a
        day without sunrise both are solar noon, on a day without sunset they are the
        solar midnights around it.
    polar : ndarray of bool, shape (365,)
        Days on which the sun does not rise or does not set.
    """

    grid: TimeGrid
    timezone: str
    dawn_h: FloatArray
    dusk_h: FloatArray
    polar: np.ndarray

    @classmethod
    def of(cls, place: Place, grid: TimeGrid, *, sun: SunTimes | None = None) -> CivilYear:
        """Civil year of a place.

        Parameters
        ----------
        place : Place
            Where.
        grid : TimeGrid
            Steps of the year.
        sun : SunTimes, optional
            Sunrise and sunset on that grid, where they are known already.

        Returns
        -------
        CivilYear
            With real daylight saving of the nominal year.
        """
        times = sun_times(place, grid) if sun is None else sun
        by_date = np.argsort(grid.day_of_year[:: grid.steps_per_day])
        half_h = np.where(times.polar_day, 12.0, 0.0)
        usual = ~(times.polar_day | times.polar_night)
        # Mean noon where the sun tells no time: there one day ends just as the next begins.
        noon = np.where(usual, times.noon_utc_h, times.noon_utc_h.mean())[by_date]
        noon = noon + HOURS_PER_DAY * _DAYS
        rise = np.where(usual, times.noon_utc_h - times.rise_utc_h, half_h)[by_date]
        fall = np.where(usual, times.set_utc_h - times.noon_utc_h, half_h)[by_date]
        # Near the date line the solar noon of a UTC day can belong to the civil day beside it.
        civil_noon = _civil_to_utc_h(place.timezone, _DAYS, 12.0)
        shift = np.round((civil_noon - noon) / HOURS_PER_DAY).astype(int)
        source = (_DAYS + shift) % DAYS_PER_YEAR
        noon = noon[source] + HOURS_PER_YEAR * ((_DAYS + shift) // DAYS_PER_YEAR)
        return cls(
            grid=grid,
            timezone=place.timezone,
            dawn_h=noon - rise[source],
            dusk_h=noon + fall[source],
            polar=~usual[by_date][source],
        )

    @cached_property
    def month(self) -> IntArray:
        """Month of each civil day, 0 = January, shape (365,)."""
        return np.repeat(np.arange(12), MONTH_LENGTHS)

    @cached_property
    def weekday(self) -> IntArray:
        """Weekday of each civil day, 0 = Monday, shape (365,)."""
        first = dt.date(NOMINAL_YEAR, 1, 1).weekday()
        return (first + _DAYS) % 7

    @cached_property
    def season(self) -> IntArray:
        """Civil days in the grid's order, so that a winter is not cut, shape (365,)."""
        return np.roll(_DAYS, -(self.grid.start_day - 1))

    def days(
        self, months: tuple[int, ...] | None = None, weekdays: tuple[str, ...] | None = None
    ) -> IntArray:
        """Days on which a habit is kept, in the grid's order.

        Parameters
        ----------
        months : tuple of int, optional
            1 to 12; all by default.
        weekdays : tuple of str, optional
            'mon' to 'sun'; all by default.

        Returns
        -------
        ndarray of int
            Civil days, 0 = 1 January.
        """
        kept = np.ones(DAYS_PER_YEAR, dtype=bool)
        if months is not None:
            kept &= np.isin(self.month, np.array(months) - 1)
        if weekdays is not None:
            kept &= np.isin(self.weekday, [WEEKDAY_NAMES.index(day) for day in weekdays])
        return self.season[kept[self.season]]

    def moment_h(self, moment: Moment, days: IntArray) -> FloatArray:
        """When a moment falls on some civil days.

        Parameters
        ----------
        moment : Moment
            Clock time, or an offset to dusk or dawn.
        days : ndarray of int
            Civil days, 0 = 1 January; may run past the year.

        Returns
        -------
        ndarray
            Hour of the year, UTC [h].
        """
        if moment.base == "clock":
            return _civil_to_utc_h(self.timezone, days, moment.offset_h)
        sun = self.dawn_h if moment.base == "dawn" else self.dusk_h
        later = HOURS_PER_YEAR * (days // DAYS_PER_YEAR)
        return sun[days % DAYS_PER_YEAR] + later + moment.offset_h

    def evening_h(self, days: IntArray) -> FloatArray:
        """Dusk, or six o'clock where the sun does not set or rise that day [h of the year]."""
        clock = _civil_to_utc_h(self.timezone, days, POLAR_EVENING_H)
        return np.where(self.polar[days], clock, self.dusk_h[days])

    def window(self, start: Moment, end: Moment, days: IntArray) -> tuple[FloatArray, FloatArray]:
        """Open a window on some civil days.

        Parameters
        ----------
        start, end : Moment
            Its two ends; the end may fall on the next day.
        days : ndarray of int
            Civil days it opens on.

        Returns
        -------
        start_h, end_h : ndarray
            Hours of the year, UTC [h]; equal where it does not open.
        """
        start_h = self.moment_h(start, days)
        end_h = self.moment_h(end, days + days_later(start, end))
        return start_h, np.maximum(start_h, end_h)

    def whole_days(self, days: IntArray) -> tuple[FloatArray, FloatArray]:
        """From civil midnight to the next, 23 or 25 hours on two days of many zones."""
        return (
            _civil_to_utc_h(self.timezone, days, 0.0),
            _civil_to_utc_h(self.timezone, days + 1, 0.0),
        )

    def lay(
        self, start_h: FloatArray, end_h: FloatArray, weight: FloatArray | float = 1.0
    ) -> FloatArray:
        """Lay spans of time into the steps, each with its exact share of a step.

        Parameters
        ----------
        start_h, end_h : ndarray
            Spans in hours of the year; what runs past the year's end comes in at its
            beginning [h].
        weight : ndarray or float
            Of each span (a power, for instance).

        Returns
        -------
        ndarray, shape (steps_per_year,)
            Mean weight in each step of the grid.
        """
        step_h, steps = self.grid.step_h, self.grid.steps_per_year
        weights = np.broadcast_to(np.asarray(weight, dtype=np.float64), start_h.shape)
        turns = np.floor(start_h / HOURS_PER_YEAR) * HOURS_PER_YEAR
        first, last = (start_h - turns) / step_h, (end_h - turns) / step_h
        # Two years side by side hold a span that crosses the end of the year.
        size = 2 * steps + 1
        i, j = np.floor(first).astype(int), np.floor(last).astype(int)

        def total(at: IntArray, of: FloatArray | None = None) -> FloatArray:
            return np.bincount(at, weights=of, minlength=size).astype(np.float64)

        share = np.cumsum(total(i, weights) - total(j, weights))
        share += total(j, weights * (last - j)) - total(i, weights * (first - i))
        # Where no span reaches, a rounding residue of the running sum is not left standing.
        reached = np.cumsum(total(i) - total(j)) + total(j, np.ceil(last - j)) > 0.0
        year = np.where(reached, np.maximum(share, 0.0), 0.0)
        year = year[:steps] + year[steps : 2 * steps]
        return np.roll(year, -(self.grid.start_day - 1) * self.grid.steps_per_day)


def _civil_to_utc_h(timezone: str, days: IntArray, clock_h: float) -> FloatArray:
    """Turn a clock time on some civil days into hours of the year in UTC."""
    year = _clock_in_utc_h(timezone, clock_h)
    return year[days % DAYS_PER_YEAR] + HOURS_PER_YEAR * (days // DAYS_PER_YEAR)


@lru_cache(maxsize=1024)
def _clock_in_utc_h(timezone: str, clock_h: float) -> FloatArray:
    """A clock time on each day of the civil year, in hours of the year in UTC."""
    zone = ZoneInfo(timezone)
    first = dt.datetime(NOMINAL_YEAR, 1, 1, tzinfo=zone)
    year = np.empty(DAYS_PER_YEAR)
    for day in range(DAYS_PER_YEAR):
        # Arithmetic on an aware datetime moves its wall clock: just what is meant here.
        offset = (first + dt.timedelta(days=day, hours=clock_h)).utcoffset() or dt.timedelta()
        year[day] = day * HOURS_PER_DAY + clock_h - offset / dt.timedelta(hours=1)
    year.setflags(write=False)
    return year

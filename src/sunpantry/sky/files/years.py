"""From a record of several years to whole years on the grid of the simulation."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sunpantry.phrases import phrase
from sunpantry.sky.clearness import extraterrestrial_kwh_m2_day
from sunpantry.sky.climate import Climate
from sunpantry.sky.files.days import SolarDays, calendar_day
from sunpantry.sky.files.record import WeatherRecord
from sunpantry.sky.generator import weather_years
from sunpantry.sky.hourly import (
    air_temperature_through_day,
    diffuse_w_m2,
    diurnal_range_k,
    light_through_day,
)
from sunpantry.sky.place import Place
from sunpantry.sky.sun import SunYear, sun_times, sun_year
from sunpantry.sky.weather import Weather
from sunpantry.timegrid import DAYS_PER_YEAR, FloatArray, IntArray, TimeGrid

_SEED = 1
# Broken cloud and a low sun make nonsense of (ghi - dhi) / cos z; no beam passes this.
_BRIGHTEST_BEAM_W_M2 = 1100.0


@dataclass(frozen=True, eq=False)
class _Axis:
    """Series on steps of the grid, through years of 365 days, without a break.

    ``first`` is the number of the first step, counted from 1 January of the year 0.
    """

    first: int
    ghi_w_m2: FloatArray
    dni_w_m2: FloatArray | None
    dhi_w_m2: FloatArray | None
    air_temperature_c: FloatArray | None

    def years(self, grid: TimeGrid) -> tuple[list[int], list[int]]:
        """Calendar years in which a whole year of the grid starts, and those with gaps."""
        length = self.ghi_w_m2.size
        lowest = self.first // grid.steps_per_year - 1
        whole, broken = [], []
        for year in range(lowest, lowest + length // grid.steps_per_year + 4):
            at = self.place_of(year, grid)
            piece = slice(max(at, 0), max(at + grid.steps_per_year, 0))
            known = np.isfinite(self.ghi_w_m2[piece])
            if self.air_temperature_c is not None:
                known = known & np.isfinite(self.air_temperature_c[piece])
            if known.size == grid.steps_per_year and at >= 0 and known.all():
                whole.append(year)
            elif known.any():
                broken.append(year)
        return whole, broken

    def place_of(self, year: int, grid: TimeGrid) -> int:
        """Index of the start of the grid's year that begins in a calendar year."""
        day = year * DAYS_PER_YEAR + grid.start_day - 1
        return day * grid.steps_per_day - self.first


def weather_of_years(
    record: WeatherRecord, days: SolarDays, place: Place, grid: TimeGrid, climate: Climate
) -> Weather | None:
    """Cut a record of several years into whole years on a grid.

    Parameters
    ----------
    record : WeatherRecord
        Regular in time, short gaps filled.
    days : SolarDays
        Its days.
    place : Place
        Where.
    grid : TimeGrid
        The steps wanted.
    climate : Climate
        Of the same days; gives what the file lacks.

    Returns
    -------
    Weather or None
        None when fewer than two whole years are left. A year with any gap left is not
        used, and its note says so.
    """
    sun = sun_year(place, grid)
    if record.step_h == 24.0:
        axis = _from_days(days, place, sun, climate)
    else:
        axis = _from_steps(record, place, sun)
    whole, broken = axis.years(grid)
    if len(whole) < 2:
        return None
    pieces = [axis.place_of(year, grid) + np.arange(grid.steps_per_year) for year in whole]
    rows = np.stack(pieces)
    ghi = np.where(sun.cos_zenith > 0.0, axis.ghi_w_m2[rows], 0.0)
    dhi = _diffuse(ghi, rows, axis, sun)
    beam = np.divide(ghi - dhi, sun.cos_zenith, out=np.zeros_like(ghi), where=sun.cos_zenith > 0.0)
    dni = np.clip(beam, 0.0, _BRIGHTEST_BEAM_W_M2)
    notes = [*record.notes]
    if broken:
        named = ", ".join(_named(year, grid) for year in broken)
        notes.append(phrase("Not whole, and not used: {named}.", named=named))
    if axis.air_temperature_c is None:
        made = weather_years(climate, years=len(whole), seed=_SEED, step_h=grid.step_h)
        air = made.air_temperature_c
        notes.append(
            phrase(
                "The file has no air temperature: it was made from the statistics of the climate "
                "table, so cold days and dull days are not tied together."
            )
        )
    else:
        air = axis.air_temperature_c[rows]
    return Weather(
        place=place,
        grid=grid,
        ghi_w_m2=ghi,
        dni_w_m2=dni,
        dhi_w_m2=ghi - dni * sun.cos_zenith,
        air_temperature_c=air,
        source=f"{record.name}: {len(whole)} years, {_named(whole[0], grid)} to "
        f"{_named(whole[-1], grid)}",
        notes=tuple(notes),
    )


def _named(year: int, grid: TimeGrid) -> str:
    return str(year) if grid.start_day == 1 else f"{year}/{(year + 1) % 100:02d}"


def _diffuse(ghi: FloatArray, rows: IntArray, axis: _Axis, sun: SunYear) -> FloatArray:
    """Diffuse light: the file's, or from its beam, or from a correlation."""
    modelled = diffuse_w_m2(ghi, sun)
    if axis.dhi_w_m2 is not None:
        given = axis.dhi_w_m2[rows]
    elif axis.dni_w_m2 is not None:
        given = ghi - axis.dni_w_m2[rows] * sun.cos_zenith
    else:
        return modelled
    return np.where(np.isfinite(given), np.clip(given, 0.0, ghi), modelled)


@dataclass(frozen=True, slots=True)
class _Steps:
    """Steps of the grid, ``first`` to ``last`` counted from 1970, laid over a record's own."""

    start_s: int
    length_s: int
    count: int
    first: int
    last: int
    step_s: int

    @classmethod
    def over(cls, record: WeatherRecord, grid: TimeGrid) -> _Steps:
        start_s = int(record.starts_utc[0].astype("datetime64[s]").astype(np.int64))
        length_s, step_s = round(record.step_h * 3600), round(grid.step_h * 3600)
        count = record.ghi_w_m2.size
        last = (start_s + length_s * count) // step_s
        return cls(start_s, length_s, count, -(-start_s // step_s), last, step_s)

    @property
    def seconds(self) -> IntArray:
        """Start of each step, in seconds since 1970."""
        return np.arange(self.first, self.last, dtype=np.int64) * self.step_s

    def means(self, values: FloatArray) -> FloatArray:
        """Means over the steps of a series that is constant within the record's intervals."""
        known = np.isfinite(values)
        total, gaps = (
            np.interp(self._ends, self._record_ends, np.concatenate([[0.0], np.cumsum(part)]))
            for part in (np.where(known, values, 0.0), ~known)
        )
        means: FloatArray = np.diff(total) * (self.length_s / self.step_s)
        means[np.diff(gaps) > 1e-9] = np.nan
        return means

    def means_of_record(self, fine: FloatArray) -> FloatArray:
        """Means over the record's intervals of a series on the steps."""
        total = np.concatenate([[0.0], np.cumsum(fine)])
        means: FloatArray = np.diff(np.interp(self._record_ends, self._ends, total))
        return means * (self.step_s / self.length_s)

    @property
    def _ends(self) -> IntArray:
        return np.arange(self.first, self.last + 1, dtype=np.int64) * self.step_s

    @property
    def _record_ends(self) -> IntArray:
        return self.start_s + np.arange(self.count + 1, dtype=np.int64) * self.length_s


def _from_steps(record: WeatherRecord, place: Place, sun: SunYear) -> _Axis:
    """Bring a record of an hour or less to the steps of the grid."""
    grid, steps = sun.grid, _Steps.over(record, sun.grid)
    # Days are those of the place, so that a file without a 29 February loses no other hour.
    offset = round(place.solar_offset_h / grid.step_h)
    local = (steps.seconds + offset * steps.step_s).astype("datetime64[s]")
    day, leap = calendar_day(local)
    of_day = local.astype(np.int64) % 86400 // steps.step_s
    year = local.astype("datetime64[Y]").astype(np.int64) + 1970
    number = (year * DAYS_PER_YEAR + day - 1) * grid.steps_per_day + of_day - offset
    in_grid = (number - (grid.start_day - 1) * grid.steps_per_day) % grid.steps_per_year
    clear = sun.clear_ghi_w_m2[in_grid]
    coarse = steps.means_of_record(clear)

    def moved(values: FloatArray) -> FloatArray:
        return steps.means(values)[~leap]

    def moved_light(values: FloatArray) -> FloatArray:
        """Within a longer interval the light follows that of a clear sky."""
        if record.step_h <= grid.step_h:
            return moved(values)
        share = np.divide(values, coarse, out=np.zeros_like(values), where=coarse > 1.0)
        followed: FloatArray = steps.means(share) * clear
        return followed[~leap]

    dni, dhi, air = record.dni_w_m2, record.dhi_w_m2, record.air_temperature_c
    return _Axis(
        first=int(number[~leap][0]),
        ghi_w_m2=moved_light(record.ghi_w_m2),
        dni_w_m2=None if dni is None else moved(dni),
        dhi_w_m2=None if dhi is None else moved_light(dhi),
        air_temperature_c=None if air is None else moved(air),
    )


def _from_days(days: SolarDays, place: Place, sun: SunYear, climate: Climate) -> _Axis:
    """Spread days over the steps of the grid, as the weather generator does."""
    grid = sun.grid
    offset = round(place.solar_offset_h / grid.step_h)
    year = days.dates.astype("datetime64[Y]").astype(np.int64) + 1970
    number = year * DAYS_PER_YEAR + days.day_of_year - 1
    count = int(number[-1] - number[0]) + 1
    ghi = np.full(count, np.nan)
    ghi[number - number[0]] = days.ghi_kwh_m2
    first_day = int((number[0] + 1 - grid.start_day) % DAYS_PER_YEAR)
    noise = np.random.Generator(np.random.Philox(_SEED)).standard_normal(
        (count, grid.steps_per_day)
    )
    clear = np.roll(sun.clear_ghi_w_m2, offset).reshape(DAYS_PER_YEAR, grid.steps_per_day)
    light = light_through_day(
        np.nan_to_num(ghi),
        clear_w_m2=clear,
        noise=noise,
        step_h=grid.step_h,
        hourly_lag1=climate.variability.hourly_lag1,
        first_day=first_day,
    )
    light[~np.isfinite(ghi)] = np.nan
    air = None
    if days.temperature_c is not None:
        mean = np.full(count, np.nan)
        mean[number - number[0]] = days.temperature_c
        of_year = (number[0] + np.arange(count)) % DAYS_PER_YEAR + 1
        above = np.maximum(extraterrestrial_kwh_m2_day(place.latitude, of_year), 1e-3)
        air = air_temperature_through_day(
            mean,
            diurnal_range_k=diurnal_range_k(np.minimum(ghi / above, 1.0), ghi),
            day_length_h=sun_times(place, grid).day_length_h,
            step_h=grid.step_h,
            first_day=first_day,
        ).ravel()
    return _Axis(
        first=int(number[0]) * grid.steps_per_day - offset,
        ghi_w_m2=light.ravel(),
        dni_w_m2=None,
        dhi_w_m2=None,
        air_temperature_c=air,
    )

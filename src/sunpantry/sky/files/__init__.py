"""Weather that the user has in a file: EPW, TMY3, TMY2, or CSV with named columns."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Literal

import numpy as np

from sunpantry.errors import WeatherError
from sunpantry.phrases import phrase
from sunpantry.sky.climate import Climate, climate_from_daily
from sunpantry.sky.files.columns import read_columns
from sunpantry.sky.files.days import (
    SolarDays,
    cloudless,
    in_leap_day,
    refuse_short,
    refuse_wrong_unit,
    solar_days,
    told_about_clock,
)
from sunpantry.sky.files.record import (
    WeatherRecord,
    checked,
    made_regular,
    short_gaps_filled,
)
from sunpantry.sky.files.times import Stamp
from sunpantry.sky.files.typical import read_epw, read_tmy2, read_tmy3
from sunpantry.sky.files.years import weather_of_years
from sunpantry.sky.place import Place
from sunpantry.sky.table import distance_km
from sunpantry.sky.weather import Weather
from sunpantry.timegrid import TimeGrid

__all__ = ["FileWeather", "Stamp", "read_weather_file", "weather_from_record"]

_FAR_KM = 25.0


@dataclass(frozen=True, eq=False)
class FileWeather:
    """What a weather file gives.

    Parameters
    ----------
    kind : 'typical' or 'years'
        'typical': one year, to whose means and days the generator's years are anchored.
        'years': several measured years, used as they are.
    climate : Climate
        Made from the file's days; draw years from it when the kind is 'typical'.
    weather : Weather or None
        The years themselves when the kind is 'years'.
    distance_km : float or None
        From where the file says it is from to the place; None when it does not say [km].
    notes : tuple of str
        What was found, filled, left out and assumed.
    """

    kind: Literal["typical", "years"]
    climate: Climate
    weather: Weather | None
    distance_km: float | None
    notes: tuple[str, ...]


def read_weather_file(
    path: Path,
    place: Place,
    grid: TimeGrid,
    *,
    timezone: str | None = None,
    stamp: Stamp | None = None,
) -> FileWeather:
    """Read a weather file for a place.

    Parameters
    ----------
    path : Path
        ``.epw``; ``.tm2``; a TMY3 file (``.csv`` that starts with a station line); or a
        CSV file with named columns, see :func:`~sunpantry.sky.files.columns.read_columns`.
    place : Place
        Where it is to be used.
    grid : TimeGrid
        The steps wanted.
    timezone : str, optional
        Zone of a CSV file's times.
    stamp : 'start' or 'end', optional
        Which end of its interval a time in a CSV file marks.

    Returns
    -------
    FileWeather

    Raises
    ------
    WeatherError
        Naming the file, the line, the column and the value, and what to do.
    InputError
        When the time zone is unknown.
    """
    ending = path.suffix.lower()
    if ending == ".epw":
        record = read_epw(path)
    elif ending == ".tm2":
        record = read_tmy2(path)
    elif _is_tmy3(path):
        record = read_tmy3(path)
    else:
        record = read_columns(path, timezone=timezone, stamp=stamp)
    return weather_from_record(record, place, grid)


def weather_from_record(record: WeatherRecord, place: Place, grid: TimeGrid) -> FileWeather:
    """Check a record against the place and turn it into a climate, and years if it has them.

    Parameters
    ----------
    record : WeatherRecord
        As read.
    place : Place
        Where it is to be used.
    grid : TimeGrid
        The steps wanted.

    Returns
    -------
    FileWeather

    Raises
    ------
    WeatherError
        When it cannot be of the place, or lacks too much.
    """
    record = made_regular(checked(record))
    distance, far = _how_far(record, place)
    shape = cloudless(record, place)
    record = short_gaps_filled(record, shape, unused=in_leap_day(record, place))
    told = (*far, *told_about_clock(record, shape), *record.notes, *_coldest(record))
    record = replace(record, notes=told)
    days = solar_days(record, place)
    refuse_wrong_unit(record, days, place)
    refuse_short(record, days)
    climate = replace(_climate(record, days, place), data_distance_km=distance or 0.0)
    weather = None
    if not record.typical:
        weather = weather_of_years(record, days, place, grid, climate)
    if weather is not None:
        return FileWeather("years", climate, weather, distance, weather.notes)
    notes = (
        *record.notes,
        phrase(
            "{name} is taken as one typical year: the means and the spread of the days of each "
            "month are its own; how days follow each other, and how years differ, is the weather "
            "generator's.",
            name=record.name,
        ),
    )
    return FileWeather(
        "typical", replace(climate, notes=(*climate.notes, *notes)), None, distance, notes
    )


def _is_tmy3(path: Path) -> bool:
    try:
        with path.open(encoding="latin-1") as stream:
            stream.readline()
            return stream.readline().startswith("Date (MM/DD/YYYY)")
    except OSError as error:
        raise WeatherError(f"{path.name}: {error.strerror or error}; check the name") from error


def _how_far(record: WeatherRecord, place: Place) -> tuple[float | None, tuple[str, ...]]:
    if record.latitude is None or record.longitude is None:
        return None, ()
    there = (np.array([record.latitude]), np.array([record.longitude]))
    away = float(distance_km(place.latitude, place.longitude, *there)[0])
    if away <= _FAR_KM:
        return away, ()
    return away, (
        phrase(
            "{name} is from {away:.0f} km away ({latitude:.2f}, {longitude:.2f}): it is used as "
            "if it were from the place.",
            name=record.name,
            away=away,
            latitude=record.latitude,
            longitude=record.longitude,
        ),
    )


def _coldest(record: WeatherRecord) -> tuple[str, ...]:
    air = record.air_temperature_c
    if air is None or not np.isfinite(air).any() or record.step_h == 24.0:
        return ()
    at = int(np.nanargmin(air))
    day: str = ""
    if not record.typical:
        day = phrase(", on {date}", date=str(record.starts_utc[at].astype("datetime64[D]")))
    return (
        phrase(
            "The coldest reading in {name} is {air:.1f} °C{day}.",
            name=record.name,
            air=air[at],
            day=day,
        ),
    )


def _climate(record: WeatherRecord, days: SolarDays, place: Place) -> Climate:
    temperature = None
    if days.temperature_c is not None:
        monthly = days.monthly_mean(days.temperature_c)
        temperature = monthly.tolist() if np.isfinite(monthly).all() else None
    known = np.isfinite(days.ghi_kwh_m2)
    return climate_from_daily(
        place,
        day_of_year=days.day_of_year[known],
        ghi_kwh_m2=days.ghi_kwh_m2[known],
        monthly_temperature_c=temperature,
        source=phrase("{name}: {days} days", name=record.name, days=int(known.sum())),
    )

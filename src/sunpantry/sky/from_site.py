"""From the site of a design to its sky: the place, the climate, the years, the ground."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from sunpantry.design.site import Site
from sunpantry.errors import InputError, Problem, WeatherError
from sunpantry.phrases import phrase
from sunpantry.sky.climate import Climate, climate_of
from sunpantry.sky.generator import weather_years
from sunpantry.sky.horizon import Horizon, horizon_of
from sunpantry.sky.losses import MonthlyLosses, default_losses
from sunpantry.sky.place import Place, place_at
from sunpantry.sky.weather import Weather
from sunpantry.timegrid import TimeGrid

if TYPE_CHECKING:
    from sunpantry.sky.files import FileWeather

# Tilt taken for the default snow loss until the array has one [°].
USUAL_TILT_DEG = 45.0


@dataclass(frozen=True, eq=False)
class SiteSky:
    """Everything the sky room knows of a site.

    Parameters
    ----------
    place : Place
        Where.
    climate : Climate
        What the years are drawn from, or what a weather file shows.
    weather : Weather
        The years.
    horizon : Horizon or None
        What stands in the sun.
    albedo : float
        Share of the light the ground throws back, mean of the year [-].
    losses : MonthlyLosses or None
        Dirt and snow the person stated; ``None``: the defaults for the tilt.
    measured : bool
        The years are measured ones and cannot be drawn again.
    notes : tuple of str
        What a reader must know.
    """

    place: Place
    climate: Climate
    weather: Weather
    horizon: Horizon | None
    albedo: float
    losses: MonthlyLosses | None
    measured: bool
    notes: tuple[str, ...]

    def darker(self, fraction: float, *, seed: int) -> tuple[Climate, Weather]:
        """Sky of the same place if it is darker than the table by a share.

        Measured years are dimmed as they are; drawn ones are drawn again, with the same
        seed, from the darker climate.

        Parameters
        ----------
        fraction : float
            Share taken off every month [-].
        seed : int
            Seed the years were drawn with.
        """
        climate = self.climate.darker(fraction)
        if self.measured:
            left = 1.0 - fraction
            dimmed = replace(
                self.weather,
                ghi_w_m2=self.weather.ghi_w_m2 * left,
                dni_w_m2=self.weather.dni_w_m2 * left,
                dhi_w_m2=self.weather.dhi_w_m2 * left,
            )
            return climate, dimmed
        years = self.weather.years
        step_h = self.weather.grid.step_h
        return climate, weather_years(climate, years=years, seed=seed, step_h=step_h)


def place_of(site: Site) -> Place:
    """Place of a site, by its coordinates or looked up by name.

    Raises
    ------
    InputError
        When a name is unknown or answers to several places, or neither is given.
    """
    if site.latitude is not None and site.longitude is not None:
        return place_at(
            site.latitude,
            site.longitude,
            altitude_m=site.altitude_m,
            timezone=site.timezone,
            name=site.place,
        )
    if site.place is None:
        raise InputError.one(
            "site", "empty", "a place, or latitude and longitude", "say where the system stands"
        )
    from sunpantry.sky.gazetteer import find_place

    found = find_place(site.place)
    return place_at(
        found.latitude,
        found.longitude,
        altitude_m=site.altitude_m,
        timezone=site.timezone or found.timezone or None,
        name=found.label,
    )


def sky_of(
    site: Site, *, years: int, seed: int, step_h: float = 1.0, folder: Path | None = None
) -> SiteSky:
    """Find the sky of a site: the table, the person's own figures, or a weather file.

    Parameters
    ----------
    site : Site
        As in the document.
    years : int
        Years to draw; measured years are taken as many as there are.
    seed : int
        Of the weather generator.
    step_h : float
        Length of a step [h].
    folder : Path, optional
        Where a relative ``weather_file`` is looked for; the current directory by default.

    Returns
    -------
    SiteSky

    Raises
    ------
    InputError
        When the place or the weather cannot be used.
    """
    place = place_of(site)
    grid = TimeGrid.for_latitude(place.latitude, step_h=step_h)
    weather: Weather | None = None
    notes: tuple[str, ...] = ()
    measured = False
    if site.weather_file is not None:
        read = _own_weather(site.weather_file, folder or Path(), place, grid)
        climate, weather, notes = read.climate, read.weather, read.notes
        if site.monthly_sun_kwh_m2_day is not None:
            named = Path(site.weather_file).name
            told = phrase("{named} is used; the monthly sun typed in is left aside.", named=named)
            climate = replace(climate, notes=(*climate.notes, told))
        measured = weather is not None
    else:
        climate = climate_of(
            place,
            monthly_ghi_kwh_m2_day=site.monthly_sun_kwh_m2_day,
            monthly_temperature_c=site.monthly_temperature_c,
        )
    if weather is None:
        weather = weather_years(climate, years=years, seed=seed, step_h=step_h)
    return SiteSky(
        place=place,
        climate=climate,
        weather=weather,
        horizon=horizon_of(site),
        albedo=float(np.mean(site.albedo)),
        losses=_stated_losses(site, climate),
        measured=measured,
        notes=(*climate.notes, *(note for note in notes if note not in climate.notes)),
    )


def _own_weather(file: str, folder: Path, place: Place, grid: TimeGrid) -> FileWeather:
    """Read a weather file; what is wrong with it is said of the field that names it."""
    from sunpantry.sky.files import read_weather_file

    path = folder / file
    named = f'"{Path(file).name or file}"'
    try:
        return read_weather_file(path, place, grid)
    except WeatherError as error:
        why, _, remedy = str(error).removeprefix(f"{path.name}: ").rpartition("; ")
        raise InputError.one("site.weather_file", named, why, remedy) from error
    except InputError as error:
        raise InputError(
            Problem(
                "site.weather_file", named, f"{one.where} = {one.value}: {one.allowed}", one.remedy
            )
            for one in error.problems
        ) from error


def _stated_losses(site: Site, climate: Climate) -> MonthlyLosses | None:
    if site.soiling_pct is None and site.snow_pct is None:
        return None
    usual = default_losses(climate.monthly_temperature_c, tilt_deg=USUAL_TILT_DEG)
    soiling = usual.soiling if site.soiling_pct is None else _twelve(site.soiling_pct)
    snow = usual.snow if site.snow_pct is None else _twelve(site.snow_pct)
    return MonthlyLosses(soiling=soiling, snow=snow)


def _twelve(percent: float | tuple[float, ...]) -> tuple[float, ...]:
    each = percent if isinstance(percent, tuple) else (percent,) * 12
    return tuple(value / 100.0 for value in each)

"""Where the sun stands through a year, and what it would give without clouds."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sunpantry.sky.clearness import SOLAR_CONSTANT_W_M2
from sunpantry.sky.place import Place
from sunpantry.timegrid import NOMINAL_YEAR, FloatArray, TimeGrid

BoolArray = NDArray[np.bool_]

# The sun is placed this often within a step, so that hours of sunrise are right.
SUBSTEP_H = 0.25
# Upper edge of the sun on the horizon, with refraction.
SUNRISE_ELEVATION_DEG = -0.833


@dataclass(frozen=True, eq=False)
class SunYear:
    """The sun over one year at a place; every year is taken to be the same.

    Parameters
    ----------
    grid : TimeGrid
        The steps.
    elevation_deg, azimuth_deg : ndarray, shape (steps, substeps)
        True elevation and azimuth (clockwise from north) within each step [°].
    cos_zenith : ndarray, shape (steps,)
        Mean over the step of the sine of the elevation while the sun is up [-].
    up_fraction : ndarray, shape (steps,)
        Share of the step with the sun up [-].
    extraterrestrial_w_m2 : ndarray, shape (steps,)
        Irradiance square to the sun above the atmosphere [W/m²].
    clear_ghi_w_m2 : ndarray, shape (steps,)
        Global irradiance on the flat under a clear sky, step mean (Haurwitz) [W/m²].
    """

    grid: TimeGrid
    elevation_deg: FloatArray
    azimuth_deg: FloatArray
    cos_zenith: FloatArray
    up_fraction: FloatArray
    extraterrestrial_w_m2: FloatArray
    clear_ghi_w_m2: FloatArray

    @property
    def zenith_up_deg(self) -> FloatArray:
        """Effective zenith angle while the sun is up, 90 in the night, shape (steps,) [°]."""
        mean = np.divide(
            self.cos_zenith,
            self.up_fraction,
            out=np.zeros_like(self.cos_zenith),
            where=self.up_fraction > 0.0,
        )
        return np.asarray(np.degrees(np.arccos(np.clip(mean, 0.0, 1.0))))


def sun_year(place: Place, grid: TimeGrid) -> SunYear:
    """Place the sun through a year.

    Parameters
    ----------
    place : Place
        Where.
    grid : TimeGrid
        The steps.

    Returns
    -------
    SunYear
        Kept for the next call with the same place and grid.

    References
    ----------
    I. Reda and A. Andreas, *Solar position algorithm*, NREL/TP-560-34302 (2008), through
    pvlib; B. Haurwitz, *J. Meteorology* 2 (1945) 154, through pvlib.
    """
    return _sun_year(place.latitude, place.longitude, grid)


@lru_cache(maxsize=8)
def _sun_year(latitude: float, longitude: float, grid: TimeGrid) -> SunYear:
    import pandas as pd
    from pvlib import clearsky, irradiance, solarposition

    substeps = max(2, round(grid.step_h / SUBSTEP_H))
    width_s = round(3600.0 * grid.step_h / substeps)
    inside_s = (np.arange(substeps) + 0.5) * width_s
    day_s = (grid.day_of_year - 1) * 86400.0 + grid.hour_utc * 3600.0
    start = np.datetime64(f"{NOMINAL_YEAR}-01-01T00:00:00", "s")
    seconds = (day_s[:, None] + inside_s[None, :]).ravel()
    times = pd.DatetimeIndex(start + seconds.astype("timedelta64[s]"), tz="UTC")
    position = solarposition.get_solarposition(times, latitude, longitude, method="nrel_numpy")
    elevation = position["elevation"].to_numpy(dtype=np.float64)
    shape = (grid.steps_per_year, substeps)
    sine = np.maximum(np.sin(np.radians(elevation)), 0.0)
    clear = clearsky.haurwitz(pd.Series(90.0 - elevation))["ghi"].to_numpy(dtype=np.float64)
    extra = irradiance.get_extra_radiation(
        grid.day_of_year, solar_constant=SOLAR_CONSTANT_W_M2, method="spencer"
    )
    return SunYear(
        grid=grid,
        elevation_deg=elevation.reshape(shape),
        azimuth_deg=position["azimuth"].to_numpy(dtype=np.float64).reshape(shape),
        cos_zenith=sine.reshape(shape).mean(1),
        up_fraction=(sine > 0.0).reshape(shape).mean(1),
        extraterrestrial_w_m2=np.asarray(extra, dtype=np.float64),
        clear_ghi_w_m2=clear.reshape(shape).mean(1),
    )


@dataclass(frozen=True, eq=False)
class SunTimes:
    """Sunrise and sunset of each day of a grid.

    Parameters
    ----------
    rise_utc_h, set_utc_h : ndarray, shape (365,)
        Hours from the day's UTC midnight; below 0 or above 24 far from Greenwich, where a
        day's light runs into the neighbouring UTC day; NaN in polar day and night [h].
    noon_utc_h : ndarray, shape (365,)
        Solar noon, hours from the day's UTC midnight [h].
    day_length_h : ndarray, shape (365,)
        0 in polar night, 24 in polar day [h].
    polar_day, polar_night : ndarray of bool, shape (365,)
        The sun does not set, or does not rise.
    """

    rise_utc_h: FloatArray
    set_utc_h: FloatArray
    noon_utc_h: FloatArray
    day_length_h: FloatArray
    polar_day: BoolArray
    polar_night: BoolArray


def sun_times(
    place: Place, grid: TimeGrid, *, elevation_deg: float = SUNRISE_ELEVATION_DEG
) -> SunTimes:
    """Tell when the sun rises and sets.

    Parameters
    ----------
    place : Place
        Where.
    grid : TimeGrid
        Its days, in its order.
    elevation_deg : float
        Elevation of the sun's centre that counts as rising; -0.833 is its upper edge with
        refraction, -6 civil twilight [°].

    Returns
    -------
    SunTimes
        Within about two minutes below 60° of latitude, on a level horizon.

    References
    ----------
    J. W. Spencer, *Search* 2 (1971) 172, through pvlib.
    """
    from pvlib import solarposition

    days = grid.day_of_year[:: grid.steps_per_day]
    # Solar noon of a place falls a share of a day off UTC noon; the sun is taken there.
    at_noon = days - place.longitude / 360.0
    declination = np.asarray(solarposition.declination_spencer71(at_noon), dtype=np.float64)
    equation_min = np.asarray(solarposition.equation_of_time_spencer71(at_noon), dtype=np.float64)
    half_day = half_day_h(place.latitude, declination_rad=declination, elevation_deg=elevation_deg)
    noon = 12.0 - place.solar_offset_h - equation_min / 60.0
    polar_day, polar_night = half_day >= 12.0, half_day <= 0.0
    ordinary = ~(polar_day | polar_night)
    return SunTimes(
        rise_utc_h=np.where(ordinary, noon - half_day, np.nan),
        set_utc_h=np.where(ordinary, noon + half_day, np.nan),
        noon_utc_h=noon,
        day_length_h=2.0 * half_day,
        polar_day=polar_day,
        polar_night=polar_night,
    )


def half_day_h(
    latitude_deg: float, *, declination_rad: FloatArray, elevation_deg: float
) -> FloatArray:
    """Time from noon until the sun has sunk to an elevation.

    Parameters
    ----------
    latitude_deg : float
        Latitude, north positive [°].
    declination_rad : ndarray
        Declination of the sun [rad].
    elevation_deg : float
        Elevation of the sun's centre that counts as setting [°].

    Returns
    -------
    ndarray
        0 where it is never so high, 12 where it never sinks so low [h].
    """
    phi = np.radians(latitude_deg)
    below = np.sin(np.radians(elevation_deg)) - np.sin(phi) * np.sin(declination_rad)
    cosine = below / np.maximum(np.cos(phi) * np.cos(declination_rad), 1e-12)
    return np.asarray(np.degrees(np.arccos(np.clip(cosine, -1.0, 1.0))) / 15.0)

"""True north and south by the sun, and how far apart rows of panels must stand."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sunpantry.explain.conditions import utc_offset_h
from sunpantry.sky.place import Place
from sunpantry.sky.sun import sun_times
from sunpantry.timegrid import MONTH_LENGTHS, TimeGrid

# Days of the month the noon is told for; between them it moves by up to five minutes.
DAYS = (1, 11, 21)
# A shadow shorter than a quarter of the stick is hard to read.
_HIGHEST_DEG = math.degrees(math.atan(4.0))
_LOWEST_DEG = 2.0


@dataclass(frozen=True)
class ShadowNoon:
    """When a shadow points true north or south.

    Parameters
    ----------
    month, day : int
        1…12, day of the month.
    clock_h : float
        Clock time kept there at solar noon [h].
    points : str
        'north' or 'south': where the shadow falls; empty where the sun stands too high or
        does not rise.
    elevation_deg : float
        Height of the sun at that moment, above a level horizon [°].
    """

    month: int
    day: int
    clock_h: float
    points: str
    elevation_deg: float


def shadow_noons(place: Place) -> tuple[ShadowNoon, ...]:
    """Clock times at which a shadow points along the meridian.

    Parameters
    ----------
    place : Place
        Where.

    Returns
    -------
    tuple of ShadowNoon
        For the 1st, 11th and 21st of each month, January first; good to half a minute or
        so of the solar noon, which is a quarter of a degree in direction at middle
        latitudes.

    References
    ----------
    J. W. Spencer, *Search* 2 (1971) 172 (equation of time and declination), through pvlib.
    """
    from pvlib import solarposition

    grid = TimeGrid(step_h=1.0, start_day=1)
    noon_utc_h = sun_times(place, grid).noon_utc_h
    found = []
    for month, start in enumerate(np.concatenate(([0], np.cumsum(MONTH_LENGTHS)[:-1]))):
        for day in DAYS:
            index = int(start) + day - 1
            declination = math.degrees(
                float(solarposition.declination_spencer71(index + 1 - place.longitude / 360.0))
            )
            elevation = 90.0 - abs(place.latitude - declination)
            readable = _LOWEST_DEG <= elevation <= _HIGHEST_DEG
            away = "north" if place.latitude > declination else "south"
            found.append(
                ShadowNoon(
                    month=month + 1,
                    day=day,
                    clock_h=float(noon_utc_h[index]) + utc_offset_h(place.timezone, month, day=day),
                    points=away if readable else "",
                    elevation_deg=elevation,
                )
            )
    return tuple(found)


def row_pitch_m(*, latitude: float, tilt_deg: float, length_m: float) -> float | None:
    """Distance from the front edge of one row to that of the next.

    Parameters
    ----------
    latitude : float
        Latitude [°].
    tilt_deg : float
        Tilt of the panels, facing the equator [°].
    length_m : float
        Length of a panel up the slope [m].

    Returns
    -------
    float or None
        So that no row shades the next at noon on the shortest day, on level ground [m];
        ``None`` where the sun does not rise on that day.

    References
    ----------
    Plane geometry; declination at the solstice 23.44°.
    """
    elevation = 90.0 - (abs(latitude) + 23.44)
    if elevation < _LOWEST_DEG:
        return None
    tilt = math.radians(tilt_deg)
    shadow = math.sin(tilt) / math.tan(math.radians(elevation))
    return length_m * (math.cos(tilt) + shadow)

"""What a reader must know of the climate of a place."""

from __future__ import annotations

import numpy as np

from sunpantry.phrases import phrase
from sunpantry.sky.clearness import extraterrestrial_kwh_m2_day
from sunpantry.sky.place import Place

# Shores under low cloud for months on end, as latitude and longitude from north to south (an
# atlas, from memory): a cell of 3° averages the cloud away with the clear land behind it, and
# the table is some 5 to 20 % bright there (yearly sun of ten towns, from memory).
FOG_SHORES = (
    ((-7.0, -79.8), (-9.0, -78.6), (-12.0, -77.1), (-14.0, -76.3), (-16.4, -73.2), (-17.0, -72.0),
     (-18.4, -70.35), (-22.0, -70.2), (-26.0, -70.65), (-30.0, -71.35), (-32.0, -71.5)),
    ((-17.5, 11.8), (-20.0, 13.2), (-22.7, 14.5), (-25.0, 14.85), (-26.6, 15.15), (-28.6, 16.45)),
)  # fmt: skip
# The cloud lies on low ground, within this much of the shore to the east of it.
FOG_REACH_DEG, FOG_TOP_M = 0.5, 500.0


def dark_notes(place: Place) -> tuple[str, ...]:
    """Where the sun stays down for days on end.

    Parameters
    ----------
    place : Place
        The place.
    """
    daily = extraterrestrial_kwh_m2_day(place.latitude, np.arange(1, 366) + 1.0)
    night = int((daily <= 0.0).sum())
    if night == 0:
        return ()
    return (
        phrase(
            "The sun stays down for about {night} days each winter: a battery alone cannot "
            "bridge that; plan another source for it.",
            night=night,
        ),
    )


def far_note(distance_km: float, spread: float, *, beyond: bool) -> str:
    """How far away the nearest data is, and what that means.

    Parameters
    ----------
    distance_km : float
        To the nearest cell of the table [km].
    spread : float
        One standard uncertainty of a month [-].
    beyond : bool
        The table says nothing of the place.
    """
    if beyond:
        guess = phrase("a rough guess for an island or a polar place")
    else:
        guess = phrase("uncertain")
    return phrase(
        "The nearest data is {distance:.0f} km away: the sun here is {guess} (±{spread:.0%}). "
        "Type in the monthly sun (kWh/m² a day) if you can find it.",
        distance=distance_km,
        guess=guess,
        spread=spread,
    )


def fog_note(place: Place, spread: float) -> str:
    """Say that the table is bright on a shore under low cloud.

    Parameters
    ----------
    place : Place
        The place.
    spread : float
        One standard uncertainty of a month there [-].

    Returns
    -------
    str
        Empty anywhere else.
    """
    for shore in FOG_SHORES:
        south, east = np.array(shore[::-1]).T
        if not south[0] <= place.latitude <= south[-1] or place.altitude_m > FOG_TOP_M:
            continue
        inland_deg = place.longitude - float(np.interp(place.latitude, south, east))
        if abs(inland_deg) <= FOG_REACH_DEG:
            return phrase(
                "This coast lies under low cloud for months on end, which the table averages away "
                "with the clear land behind it: the sun here can be a fifth less (±{spread:.0%}). "
                "Type in the monthly sun (kWh/m² a day) if you can find it.",
                spread=spread,
            )
    return ""

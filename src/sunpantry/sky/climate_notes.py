"""What a reader must know of the climate of a place."""

from __future__ import annotations

import numpy as np

from sunpantry.phrases import phrase
from sunpantry.sky.clearness import extraterrestrial_kwh_m2_day
from sunpantry.sky.place import Place


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

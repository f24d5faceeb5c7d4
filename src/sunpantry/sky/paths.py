"""The way of the sun across the sky on chosen days, for drawing."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sunpantry.timegrid import NOMINAL_YEAR, FloatArray

_STEPS_PER_HOUR = 6


@dataclass(frozen=True, eq=False)
class SunPath:
    """One day's way of the sun.

    Parameters
    ----------
    month : int
        0 to 11; the day is the 21st.
    solar_h : ndarray, shape (steps,)
        True solar time, 12 when the sun stands highest [h].
    azimuth_deg, elevation_deg : ndarray, shape (steps,)
        Where it stands, geometrically; below zero is under a level horizon [°].
    """

    month: int
    solar_h: FloatArray
    azimuth_deg: FloatArray
    elevation_deg: FloatArray


def sun_path(latitude: float, month: int) -> SunPath:
    """Follow the sun through the 21st of a month.

    Parameters
    ----------
    latitude : float
        Latitude [°].
    month : int
        0 to 11.

    Returns
    -------
    SunPath
        Every ten minutes, in the nominal year.

    References
    ----------
    I. Reda and A. Andreas, *Solar position algorithm*, NREL/TP-560-34302 (2008), and J. W.
    Spencer, *Search* 2 (1971) 172, for the equation of time, through pvlib.
    """
    import pandas as pd
    from pvlib import solarposition

    midnight = pd.Timestamp(NOMINAL_YEAR, month + 1, 21, tz="UTC")
    minutes = float(solarposition.equation_of_time_spencer71(midnight.day_of_year))
    solar_h = np.linspace(0.0, 24.0, 24 * _STEPS_PER_HOUR + 1)
    clock = midnight + pd.to_timedelta(solar_h * 60.0 - minutes, unit="min")
    place = solarposition.get_solarposition(pd.DatetimeIndex(clock), latitude, 0.0)
    return SunPath(
        month=month,
        solar_h=solar_h,
        azimuth_deg=place["azimuth"].to_numpy(dtype=np.float64),
        elevation_deg=place["elevation"].to_numpy(dtype=np.float64),
    )

"""How warm a battery is where it stands: air temperature, delayed and evened out.

A battery in its enclosure follows the air as a first-order lag. Time constants are
common practice, no source: a 100 Ah lead-acid battery of 30 kg holds about 7 Wh/K, so a
loose box gives some ten hours and a buried one weeks.

    T' = T_air + (T - T_air) · exp(-Δ/τ)

Validity: a battery of about 30 to 300 Ah; a smaller one follows the air faster. Departures:
its own heat is left out (a degree or two in small systems), and so is sun on the box; the
ground round a buried one is taken as the month's mean air.

References
----------
First-order lag of a lumped heat capacity: any textbook of heat transfer. Time constants:
common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sunpantry.timegrid import FloatArray


@dataclass(frozen=True, slots=True)
class Housing:
    """Where a battery stands.

    Parameters
    ----------
    lag_h : float
        Time constant of the lag behind the air [h].
    lowest_c : float or None
        Temperature below which the place does not fall [°C]; ``None``: no such.
    """

    lag_h: float
    lowest_c: float | None = None


HOUSINGS: dict[str, Housing] = {
    "outdoors": Housing(lag_h=4.0),
    "shed": Housing(lag_h=14.0),
    "house": Housing(lag_h=48.0, lowest_c=15.0),
    "buried": Housing(lag_h=24.0 * 30),
}


def housed_temperature_c(
    air_temperature_c: FloatArray, *, housing: str, step_h: float
) -> FloatArray:
    """Temperature of a battery through the years.

    Parameters
    ----------
    air_temperature_c : numpy.ndarray
        Interval means of the air temperature, shape (years, steps) [°C].
    housing : str
        Key of :data:`HOUSINGS`.
    step_h : float
        Length of a step [h].

    Returns
    -------
    numpy.ndarray
        Shape (years * steps,) [°C], starting in balance with the mean of the first month.
    """
    from scipy.signal import lfilter

    kind = HOUSINGS[housing]
    air = np.ascontiguousarray(air_temperature_c, dtype=np.float64).reshape(-1)
    keep = float(np.exp(-step_h / kind.lag_h))
    start = float(air[: round(30 * 24 / step_h)].mean())
    lagged, _ = lfilter([1.0 - keep], [1.0, -keep], air, zi=[keep * start])
    if kind.lowest_c is not None:
        lagged = np.maximum(lagged, kind.lowest_c)
    return np.ascontiguousarray(lagged)

"""Dirt and snow on the panels, as one share a month."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sunpantry.timegrid import FloatArray

# Rained-on panels in a green country: common practice, no source.
SOILING_FRACTION = 0.02
# A month at -10 °C loses this share on a panel at 30°: common practice, no source.
SNOW_FRACTION_AT_MINUS_10 = 0.20
SNOW_STARTS_C = 1.0
STEEP_DEG, SHALLOW_DEG = 70.0, 30.0


@dataclass(frozen=True)
class MonthlyLosses:
    """Shares of the light lost before it reaches the cells, January first.

    Parameters
    ----------
    soiling : tuple of 12 floats
        Dirt, 0…1 [-].
    snow : tuple of 12 floats
        Snow lying on the panels, 0…1 [-].
    """

    soiling: tuple[float, ...] = (SOILING_FRACTION,) * 12
    snow: tuple[float, ...] = (0.0,) * 12

    @property
    def passed(self) -> FloatArray:
        """Share of the light that gets through, shape (12,) [-]."""
        return (1.0 - np.array(self.soiling)) * (1.0 - np.array(self.snow))


NO_LOSSES = MonthlyLosses(soiling=(0.0,) * 12)


def default_losses(monthly_temperature_c: FloatArray, *, tilt_deg: float) -> MonthlyLosses:
    """Losses to expect when nothing is known.

    Parameters
    ----------
    monthly_temperature_c : ndarray, shape (12,)
        Mean air temperature [°C].
    tilt_deg : float
        Tilt of the panels; steep ones shed their snow [°].

    Returns
    -------
    MonthlyLosses
        Soiling of 2 %; snow from nothing at +1 °C to a fifth at -10 °C and no more, for
        tilts up to 30°, falling to a quarter of that at 70°.
    """
    cold = np.clip((SNOW_STARTS_C - monthly_temperature_c) / (SNOW_STARTS_C + 10.0), 0.0, 1.0)
    lying = 1.0 - 0.75 * np.clip((tilt_deg - SHALLOW_DEG) / (STEEP_DEG - SHALLOW_DEG), 0.0, 1.0)
    snow = SNOW_FRACTION_AT_MINUS_10 * cold * lying
    return MonthlyLosses(snow=tuple(float(share) for share in snow))

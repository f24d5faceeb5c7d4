"""Constants of the weather generator, by climate.

All were fitted to open daily series of measured stations (De Bilt, Dublin and Bern among
them): see ``docs/sky.md`` for the figures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

POOLED_LAG1 = 0.29


@dataclass(frozen=True)
class Variability:
    """How one day hangs together with the next.

    Parameters
    ----------
    lag1 : float
        Correlation of the normal score of Kt from one day to the next, mean of the year.
    slow_share : float
        Share of the score's variance that comes from the slow component.
    slow_lag1 : float
        Day-to-day correlation of the slow component.
    temperature_lag1 : float
        Day-to-day correlation of the temperature anomaly.
    temperature_sd_cold_k, temperature_sd_warm_k : float
        Standard deviation of the daily anomaly in the coldest and the warmest season [K].
    cloud_mean, cloud_swing : float
        Correlation of the anomaly with the score: mean - swing · cos(season), season 0 in
        midwinter; a clear winter day is cold, a clear summer day is warm.
    hourly_lag1 : float
        Correlation of the clear-sky index from one hour to the next.
    """

    lag1: float = POOLED_LAG1
    slow_share: float = 0.08
    slow_lag1: float = 0.92
    temperature_lag1: float = 0.75
    temperature_sd_cold_k: float = 3.0
    temperature_sd_warm_k: float = 2.0
    cloud_mean: float = 0.0
    cloud_swing: float = 0.0
    hourly_lag1: float = 0.70


def variability_of(latitude: float, *, yearly_range_k: float) -> Variability:
    """Choose the constants for a climate.

    Parameters
    ----------
    latitude : float
        Latitude [°].
    yearly_range_k : float
        Warmest less coldest monthly mean temperature [K].

    Returns
    -------
    Variability
    """
    away = abs(latitude)
    temperate = float(np.clip((away - 20.0) / 10.0, 0.0, 1.0))
    local_lag1 = float(np.clip(0.11 + 0.0136 * yearly_range_k, 0.15, 0.42))
    mean, swing = _cloud_correlation(away, yearly_range_k)
    return Variability(
        lag1=temperate * local_lag1 + (1.0 - temperate) * POOLED_LAG1,
        temperature_lag1=float(np.clip(0.61 + 0.0093 * yearly_range_k, 0.65, 0.83)),
        temperature_sd_cold_k=max(0.75 + 0.20 * yearly_range_k, 1.0),
        temperature_sd_warm_k=max(0.96 + 0.10 * yearly_range_k, 1.0),
        cloud_mean=mean,
        cloud_swing=swing,
    )


def _cloud_correlation(away_deg: float, yearly_range_k: float) -> tuple[float, float]:
    """Blend the three measured regimes: maritime and continental beyond 45°, and 25-45°."""
    continental = float(np.clip((yearly_range_k - 10.0) / 3.0, 0.0, 1.0))
    high = (-0.15 + 0.20 * continental, 0.25 + 0.15 * continental)
    northward = float(np.clip((away_deg - 40.0) / 10.0, 0.0, 1.0))
    middle = (0.15, 0.35)
    mean = northward * high[0] + (1.0 - northward) * middle[0]
    swing = northward * high[1] + (1.0 - northward) * middle[1]
    tropical = float(np.clip((30.0 - away_deg) / 10.0, 0.0, 1.0))
    return mean + tropical * (0.3 - mean), swing * (1.0 - tropical)

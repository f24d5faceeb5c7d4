"""Daily clearness index: extraterrestrial radiation, quantile functions, and their reshaping.

The clearness index Kt of a day is its global horizontal irradiation over what would
arrive with no atmosphere, H0. A month's days are described by a *quantile function*:
Kt at the probabilities :data:`LEVELS`, linear in between.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

SOLAR_CONSTANT_W_M2 = 1361.0
# Mid-month days of the year (1-based) on which a month's quantile function is taken to hold.
MID_MONTH_DAY = np.array(
    [15.5, 45.0, 74.5, 105.0, 135.5, 166.0, 196.5, 227.5, 258.0, 288.5, 319.0, 349.5]
)
# Probabilities of the stored quantiles, closer together in the tails.
LEVELS = np.array(
    [0.0, 0.02, 0.05, 0.10, 0.18, 0.27, 0.36, 0.45, 0.54, 0.63, 0.72, 0.80, 0.87, 0.93, 0.97, 1.0]
)
# Weight of each stored quantile in the mean of the piecewise linear quantile function.
MEAN_WEIGHTS = np.zeros_like(LEVELS)
MEAN_WEIGHTS[:-1] += 0.5 * np.diff(LEVELS)
MEAN_WEIGHTS[1:] += 0.5 * np.diff(LEVELS)

DARKEST_DAY_KT = 0.02


def extraterrestrial_kwh_m2_day(latitude_deg: ArrayLike, day_of_year: ArrayLike) -> FloatArray:
    """Irradiation on a horizontal plane above the atmosphere in a whole day.

    Parameters
    ----------
    latitude_deg : array-like
        Latitude, north positive [°].
    day_of_year : array-like
        Day of the year, 1 = 1 January; broadcast against ``latitude_deg``.

    Returns
    -------
    ndarray
        H0 [kWh/m²/day]; zero in the polar night.

    Notes
    -----
    H0 = (24/π) Gsc E0 (ωs sin φ sin δ + cos φ cos δ sin ωs), with Spencer's Fourier
    series for the declination δ and the eccentricity E0, and Gsc = 1361 W/m².

    References
    ----------
    R. G. Allen et al., *Crop evapotranspiration*, FAO Irrigation and Drainage Paper 56
    (1998), eq. 21 and 25; J. W. Spencer, *Search* 2 (1971) 172.
    """
    b = 2.0 * np.pi * (np.asarray(day_of_year, dtype=np.float64) - 1.0) / 365.0
    declination = (
        0.006918
        - 0.399912 * np.cos(b)
        + 0.070257 * np.sin(b)
        - 0.006758 * np.cos(2 * b)
        + 0.000907 * np.sin(2 * b)
        - 0.002697 * np.cos(3 * b)
        + 0.00148 * np.sin(3 * b)
    )
    eccentricity = (
        1.00011
        + 0.034221 * np.cos(b)
        + 0.00128 * np.sin(b)
        + 0.000719 * np.cos(2 * b)
        + 0.000077 * np.sin(2 * b)
    )
    return daily_on_flat_kwh_m2(
        latitude_deg, declination_rad=declination, eccentricity=eccentricity
    )


def daily_on_flat_kwh_m2(
    latitude_deg: ArrayLike, *, declination_rad: FloatArray, eccentricity: FloatArray
) -> FloatArray:
    """Irradiation on a horizontal plane above the atmosphere, for a given sun.

    Parameters
    ----------
    latitude_deg : array-like
        Latitude, north positive [°].
    declination_rad : ndarray
        Declination of the sun [rad].
    eccentricity : ndarray
        Square of mean over actual distance of the sun [-].

    Returns
    -------
    ndarray
        H0 [kWh/m²/day].

    References
    ----------
    FAO-56 (1998), eq. 21 and 25.
    """
    phi = np.radians(np.asarray(latitude_deg, dtype=np.float64))
    sunset = np.arccos(np.clip(-np.tan(phi) * np.tan(declination_rad), -1.0, 1.0))
    daily = sunset * np.sin(phi) * np.sin(declination_rad) + np.cos(phi) * np.cos(
        declination_rad
    ) * np.sin(sunset)
    return np.asarray(
        24.0 / np.pi * SOLAR_CONSTANT_W_M2 / 1000.0 * eccentricity * np.maximum(daily, 0.0)
    )


def clear_day_kt(altitude_m: ArrayLike) -> FloatArray:
    """Daily clearness index of a cloudless day.

    Parameters
    ----------
    altitude_m : array-like
        Altitude [m].

    Returns
    -------
    ndarray
        Kt of a clear day [-].

    Notes
    -----
    Departure from the source: 0.78 where FAO-56 has 0.75, because the measured
    clearest days of the stations lie above the FAO line.

    References
    ----------
    FAO-56 (1998), eq. 37: Rso = (0.75 + 2e-5 z) Ra.
    """
    result: FloatArray = 0.78 + 2e-5 * np.asarray(altitude_m, dtype=np.float64)
    return result


def mean_kt(quantiles: FloatArray) -> FloatArray:
    """Mean of quantile functions.

    Parameters
    ----------
    quantiles : ndarray, shape (..., len(LEVELS))
        Kt at :data:`LEVELS` [-].

    Returns
    -------
    ndarray, shape (...)
        Mean Kt [-].
    """
    result: FloatArray = quantiles @ MEAN_WEIGHTS
    return result


def reshape_to_mean(
    quantiles: FloatArray, target: FloatArray, *, clear_kt: FloatArray
) -> FloatArray:
    """Bend quantile functions so that their means become the targets.

    Half of the change (in ratio) is made by a power law that leaves a clear day where
    it is, half by plain scaling. Scaling alone would make the clear days of a darkened
    climate too dull; the power law alone would make its dull days too dark.

    Parameters
    ----------
    quantiles : ndarray, shape (n, len(LEVELS))
        Kt at :data:`LEVELS` [-], rising along the last axis.
    target : ndarray, shape (n,)
        Wanted mean Kt [-].
    clear_kt : ndarray, shape (n,)
        Kt of a clear day [-], the fixed point of the power law.

    Returns
    -------
    ndarray, shape (n, len(LEVELS))
        Quantiles whose means are the targets, to rounding.
    """
    before = mean_kt(quantiles)
    halfway = np.sqrt(before * target)
    top = np.maximum(clear_kt, quantiles[:, -1])[:, None]
    share = np.maximum(quantiles, 1e-6) / top
    low, high = np.full(len(target), 0.3), np.full(len(target), 3.0)
    for _ in range(40):
        gamma = 0.5 * (low + high)
        too_bright = mean_kt(top * share ** gamma[:, None]) > halfway
        low, high = np.where(too_bright, gamma, low), np.where(too_bright, high, gamma)
    bent = top * share ** (0.5 * (low + high))[:, None]
    result: FloatArray = bent * (target / mean_kt(bent))[:, None]
    return result

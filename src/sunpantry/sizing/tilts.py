"""Tilts worth trying: between the best of the year and the best of the darkest month."""

from __future__ import annotations

import numpy as np

from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import FloatArray

_STEP_DEG = 5.0
_WIDEST_GAP_DEG = 15.0
# An upright panel also sees the snow off and the frost away: never left out by accident.
_STEEPEST_DEG = 90.0


def tilt_candidates(
    setting: Setting, azimuth_deg: float, *, seasonal: bool = False
) -> tuple[tuple[float, ...], ...]:
    """Tilts for the search to choose from, the best for the darkest month first.

    Parameters
    ----------
    setting : Setting
        Sky and demand; the light of its first years is looked at.
    azimuth_deg : float
        Compass direction faced [°].
    seasonal : bool
        Also offer one pair of tilts for the two halves of the year.

    Returns
    -------
    tuple of tuple of float
        Each twelve tilts, January first [°].
    """
    fine, by_month = _light_by_tilt(setting, azimuth_deg)
    darkest = darkest_month(by_month)
    steep = float(fine[np.argmax(by_month[:, darkest])])
    shallow = float(fine[np.argmax(by_month.sum(axis=1))])
    low, high = min(steep, shallow), max(steep, shallow)
    steps = max(int(np.ceil((high - low) / _WIDEST_GAP_DEG)), 1)
    between = np.round(np.linspace(low, high, steps + 1) / _STEP_DEG) * _STEP_DEG
    others = sorted({float(one) for one in between} - {steep}, key=lambda one: abs(one - steep))
    fixed = [(one,) * 12 for one in (steep, *others)]
    if not seasonal:
        return tuple(fixed)
    dark_half = np.zeros(12, dtype=bool)
    dark_half[[9, 10, 11, 0, 1, 2]] = True
    if darkest in range(3, 9):
        dark_half = ~dark_half
    cold = float(fine[np.argmax(by_month[:, dark_half].sum(axis=1))])
    warm = float(fine[np.argmax(by_month[:, ~dark_half].sum(axis=1))])
    return (*fixed, tuple(cold if dark else warm for dark in dark_half))


def best_tilt(setting: Setting, azimuth_deg: float, aim: str) -> float:
    """The fixed tilt that gathers most light, whatever the loads.

    Parameters
    ----------
    setting : Setting
        Sky; the light of its first years is looked at.
    azimuth_deg : float
        Compass direction faced [°].
    aim : str
        'year', or 'darkest month'.

    Returns
    -------
    float
        To five degrees [°].
    """
    fine, by_month = _light_by_tilt(setting, azimuth_deg)
    light = by_month[:, darkest_month(by_month)] if aim == "darkest month" else by_month.sum(axis=1)
    return float(fine[np.argmax(light)])


def darkest_month(by_month: FloatArray) -> int:
    """Month in which the best of some planes (rows) gets least, polar night left out, 0 to 11."""
    best_month = by_month.max(axis=0)
    return int(np.argmin(np.where(best_month > 0.1, best_month, np.inf)))


def _light_by_tilt(setting: Setting, azimuth_deg: float) -> tuple[FloatArray, FloatArray]:
    """Tilts every five degrees, and the light on them by month, shape (tilts, 12)."""
    looked_at = setting.excerpt(range(min(setting.years, 3)))
    slopes = np.arange(0.0, _STEEPEST_DEG + 1e-9, 3.0 * _STEP_DEG)
    light = np.stack([monthly_light(looked_at, slope, azimuth_deg) for slope in slopes])
    fine = np.arange(0.0, _STEEPEST_DEG + 1e-9, _STEP_DEG)
    return fine, np.stack([_through(slopes, month, fine) for month in light.T], axis=1)


def monthly_light(setting: Setting, slope_deg: float, azimuth_deg: float) -> FloatArray:
    """Light on a plane by month, dirt and snow included, in arbitrary units."""
    mean = setting.plane((float(slope_deg),) * 12, azimuth_deg).poa_w_m2.mean(axis=0)
    months = np.bincount(setting.month_of, minlength=12)
    return np.bincount(setting.month_of, weights=mean, minlength=12) / months


def _through(slopes: FloatArray, light: FloatArray, fine: FloatArray) -> FloatArray:
    from scipy.interpolate import CubicSpline

    return np.asarray(CubicSpline(slopes, light)(fine))

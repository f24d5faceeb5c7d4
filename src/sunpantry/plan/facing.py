"""What 'best' means for an array at its place, as far as the search is not to decide it.

The search tries tilts for the promise. Which way an array faces is settled before: toward
the equator, or past what stands in the way of it; and so is a tilt that shall be best for
the year or for the darkest month whatever the loads are.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sunpantry.design.models import Design
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.resolve import ArrayKit, Kit, resolve_kit
from sunpantry.plan.direct_pump import OPEN_ARRAY
from sunpantry.simulate.setting import Setting
from sunpantry.sizing.tilts import best_tilt, darkest_month, monthly_light

# Directions tried round the one toward the equator [°].
_STEP_DEG, _WIDEST_DEG = 15.0, 90.0
# Turned away from the equator only where that brings this much more: less is chance.
_WORTH_TURNING = 1.02


def kit_of(design: Design, setting: Setting) -> Kit:
    """Everything the document says about the parts, open directions and aimed tilts settled.

    Parameters
    ----------
    design : Design
        The document.
    setting : Setting
        Sky and ground.

    Returns
    -------
    Kit
        Tilts to be chosen for the promise stay open.

    Raises
    ------
    PartError
        One problem for each unknown name and each contradiction on a label.
    """
    south = setting.weather.place.latitude < 0.0
    kit = resolve_kit(design, shipped_catalogue(), south=south)
    arrays = kit.arrays or ((OPEN_ARRAY,) if setting.ground.horizon is not None else ())
    return replace(kit, arrays=tuple(_faced(one, setting) for one in arrays))


def open_azimuth_deg(kit: Kit, setting: Setting) -> float:
    """Direction for which the tilts of the search are laid out [°]: the first open array's."""
    faced = [one.azimuth_deg for one in kit.arrays if one.tilt_deg is None]
    return equator_deg(setting) if not faced or faced[0] is None else faced[0]


def equator_deg(setting: Setting) -> float:
    """Compass direction of the equator [°]."""
    return 180.0 if setting.weather.place.latitude >= 0.0 else 0.0


def _faced(one: ArrayKit, setting: Setting) -> ArrayKit:
    azimuth_deg = one.azimuth_deg
    if azimuth_deg is None:
        azimuth_deg = best_azimuth(setting, one.azimuth_aim, tilt_deg=one.tilt_deg)
    tilt_deg = one.tilt_deg
    if tilt_deg is None and one.tilt_aim != "promise":
        tilt_deg = (best_tilt(setting, azimuth_deg, one.tilt_aim),) * 12
    return replace(one, azimuth_deg=azimuth_deg, tilt_deg=tilt_deg)


def best_azimuth(
    setting: Setting, aim: str = "promise", *, tilt_deg: tuple[float, ...] | None = None
) -> float:
    """Which way to face: toward the equator unless something stands there.

    Parameters
    ----------
    setting : Setting
        Sky and ground.
    aim : str
        'year'; 'darkest month', which also stands for the 'promise', since that is broken
        in the dark.
    tilt_deg : tuple of 12 floats, optional
        Tilt by month where it is fixed [°].

    Returns
    -------
    float
        To five degrees, at most 90° from the equator [°].
    """
    from scipy.interpolate import CubicSpline

    toward = equator_deg(setting)
    if setting.ground.horizon is None:
        return toward
    month_aim = "year" if aim == "year" else "darkest month"
    slope_deg = (
        float(np.mean(tilt_deg)) if tilt_deg is not None else best_tilt(setting, toward, month_aim)
    )
    turns = np.arange(-_WIDEST_DEG, _WIDEST_DEG + 1e-9, _STEP_DEG)
    by_month = np.stack(
        [monthly_light(setting, slope_deg, (toward + turn) % 360.0) for turn in turns]
    )
    dark = by_month[:, darkest_month(by_month)]
    light = CubicSpline(turns, by_month.sum(axis=1) if month_aim == "year" else dark)
    fine = np.arange(-_WIDEST_DEG, _WIDEST_DEG + 1e-9, 5.0)
    best = float(fine[np.argmax(light(fine))])
    return (toward + best) % 360.0 if light(best) > _WORTH_TURNING * light(0.0) else toward

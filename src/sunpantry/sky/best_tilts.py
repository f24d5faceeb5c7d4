"""The fixed tilts that gather most light over the year and over its dark parts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sunpantry.design.moments import MONTHS
from sunpantry.phrases import phrase
from sunpantry.sky.losses import NO_LOSSES
from sunpantry.sky.place import Place
from sunpantry.sky.plane import Skyline, light_on_plane
from sunpantry.sky.weather import Weather
from sunpantry.timegrid import MONTH_LENGTHS, FloatArray

# Tilts tried; a negative one faces away from the equator, which can pay in the tropics.
_STEP_DEG, _STEEPEST_DEG, _AWAY_DEG, _AWAY_LATITUDE = 10.0, 90.0, 40.0, 30.0
_COMPASS = (
    *(phrase("north"), phrase("north-east"), phrase("east"), phrase("south-east")),
    *(phrase("south"), phrase("south-west"), phrase("west"), phrase("north-west")),
)


def compass_word(azimuth_deg: float) -> str:
    """Nearest of the eight points of the compass to a direction [°]."""
    return _COMPASS[round(azimuth_deg / 45.0) % 8]


@dataclass(frozen=True, slots=True)
class BestTilt:
    """The fixed tilt that gathers most light over a stretch of the year.

    Parameters
    ----------
    over : str
        Which stretch, in words.
    tilt_deg : float
        Whole degrees from level [°].
    azimuth_deg : float
        Direction it faces [°].
    light_kwh_m2_day : float
        Mean light on it over the stretch, before glass and dirt [kWh/m²/day].
    """

    over: str
    tilt_deg: float
    azimuth_deg: float
    light_kwh_m2_day: float

    @property
    def words(self) -> str:
        """The tilt and where it faces; lying flat it faces nowhere."""
        if self.tilt_deg < 0.5:
            return phrase("flat")
        return phrase(
            "{tilt_deg:.0f}° facing {side}",
            tilt_deg=self.tilt_deg,
            side=compass_word(self.azimuth_deg),
        )


@dataclass(frozen=True, eq=False)
class TiltedLight:
    """Best tilts, and the months on the one for the year.

    Parameters
    ----------
    best : tuple of BestTilt
        For the year, the darkest month, and the dark half of the year.
    monthly_kwh_m2_day : ndarray, shape (12,)
        Light on the one for the year, what stands round it included [kWh/m²/day].
    monthly_shade_fraction : ndarray, shape (12,)
        Share of that light which what stands round it takes [-].
    """

    best: tuple[BestTilt, ...]
    monthly_kwh_m2_day: FloatArray
    monthly_shade_fraction: FloatArray


def best_tilts(
    place: Place,
    weather: Weather,
    *,
    darkest_month: int,
    horizon: Skyline | None,
    albedo: float,
) -> TiltedLight:
    """Find the best fixed tilts of a place.

    Light is a smooth function of tilt, so it is worked out every ten degrees and joined
    by a cubic spline, once for all three questions.

    Parameters
    ----------
    place : Place
        Where.
    weather : Weather
        Its years.
    darkest_month : int
        0 to 11.
    horizon : Skyline, optional
        What stands round the panels.
    albedo : float
        Share of the light the ground throws back [-].

    Returns
    -------
    TiltedLight
    """
    from scipy.interpolate import CubicSpline

    toward = 180.0 if place.latitude >= 0 else 0.0
    light = _light_by_tilt(place, weather, toward, albedo)
    flattest = -_AWAY_DEG if abs(place.latitude) < _AWAY_LATITUDE else 0.0
    tilts = np.arange(flattest, _STEEPEST_DEG + 1e-9, _STEP_DEG)
    curve = CubicSpline(tilts, np.stack([light(tilt, horizon) for tilt in tilts]))
    fine = np.arange(flattest, _STEEPEST_DEG + 1e-9, 1.0)
    monthly = np.asarray(curve(fine))
    winter = np.isin(np.arange(12), [9, 10, 11, 0, 1, 2] if toward == 180.0 else np.arange(3, 9))
    half = phrase("October to March") if toward == 180.0 else phrase("April to September")
    questions = (
        (phrase("the year"), np.ones(12)),
        (MONTHS[darkest_month], (np.arange(12) == darkest_month).astype(float)),
        (half, winter.astype(float)),
    )
    best = []
    for over, chosen in questions:
        weight = chosen * np.array(MONTH_LENGTHS)
        found = monthly @ weight / weight.sum()
        at = int(np.argmax(found))
        azimuth = toward if fine[at] >= 0 else (toward + 180.0) % 360.0
        best.append(BestTilt(over, float(abs(fine[at])), azimuth, float(found[at])))
    signed = best[0].tilt_deg if best[0].azimuth_deg == toward else -best[0].tilt_deg
    on_it = light(signed, horizon)
    in_the_open = on_it if horizon is None else light(signed, None)
    shade = 1.0 - on_it / np.maximum(in_the_open, 1e-9)
    return TiltedLight(tuple(best), on_it, np.where(in_the_open > 1e-6, shade, 0.0))


def _light_by_tilt(
    place: Place, weather: Weather, toward_deg: float, albedo: float
) -> Callable[[float, Skyline | None], FloatArray]:
    """Light by month on a tilt, negative away from the equator, under a skyline."""

    def light(signed_tilt_deg: float, horizon: Skyline | None) -> FloatArray:
        plane = light_on_plane(
            weather,
            place,
            tilt_deg=abs(signed_tilt_deg),
            azimuth_deg=toward_deg if signed_tilt_deg >= 0 else (toward_deg + 180.0) % 360.0,
            albedo=albedo,
            horizon=horizon,
            losses=NO_LOSSES,
            glass=False,
        )
        mean = plane.poa_w_m2.mean(0) * (weather.grid.step_h / 1000.0)
        monthly: FloatArray = np.bincount(weather.grid.month, mean) / np.array(MONTH_LENGTHS)
        return monthly

    return light

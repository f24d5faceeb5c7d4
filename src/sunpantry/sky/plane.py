"""Light on a tilted panel, and how warm it gets."""

from __future__ import annotations

import weakref
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import ArrayLike

from sunpantry.errors import InputError
from sunpantry.sky.cache import cached_arrays, content_key
from sunpantry.sky.losses import MonthlyLosses
from sunpantry.sky.place import Place
from sunpantry.sky.sun import SunYear, sun_year
from sunpantry.sky.weather import Weather
from sunpantry.timegrid import FloatArray, TimeGrid

GRASS_ALBEDO = 0.2
# Perez keeps the circumsolar ratio from running away when the sun is low.
_LOWEST_COS_ZENITH = float(np.cos(np.radians(85.0)))


class Skyline(Protocol):
    """What stands round the panels; :class:`sunpantry.sky.horizon.Horizon` is one."""

    def beam_factor(
        self, sun_azimuth_deg: ArrayLike, sun_elevation_deg: ArrayLike, month: ArrayLike
    ) -> FloatArray:
        """Share of the beam that reaches the panels."""

    def sky_view(self, tilt_deg: float, azimuth_deg: float, month: int) -> float:
        """Share of the isotropic sky light on the plane that is left."""


@dataclass(frozen=True, eq=False)
class PlaneLight:
    """Light that reaches the cells of a panel.

    Parameters
    ----------
    grid : TimeGrid
        The steps of each year.
    poa_w_m2 : ndarray, shape (years, steps)
        Effective irradiance: after shading, reflection at the glass, dirt and snow [W/m²].
    air_temperature_c : ndarray, shape (years, steps)
        Air temperature [°C].
    tilt_deg : tuple of 12 floats
        Tilt in each month [°].
    azimuth_deg : float
        Direction the panel faces, clockwise from north [°].
    """

    grid: TimeGrid
    poa_w_m2: FloatArray
    air_temperature_c: FloatArray
    tilt_deg: tuple[float, ...]
    azimuth_deg: float

    def cell_temperature_c(self, *, noct_c: float = 45.0) -> FloatArray:
        """Temperature of the cells.

        Parameters
        ----------
        noct_c : float
            Nominal operating cell temperature of the panel [°C].

        Returns
        -------
        ndarray, shape (years, steps)
            [°C].
        """
        return cell_temperature_c(self.poa_w_m2, self.air_temperature_c, noct_c=noct_c)


def cell_temperature_c(
    poa_w_m2: FloatArray, air_temperature_c: FloatArray, *, noct_c: float = 45.0
) -> FloatArray:
    """Temperature of the cells of an open-rack panel, from its label's NOCT.

    Parameters
    ----------
    poa_w_m2 : ndarray
        Irradiance on the panel [W/m²].
    air_temperature_c : ndarray
        Air temperature [°C].
    noct_c : float
        Nominal operating cell temperature (800 W/m², 20 °C, 1 m/s), 33…58 [°C].

    Returns
    -------
    ndarray
        Tair + G / 800 · (NOCT - 20) [°C].

    References
    ----------
    R. G. Ross, *Interface design considerations for terrestrial solar cell modules*,
    12th IEEE PVSC (1976) 801.
    """
    return np.asarray(air_temperature_c + poa_w_m2 * ((noct_c - 20.0) / 800.0))


def light_on_plane(
    weather: Weather,
    place: Place,
    *,
    tilt_deg: float | Sequence[float],
    azimuth_deg: float,
    albedo: float = GRASS_ALBEDO,
    horizon: Skyline | None = None,
    losses: MonthlyLosses | None = None,
    glass: bool = True,
) -> PlaneLight:
    """Light on a fixed panel, or on one whose tilt is changed by the season.

    Parameters
    ----------
    weather : Weather
        Years of sun and air.
    place : Place
        Where.
    tilt_deg : float or sequence of 12 floats
        Tilt from level, 0…90; one for the year or one for each month [°].
    azimuth_deg : float
        Direction the panel faces, clockwise from north [°].
    albedo : float
        Share of the light the ground throws back, 0…1 [-].
    horizon : Skyline, optional
        What stands round the panels; by default open, level ground.
    losses : MonthlyLosses, optional
        Dirt and snow; by default 2 % dirt and no snow.
    glass : bool
        Take off reflection at the glass.

    Returns
    -------
    PlaneLight

    Raises
    ------
    InputError
        If a tilt or the albedo is out of range.

    References
    ----------
    R. Perez et al., *Solar Energy* 44 (1990) 271 (anisotropic sky, all-sites composite),
    W. De Soto et al., *Solar Energy* 80 (2006) 78 (glass) and B. Marion, *Solar Energy*
    147 (2017) 344 (glass for sky and ground light), all through pvlib.
    """
    tilts = _monthly_tilts(tilt_deg)
    if not 0.0 <= albedo <= 1.0:
        raise InputError.one("albedo", albedo, "from 0 to 1", "0.2 is grass, 0.7 fresh snow")
    azimuth_deg = azimuth_deg % 360.0
    losses = losses or MonthlyLosses()

    def made() -> dict[str, FloatArray]:
        sun = sun_year(place, weather.grid)
        factors = _plane_factors(sun, tilts, azimuth_deg, horizon, glass=glass)
        return {"poa": _poa_w_m2(weather, sun, factors, albedo) * losses.passed[weather.grid.month]}

    try:
        key = content_key(
            "light", weather.fingerprint, place, tilts, azimuth_deg, albedo, horizon, losses, glass
        )
    except TypeError:  # a skyline of another kind, whose content cannot be told
        poa = made()["poa"]
    else:
        poa = cached_arrays(key, made)["poa"]
    return PlaneLight(
        grid=weather.grid,
        poa_w_m2=poa,
        air_temperature_c=weather.air_temperature_c,
        tilt_deg=tilts,
        azimuth_deg=azimuth_deg,
    )


def _poa_w_m2(weather: Weather, sun: SunYear, plane: _PlaneFactors, albedo: float) -> FloatArray:
    """Beam, sky and ground light on the plane, shape (years, steps)."""
    sky = _bright_sky(weather, sun)
    ratio = plane.beam / np.maximum(sun.cos_zenith, _LOWEST_COS_ZENITH * sun.up_fraction + 1e-9)
    poa = sky.even * plane.sky + sky.circumsolar * ratio + sky.horizon * plane.rim
    np.maximum(poa, 0.0, out=poa)
    poa += weather.dni_w_m2 * plane.beam
    poa += weather.ghi_w_m2 * (albedo * plane.ground)
    return poa


def _monthly_tilts(tilt_deg: float | Sequence[float]) -> tuple[float, ...]:
    tilts = (
        (float(tilt_deg),) * 12
        if isinstance(tilt_deg, int | float)
        else tuple(float(tilt) for tilt in tilt_deg)
    )
    if len(tilts) != 12 or not all(0.0 <= tilt <= 90.0 for tilt in tilts):
        raise InputError.one(
            "tilt", tilt_deg, "from 0 (flat) to 90 (upright) degrees, one or twelve", "check it"
        )
    return tilts


@dataclass(frozen=True, eq=False)
class _PlaneFactors:
    """What the plane makes of each kind of light, shapes (steps,)."""

    beam: FloatArray
    sky: FloatArray
    rim: FloatArray
    ground: FloatArray


def _plane_factors(
    sun: SunYear,
    tilts: tuple[float, ...],
    azimuth_deg: float,
    horizon: Skyline | None,
    *,
    glass: bool,
) -> _PlaneFactors:
    from pvlib import iam

    month = sun.grid.month
    tilt = np.radians(np.array(tilts))[month]
    elevation = np.radians(sun.elevation_deg)
    turn = np.radians(sun.azimuth_deg - azimuth_deg)
    cosine = (
        np.sin(elevation) * np.cos(tilt)[:, None]
        + np.cos(elevation) * np.cos(turn) * np.sin(tilt)[:, None]
    )
    reached = np.where(elevation > 0.0, np.maximum(cosine, 0.0), 0.0)
    if glass:
        angle = np.degrees(np.arccos(np.minimum(reached, 1.0)))
        reached = reached * np.nan_to_num(iam.physical(angle))
    if horizon is not None:
        reached = reached * horizon.beam_factor(sun.azimuth_deg, sun.elevation_deg, month[:, None])
    factors = np.empty((12, 3))
    for number, degrees in enumerate(tilts):
        through = _diffuse_glass(degrees) if glass else (1.0, 1.0, 1.0)
        seen = 1.0 if horizon is None else horizon.sky_view(degrees, azimuth_deg, number)
        slope = np.radians(degrees)
        factors[number] = (
            0.5 * (1.0 + np.cos(slope)) * through[0] * seen,
            np.sin(slope) * through[1] * seen,
            0.5 * (1.0 - np.cos(slope)) * through[2],
        )
    by_step = factors[month]
    return _PlaneFactors(reached.mean(1), by_step[:, 0], by_step[:, 1], by_step[:, 2])


_GLASS_MEMO: dict[float, tuple[float, float, float]] = {}


def _diffuse_glass(tilt_deg: float) -> tuple[float, float, float]:
    """Share of sky, horizon and ground light that passes the glass."""
    from pvlib import iam

    if tilt_deg not in _GLASS_MEMO:
        shares = iam.marion_diffuse("physical", tilt_deg)
        sky, rim, ground = (float(shares[key]) for key in ("sky", "horizon", "ground"))
        # A level plane sees neither rim nor ground, where the integrals have no value.
        _GLASS_MEMO[tilt_deg] = (
            sky,
            rim if np.isfinite(rim) else 1.0,
            ground if np.isfinite(ground) else 1.0,
        )
    return _GLASS_MEMO[tilt_deg]


@dataclass(frozen=True, eq=False)
class _BrightSky:
    """Diffuse light by where it comes from, on no particular plane [W/m²] (years, steps)."""

    even: FloatArray
    circumsolar: FloatArray
    horizon: FloatArray


_SKIES: weakref.WeakKeyDictionary[Weather, _BrightSky] = weakref.WeakKeyDictionary()


def _bright_sky(weather: Weather, sun: SunYear) -> _BrightSky:
    """Split the diffuse light after Perez; it does not depend on the plane, so once a weather.

    pvlib gives the parts on a plane; on an upright one facing the sun they lead straight
    back to the two brightness coefficients.
    """
    if weather in _SKIES:
        return _SKIES[weather]
    from pvlib import atmosphere, irradiance

    lit = np.nonzero(sun.cos_zenith > 0.0)[0]
    zenith = sun.zenith_up_deg[lit]
    shape = (weather.years, len(lit))
    diffuse = weather.dhi_w_m2[:, lit]
    spread = np.broadcast_to
    parts = irradiance.perez(
        90.0,
        180.0,
        diffuse.ravel(),
        weather.dni_w_m2[:, lit].ravel(),
        spread(sun.extraterrestrial_w_m2[lit], shape).ravel(),
        spread(zenith, shape).ravel(),
        180.0,
        spread(atmosphere.get_relative_airmass(zenith), shape).ravel(),
        return_components=True,
    )
    even_half, rim = (
        np.nan_to_num(np.asarray(parts[key], dtype=np.float64)).reshape(shape)
        for key in ("poa_isotropic", "poa_horizon")
    )
    even = np.zeros_like(weather.dhi_w_m2)
    circumsolar, horizon = even.copy(), even.copy()
    even[:, lit] = np.minimum(2.0 * even_half, diffuse)
    circumsolar[:, lit] = diffuse - even[:, lit]
    horizon[:, lit] = rim
    _SKIES[weather] = _BrightSky(even, circumsolar, horizon)
    return _SKIES[weather]

"""Years of weather, as every other room sees them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from sunpantry.sky.cache import content_key
from sunpantry.sky.place import Place
from sunpantry.timegrid import FloatArray, TimeGrid


@dataclass(frozen=True, eq=False)
class Weather:
    """Sun and air at a place over whole years; interval means, UTC.

    Parameters
    ----------
    place : Place
        Where.
    grid : TimeGrid
        The steps of each year.
    ghi_w_m2 : ndarray, shape (years, steps)
        Global irradiance on the flat [W/m²].
    dni_w_m2 : ndarray, shape (years, steps)
        Beam irradiance square to the sun, such that
        ``ghi = dni · cos_zenith + dhi`` with the interval's mean cosine [W/m²].
    dhi_w_m2 : ndarray, shape (years, steps)
        Diffuse irradiance on the flat [W/m²].
    air_temperature_c : ndarray, shape (years, steps)
        Air temperature at 2 m [°C].
    source : str
        Where it comes from.
    notes : tuple of str
        What a reader must know, in plain words.
    """

    place: Place
    grid: TimeGrid
    ghi_w_m2: FloatArray
    dni_w_m2: FloatArray
    dhi_w_m2: FloatArray
    air_temperature_c: FloatArray
    source: str
    notes: tuple[str, ...] = ()

    @cached_property
    def fingerprint(self) -> str:
        """Name for the content, for results that are made from it."""
        arrays = (self.ghi_w_m2, self.dni_w_m2, self.dhi_w_m2, self.air_temperature_c)
        return content_key(self.place, self.grid, *arrays)

    @property
    def years(self) -> int:
        """Number of years."""
        return int(self.ghi_w_m2.shape[0])

"""The climate table shipped with the package, and how to read it at any point.

Built by ``tools/build_climate.py``, which documents the sources and what was done to them.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from importlib.resources import files

import numpy as np
from numpy.typing import NDArray

from sunpantry.sky.clearness import LEVELS

FloatArray = NDArray[np.float64]

EARTH_RADIUS_KM = 6371.0
CELL_DEG = 3.0
TEMPERATURE_STEP_DEG = 0.5
# Where no cell is round the point, those this much farther than the nearest count too, the
# less the farther, so that the sun does not change by a step halfway between two cells [km].
NEAREST_BELT_KM = 150.0


@dataclass(frozen=True, eq=False)
class ClimateTable:
    """The decoded table.

    Parameters
    ----------
    latitude, longitude : ndarray, shape (cells,)
        Centres of the clearness cells [°].
    kt_quantiles : ndarray, shape (cells, 12, levels)
        Clearness index at the probabilities of :data:`~sunpantry.sky.clearness.LEVELS` [-].
    temperature_c : ndarray, shape (12, 361, 720)
        Monthly mean air temperature, rows from 90°N, columns from 0° eastwards [°C].
    altitude_m : ndarray, shape (361, 720)
        Mean altitude of the temperature cells; sea counts as 0 [m].
    """

    latitude: FloatArray
    longitude: FloatArray
    kt_quantiles: FloatArray
    temperature_c: FloatArray
    altitude_m: FloatArray


@lru_cache(maxsize=1)
def climate_table() -> ClimateTable:
    """Decode the shipped table, once a process.

    Returns
    -------
    ClimateTable
    """
    with files("sunpantry.sky").joinpath("data/climate.npz").open("rb") as stream:
        data = np.load(stream)
        if not np.allclose(data["levels"], LEVELS):
            raise ValueError("climate.npz does not match this version: run tools/build_climate.py")
        roots = np.cumsum(data["kt_root_steps"].astype(np.float64), axis=0).T / 255.0
        steps = data["temperature_half_c"].astype(np.int64)
        steps[0] = np.cumsum(steps[0], axis=1)
        return ClimateTable(
            latitude=data["cell_latitude"].astype(np.float64),
            longitude=data["cell_longitude"].astype(np.float64),
            kt_quantiles=float(data["kt_full_scale"]) * roots**2,
            temperature_c=0.5 * np.cumsum(steps, axis=0).astype(np.float64),
            altitude_m=data["altitude_steps"].astype(np.float64) * float(data["altitude_step_m"])
            + float(data["altitude_zero_m"]),
        )


def distance_km(
    latitude: float, longitude: float, to_latitude: FloatArray, to_longitude: FloatArray
) -> FloatArray:
    """Great-circle distance from one point to many.

    Parameters
    ----------
    latitude, longitude : float
        The point [°].
    to_latitude, to_longitude : ndarray
        The others [°].

    Returns
    -------
    ndarray
        Distances [km].
    """
    here, there = np.radians(latitude), np.radians(to_latitude)
    apart = np.radians(longitude - to_longitude)
    haversine = (
        np.sin(0.5 * (here - there)) ** 2 + np.cos(here) * np.cos(there) * np.sin(0.5 * apart) ** 2
    )
    return np.asarray(2.0 * EARTH_RADIUS_KM * np.arcsin(np.sqrt(np.minimum(haversine, 1.0))))


def kt_quantiles_at(latitude: float, longitude: float) -> tuple[FloatArray, float]:
    """Clearness quantiles between the cells round a point.

    Bilinear over those of the four cells round the point that have data; the nearest cells
    where none has.

    Parameters
    ----------
    latitude, longitude : float
        The point [°].

    Returns
    -------
    quantiles : ndarray, shape (12, levels)
        Clearness index [-].
    nearest_km : float
        Distance to the nearest cell centre with data [km].
    """
    table = climate_table()
    north = np.abs(table.latitude - latitude) / CELL_DEG
    east = np.abs((table.longitude - longitude + 180.0) % 360.0 - 180.0) / CELL_DEG
    weights = np.clip(1.0 - north, 0.0, 1.0) * np.clip(1.0 - east, 0.0, 1.0)
    apart = distance_km(latitude, longitude, table.latitude, table.longitude)
    if weights.sum() < 1e-6:
        weights = np.clip(1.0 - (apart - apart.min()) / NEAREST_BELT_KM, 0.0, 1.0) ** 2
    used = weights > 0.0
    share = weights[used] / weights[used].sum()
    quantiles = np.tensordot(share, table.kt_quantiles[used], axes=1)
    return np.asarray(quantiles), float(apart.min())


def temperature_at(latitude: float, longitude: float) -> tuple[FloatArray, float]:
    """Monthly mean air temperature, bilinear between grid points.

    Parameters
    ----------
    latitude, longitude : float
        The point [°].

    Returns
    -------
    monthly_c : ndarray, shape (12,)
        Air temperature at the altitude of the grid [°C].
    altitude_m : float
        That altitude [m].
    """
    table = climate_table()
    row = (90.0 - latitude) / TEMPERATURE_STEP_DEG
    column = (longitude % 360.0) / TEMPERATURE_STEP_DEG
    top, left = min(int(row), 359), int(column)
    down, right = row - top, column - left
    corners = (
        (top, left, (1 - down) * (1 - right)),
        (top, left + 1, (1 - down) * right),
        (top + 1, left, down * (1 - right)),
        (top + 1, left + 1, down * right),
    )
    monthly, altitude = np.zeros(12), 0.0
    for i, j, weight in corners:
        monthly += weight * table.temperature_c[:, i, j % 720]
        altitude += weight * float(table.altitude_m[i, j % 720])
    return monthly, altitude

"""Take the known errors of the reanalysis out of the climate table.

Three steps on the monthly mean Kt, each measured by leaving sites out (figures in
``docs/sky.md``), then one on the shape of the months:

1. zone: a curve through the reanalysis' own Kt, fitted to 59 sites and 30 coasts;
2. sunshine: the year's level drawn towards the sunshine hours of cities near;
3. stations: level and season drawn towards measured stations near.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sunpantry.design.moments import SHORT_MONTHS
from sunpantry.sky.clearness import (
    LEVELS,
    clear_day_kt,
    mean_kt,
    reshape_to_mean,
)
from sunpantry.sky.climate import monthly_extraterrestrial

FloatArray = NDArray[np.float64]

STATIONS = Path(__file__).with_name("climate_stations.csv")
EARTH_RADIUS_KM = 6371.0

# Inside 15° of latitude: constant, share of the month's Kt, log of the rain over 70 mm.
TROPICS = (0.408, 0.232, -0.042)
# Beyond 30°: constant, share of the month's Kt, of the year's, of the month's squared,
# of what the year lacks to 0.48 (cloudy coasts, where the reanalysis errs less), then
# added for each 10 K below freezing (to -10 °C), and beyond 59° (from 54°).
OUTSIDE = (0.019, 0.257, 0.217, 0.597, 1.060, 0.085, 0.031)
CLOUDY_YEAR_KT, CLEAREST_FITTED_KT = 0.48, 0.72
# No station on Earth has a month clearer than this (Atacama, Tibet; from memory).
BRIGHTEST_MONTH_KT = 0.80
MIDDLE_RAIN_MM, LEAST_RAIN_MM = 70.0, 5.0

# Angstrom's line of the year's Kt over the share of bright sunshine, FAO-56 (1998) eq. 35.
ANGSTROM = (0.25, 0.50)
CITY_REACH_KM, CITY_DOUBT, FARTHEST_CELL_KM = 300.0, 1.0, 300.0
# A station tells the season of its surroundings farther off than their level.
LEVEL_REACH_KM, LEVEL_DOUBT = 250.0, 0.3
SEASON_REACH_KM, SEASON_DOUBT = 700.0, 0.5


@dataclass(frozen=True)
class Cells:
    """Grid cells with data.

    Centres [°], altitude [m], Kt quantiles (n, 12, levels), temperature [°C] and rain
    [mm a month] (n, 12).
    """

    latitude: FloatArray
    longitude: FloatArray
    altitude_m: FloatArray
    quantiles: FloatArray
    temperature_c: FloatArray
    rain_mm: FloatArray

    @property
    def above(self) -> FloatArray:
        """Monthly mean H0 (n, 12) [kWh/m²/day], never quite zero."""
        return above_kwh_m2(self.latitude)


def above_kwh_m2(latitude: FloatArray) -> FloatArray:
    """Monthly mean H0 (n, 12) [kWh/m²/day], never quite zero."""
    return np.maximum([monthly_extraterrestrial(float(one)) for one in latitude], 1e-6)


def yearly(monthly_kt: FloatArray, above: FloatArray) -> FloatArray:
    """Kt of the whole year (n,) from months (n, 12)."""
    return np.asarray((monthly_kt * above).sum(1) / above.sum(1))


def distance_km(
    latitude: FloatArray, longitude: FloatArray, to_latitude: FloatArray, to_longitude: FloatArray
) -> FloatArray:
    """Great-circle distances [km] from each point (rows) to each other point (columns)."""
    a, b = np.radians(latitude)[:, None], np.radians(to_latitude)[None, :]
    apart = np.radians(longitude[:, None] - to_longitude[None, :])
    cosine = np.sin(a) * np.sin(b) + np.cos(a) * np.cos(b) * np.cos(apart)
    return np.asarray(EARTH_RADIUS_KM * np.arccos(np.clip(cosine, -1.0, 1.0)))


def bilinear_weights(cells: Cells, latitude: FloatArray, longitude: FloatArray) -> FloatArray:
    """Weights (points, cells) of bilinear interpolation over those corners that have data."""
    north = np.abs(cells.latitude[None, :] - latitude[:, None]) / 3.0
    east = np.abs((cells.longitude[None, :] - longitude[:, None] + 180.0) % 360.0 - 180.0) / 3.0
    weights = np.clip(1.0 - north, 0.0, 1.0) * np.clip(1.0 - east, 0.0, 1.0)
    lonely = weights.sum(1) < 1e-6
    apart = distance_km(latitude[lonely], longitude[lonely], cells.latitude, cells.longitude)
    weights[np.nonzero(lonely)[0], apart.argmin(1)] = 1.0
    return np.asarray(weights / weights.sum(1, keepdims=True))


def zone_terms(cells: Cells) -> FloatArray:
    """What the constants TROPICS and OUTSIDE multiply, (n, 12, terms).

    The reanalysis is too bright where it is cloudy, right under snow and in deserts, and
    in the tropics too dull where it rains and too bright where it does not.
    """
    kt = mean_kt(cells.quantiles)
    # The highest deserts lie beyond the sites of the fit: half of what is over goes on.
    kt = np.minimum(kt, CLEAREST_FITTED_KT) + 0.5 * np.maximum(kt - CLEAREST_FITTED_KT, 0.0)
    year = yearly(kt, cells.above)[:, None] + np.zeros_like(kt)
    one = np.ones_like(kt)
    outer = np.clip((np.abs(cells.latitude) - 15.0) / 15.0, 0.0, 1.0)[:, None]
    rain = np.log(np.maximum(cells.rain_mm, LEAST_RAIN_MM) / MIDDLE_RAIN_MM)
    cloudy = np.maximum(CLOUDY_YEAR_KT - year, 0.0)
    frost = np.clip(-cells.temperature_c / 10.0, 0.0, 1.0)
    north = one * np.clip((np.abs(cells.latitude) - 54.0) / 5.0, 0.0, 1.0)[:, None]
    inner = [(1.0 - outer) * term for term in (one, kt, rain)]
    beyond = [outer * term for term in (one, kt, year, kt**2, cloudy, frost, north)]
    return np.stack([*inner, *beyond], axis=-1)


def zone_mean(cells: Cells) -> FloatArray:
    """Mean Kt (n, 12) expected of the ground where the reanalysis has the given one."""
    return np.asarray(zone_terms(cells) @ np.array([*TROPICS, *OUTSIDE]))


def drawn_to_sunshine(cells: Cells, kt: FloatArray, cities: Path) -> FloatArray:
    """Draw the year's level towards that of cities, from their sunshine hours.

    The logarithm of the ratio is averaged over cities, weight exp(-(d/300 km)²), against
    one unit of 'no change': a lone city moves its own place half of the way.
    """
    with cities.open(encoding="utf-8") as lines:
        rows = list(csv.DictReader(lines))
    latitude, longitude, hours = (
        np.array([float(row[key]) for row in rows]) for key in ("lat", "lon", "annual_hours")
    )
    apart = distance_km(latitude, longitude, cells.latitude, cells.longitude)
    near = apart.min(1) < FARTHEST_CELL_KM
    latitude, longitude, hours, apart = latitude[near], longitude[near], hours[near], apart[near]
    table = bilinear_weights(cells, latitude, longitude) @ kt
    level = yearly(table, above_kwh_m2(latitude))
    wanted = np.log((ANGSTROM[0] + ANGSTROM[1] * hours / 4380.0) / level)
    weight = np.exp(-((apart / CITY_REACH_KM) ** 2))
    move = (weight.T @ wanted) / (weight.sum(0) + CITY_DOUBT)
    return np.asarray(kt * np.exp(move)[:, None])


@dataclass(frozen=True)
class Stations:
    """Measured stations: coordinates [°] and monthly irradiation (n, 12) [kWh/m²/day]."""

    latitude: FloatArray
    longitude: FloatArray
    measured: FloatArray

    @classmethod
    def read(cls, path: Path) -> Stations:
        """Read a table with a row a station; lines that start with # are remarks."""
        with path.open(encoding="utf-8") as lines:
            rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))
        latitude, longitude, *months = (
            np.array([float(row[key]) for row in rows])
            for key in ("latitude", "longitude", *SHORT_MONTHS)
        )
        return cls(latitude, longitude, np.stack(months, axis=1))

    def without(self, left_out: NDArray[np.bool_]) -> Stations:
        """Leave some of the stations out."""
        keep = ~left_out
        return Stations(self.latitude[keep], self.longitude[keep], self.measured[keep])


def drawn_to_stations(cells: Cells, kt: FloatArray, stations: Stations) -> FloatArray:
    """Draw level and season towards those of measured stations."""
    table = bilinear_weights(cells, stations.latitude, stations.longitude) @ kt
    wanted = np.log(stations.measured / above_kwh_m2(stations.latitude) / table)
    level = wanted.mean(1, keepdims=True)
    apart = distance_km(cells.latitude, cells.longitude, stations.latitude, stations.longitude)
    near_level = np.exp(-((apart / LEVEL_REACH_KM) ** 2))
    near_season = np.exp(-((apart / SEASON_REACH_KM) ** 2))
    move = (near_level @ level) / (near_level.sum(1, keepdims=True) + LEVEL_DOUBT)
    move = move + (near_season @ (wanted - level)) / (
        near_season.sum(1, keepdims=True) + SEASON_DOUBT
    )
    return np.asarray(kt * np.exp(move))


def corrected(cells: Cells, cities: Path) -> FloatArray:
    """Quantiles (n, 12, levels) with the means corrected and the shapes bent to fit."""
    target = drawn_to_sunshine(cells, zone_mean(cells), cities)
    target = drawn_to_stations(cells, target, Stations.read(STATIONS))
    clear = clear_day_kt(cells.altitude_m)
    target = np.clip(target, 0.05, np.minimum(0.98 * clear, BRIGHTEST_MONTH_KT)[:, None])
    flat = reshape_to_mean(
        cells.quantiles.reshape(-1, len(LEVELS)), target.ravel(), clear_kt=np.repeat(clear, 12)
    )
    return flat.reshape(cells.quantiles.shape)

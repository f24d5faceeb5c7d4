"""Take the known errors of the reanalysis out of the climate table.

Two steps on the monthly mean Kt, measured by leaving places out (figures in
``docs/sky.md``), then one on the shape of the months:

1. zone: a curve through the reanalysis' own Kt, fitted to the places with months of
   ``sites.csv`` (:mod:`measure_climate`), to cloudy coasts and to places round the world;
2. anchors: what the curve still gets wrong varies smoothly over some thousand kilometres.
   Level and season are drawn towards the places where they are known, each as far as it
   can be trusted (simple kriging of the logarithm).
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
COASTS = Path(__file__).with_name("climate_coasts.csv")
WORLD = Path(__file__).with_name("climate_world.csv")
SITES = Path(__file__).parents[1] / "tests/sky/data/sites.csv"
EARTH_RADIUS_KM = 6371.0

# Inside 15° of latitude: constant, share of the month's Kt, log of the rain over 70 mm.
TROPICS = (0.382, 0.273, -0.041)
# Beyond 30°: constant, share of the month's Kt, of the year's, of the month's squared,
# of what the year lacks to 0.48 (cloudy coasts, where the reanalysis errs less), then
# added for each 10 K below freezing (to -10 °C), and beyond 59° (from 54°).
OUTSIDE = (-0.002, 0.251, 0.260, 0.593, 1.095, 0.088, 0.040)
CLOUDY_YEAR_KT, CLEAREST_FITTED_KT = 0.48, 0.72
# No station on Earth has a month clearer than this (Atacama, Tibet; from memory); the table
# rounds to so much.
BRIGHTEST_MONTH_KT, ROUNDING_KT = 0.80, 0.003
MIDDLE_RAIN_MM, LEAST_RAIN_MM = 70.0, 5.0

# Angstrom's line of the year's Kt over the share of bright sunshine, FAO-56 (1998) eq. 35.
ANGSTROM = (0.25, 0.50)
FARTHEST_CELL_KM = 300.0
# What the curve gets wrong: its size as a logarithm, and the distance over which it falls to
# 1/e; by leaving places out. Months next to each other err alike: 1/e in so many months.
LEVEL_SIZE, LEVEL_REACH_KM = 0.13, 1000.0
SEASON_SIZE, SEASON_REACH_KM, SEASON_REACH_MONTHS = 0.06, 1500.0, 2.0
# Doubt of the anchors themselves, as a logarithm: of measured stations, of means from memory,
# and of sunshine hours, which the rest foretells better without (in East Asia 15 % too many).
MEASURED_DOUBT, MEMORY_DOUBT, SUNSHINE_DOUBT = 0.02, 0.06, 0.25
SEASON_DOUBT = {"measured": 0.03, "memory": 0.06}


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


@dataclass(frozen=True)
class Seasons:
    """Places with months: coordinates [°], irradiation (n, 12) [kWh/m²/day], and how they know.

    ``kind`` is 'measured', 'typical' (one typical year) or 'memory'.
    """

    latitude: FloatArray
    longitude: FloatArray
    monthly: FloatArray
    kind: NDArray[np.str_]

    @classmethod
    def read(cls, path: Path) -> Seasons:
        """Read a table with a row a place; stations without a kind are measured."""
        rows = read_rows(path)
        latitude, longitude, *months = (
            np.array([float(row[key]) for row in rows])
            for key in ("latitude", "longitude", *SHORT_MONTHS)
        )
        kind = np.array([row.get("kind", "measured") for row in rows])
        return cls(latitude, longitude, np.stack(months, axis=1), kind)

    def only(self, keep: NDArray[np.bool_]) -> Seasons:
        """Some of the places."""
        return Seasons(
            self.latitude[keep], self.longitude[keep], self.monthly[keep], self.kind[keep]
        )

    def __add__(self, other: Seasons) -> Seasons:
        return Seasons(
            *(
                np.concatenate([getattr(self, name), getattr(other, name)])
                for name in ("latitude", "longitude", "monthly", "kind")
            )
        )


@dataclass(frozen=True)
class Levels:
    """Places with a yearly mean (n,) [kWh/m²/day] and the doubt of it, as a logarithm."""

    latitude: FloatArray
    longitude: FloatArray
    yearly: FloatArray
    doubt: FloatArray

    @classmethod
    def read(cls, path: Path) -> Levels:
        """Read a table of yearly means from memory."""
        rows = read_rows(path)
        latitude, longitude, year = (
            np.array([float(row[key]) for row in rows])
            for key in ("latitude", "longitude", "yearly")
        )
        return cls(latitude, longitude, year, np.full(len(rows), MEMORY_DOUBT))

    @classmethod
    def of_seasons(cls, places: Seasons) -> Levels:
        """The years of places with months."""
        doubt = np.where(places.kind == "memory", MEMORY_DOUBT, MEASURED_DOUBT)
        return cls(places.latitude, places.longitude, places.monthly.mean(1), doubt)

    @classmethod
    def of_sunshine(cls, cities: Path, cells: Cells) -> Levels:
        """Years of cities by Angstrom's line from their sunshine hours, those near a cell."""
        rows = read_rows(cities)
        latitude, longitude, hours = (
            np.array([float(row[key]) for row in rows]) for key in ("lat", "lon", "annual_hours")
        )
        apart = distance_km(latitude, longitude, cells.latitude, cells.longitude)
        near = apart.min(1) < FARTHEST_CELL_KM
        kt = ANGSTROM[0] + ANGSTROM[1] * hours / 4380.0
        year = kt * above_kwh_m2(latitude).mean(1)
        doubt = np.full(len(rows), SUNSHINE_DOUBT)
        return cls(latitude[near], longitude[near], year[near], doubt[near])

    def only(self, keep: NDArray[np.bool_]) -> Levels:
        """Some of the places."""
        return Levels(
            self.latitude[keep], self.longitude[keep], self.yearly[keep], self.doubt[keep]
        )

    def __add__(self, other: Levels) -> Levels:
        return Levels(
            *(
                np.concatenate([getattr(self, name), getattr(other, name)])
                for name in ("latitude", "longitude", "yearly", "doubt")
            )
        )


def read_rows(path: Path) -> list[dict[str, str]]:
    """Rows of a table whose remarks start with #."""
    with path.open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def drawn_to_levels(cells: Cells, kt: FloatArray, anchors: Levels) -> FloatArray:
    """Draw the year's level of each cell towards the places where it is known."""
    weights = bilinear_weights(cells, anchors.latitude, anchors.longitude)
    foretold = (weights @ kt * above_kwh_m2(anchors.latitude)).mean(1)
    wanted = np.log(anchors.yearly / foretold)
    near, among = _alike(cells, weights, LEVEL_SIZE, LEVEL_REACH_KM)
    move = near @ np.linalg.solve(among + np.diag(anchors.doubt**2), wanted)
    return np.asarray(kt * np.exp(move)[:, None])


def drawn_to_seasons(cells: Cells, kt: FloatArray, anchors: Seasons) -> FloatArray:
    """Draw the season of each cell towards the places where it is known; its level stays."""
    weights = bilinear_weights(cells, anchors.latitude, anchors.longitude)
    wanted = np.log(anchors.monthly / above_kwh_m2(anchors.latitude) / (weights @ kt))
    wanted = wanted - wanted.mean(1, keepdims=True)
    gap = np.abs(np.arange(12)[:, None] - np.arange(12))
    months = np.exp(-np.minimum(gap, 12 - gap) / SEASON_REACH_MONTHS)
    doubt = np.array([SEASON_DOUBT.get(str(kind), MEMORY_DOUBT) for kind in anchors.kind])
    near, among = _alike(cells, weights, SEASON_SIZE, SEASON_REACH_KM)
    doubts = np.diag(np.repeat(doubt**2, 12))
    solved = np.linalg.solve(np.kron(among, months) + doubts, wanted.ravel())
    move = near @ solved.reshape(-1, 12) @ months
    bent = kt * np.exp(move - move.mean(1, keepdims=True))
    return np.asarray(bent * (yearly(kt, cells.above) / yearly(bent, cells.above))[:, None])


def _alike(
    cells: Cells, weights: FloatArray, size: float, reach_km: float
) -> tuple[FloatArray, FloatArray]:
    """Covariance of what the curve gets wrong: of cells with places, and places with places.

    A place is what is read there, between its cells: ``weights`` (places, cells).
    """
    used = weights.any(axis=0)
    apart = distance_km(
        cells.latitude, cells.longitude, cells.latitude[used], cells.longitude[used]
    )
    near = size**2 * np.exp(-apart / reach_km) @ weights[:, used].T
    return np.asarray(near), np.asarray(weights @ near)


@dataclass(frozen=True)
class Anchors:
    """All that the table is drawn towards: yearly levels, and seasons."""

    levels: Levels
    seasons: Seasons

    @classmethod
    def read(cls, cells: Cells, cities: Path) -> Anchors:
        """Stations, means from memory, and sunshine hours; typical years stay for the tests."""
        sites = Seasons.read(SITES)
        seasons = Seasons.read(STATIONS) + sites.only(sites.kind == "memory")
        levels = (
            Levels.of_seasons(seasons)
            + Levels.read(COASTS)
            + Levels.read(WORLD)
            + Levels.of_sunshine(cities, cells)
        )
        return cls(levels, seasons)

    def farther_than(self, km: float, latitude: float, longitude: float) -> Anchors:
        """Leave out a place and its surroundings."""
        at = (np.array([latitude]), np.array([longitude]))
        levels, seasons = self.levels, self.seasons
        return Anchors(
            levels.only(distance_km(*at, levels.latitude, levels.longitude)[0] >= km),
            seasons.only(distance_km(*at, seasons.latitude, seasons.longitude)[0] >= km),
        )


def drawn_to(cells: Cells, kt: FloatArray, anchors: Anchors) -> FloatArray:
    """Draw season, then level, towards the anchors."""
    return drawn_to_levels(cells, drawn_to_seasons(cells, kt, anchors.seasons), anchors.levels)


def corrected(cells: Cells, cities: Path) -> FloatArray:
    """Quantiles (n, 12, levels) with the means corrected and the shapes bent to fit."""
    target = drawn_to(cells, zone_mean(cells), Anchors.read(cells, cities))
    clear = clear_day_kt(cells.altitude_m)
    target = np.clip(
        target, 0.05, np.minimum(0.98 * clear, BRIGHTEST_MONTH_KT - ROUNDING_KT)[:, None]
    )
    flat = reshape_to_mean(
        cells.quantiles.reshape(-1, len(LEVELS)), target.ravel(), clear_kt=np.repeat(clear, 12)
    )
    return flat.reshape(cells.quantiles.shape)

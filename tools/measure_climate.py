"""Fit the zone curve of the climate table, and measure the table with each site left out.

Run it where ``tools/build_climate.py`` runs::

    python tools/measure_climate.py

It prints the constants for ``climate_correction.py`` and, region by region, the bias and
the root mean square error of the monthly irradiation at the sites of
``tests/sky/data/sites.csv``, each foretold without it and everything within 60 km of it:
neither the curve nor the stations of the table know of the site.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from build_climate import package_file, read_cells
from climate_correction import (
    STATIONS,
    TROPICS,
    Cells,
    Stations,
    above_kwh_m2,
    bilinear_weights,
    distance_km,
    drawn_to_stations,
    drawn_to_sunshine,
    zone_terms,
)

FloatArray = NDArray[np.float64]

SITES = Path(__file__).parents[1] / "tests/sky/data/sites.csv"
COASTS = Path(__file__).with_name("climate_coasts.csv")
SAME_PLACE_KM = 60.0
WEIGHT = {"measured": 2.0, "typical": 2.0, "memory": 1.0}
COAST_WEIGHT = 1.5


@dataclass(frozen=True)
class References:
    """Sites (n) with months [kWh/m²/day], and coasts (m) with yearly means."""

    region: list[str]
    weight: FloatArray
    sites: Stations
    coasts: tuple[FloatArray, FloatArray]
    coast_yearly: FloatArray


def read_rows(path: Path) -> list[dict[str, str]]:
    """Rows of a table whose remarks start with #."""
    with path.open(encoding="utf-8") as lines:
        return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def read_references() -> References:
    """Read both tables."""
    rows, coasts = read_rows(SITES), read_rows(COASTS)
    latitude, longitude, yearly = (
        np.array([float(row[key]) for row in coasts]) for key in ("latitude", "longitude", "yearly")
    )
    return References(
        region=[row["region"] for row in rows],
        weight=np.array([WEIGHT[row["kind"]] for row in rows]),
        sites=Stations.read(SITES),
        coasts=(latitude, longitude),
        coast_yearly=yearly,
    )


@dataclass(frozen=True)
class Fit:
    """Equations of the curve: relative errors of site months and of coast years."""

    months: FloatArray
    years: FloatArray
    weight: FloatArray

    @classmethod
    def of(cls, cells: Cells, references: References) -> Fit:
        """Set the equations up."""
        terms = zone_terms(cells)

        def at(latitude: FloatArray, longitude: FloatArray) -> FloatArray:
            weights = bilinear_weights(cells, latitude, longitude)
            return np.asarray(np.einsum("sc,cmt->smt", weights, terms))

        sites = references.sites
        kt = sites.measured / above_kwh_m2(sites.latitude)
        months = at(sites.latitude, sites.longitude) / kt[:, :, None]
        above = above_kwh_m2(references.coasts[0])
        years = (at(*references.coasts) * above[:, :, None]).mean(1)
        return cls(months, years / references.coast_yearly[:, None], references.weight)

    def solve(
        self, sites_left_out: NDArray[np.bool_], coasts_left_out: NDArray[np.bool_]
    ) -> FloatArray:
        """Constants by weighted least squares of the relative errors."""
        keep = ~sites_left_out
        weight = np.repeat(self.weight[keep], 12)
        months = self.months[keep].reshape(len(weight), -1)
        coasts = self.years[~coasts_left_out]
        left = np.vstack([months * weight[:, None], coasts * COAST_WEIGHT])
        right = np.concatenate([weight, np.full(len(coasts), COAST_WEIGHT)])
        return np.asarray(np.linalg.lstsq(left, right, rcond=None)[0])


def foretold(cells: Cells, fit: Fit, references: References, stations: Stations) -> FloatArray:
    """Months of each site, from everything but itself and its neighbours."""
    cities = package_file("sunshine-hours-by-city", "sunshine-hours.csv")
    terms, sites = zone_terms(cells), references.sites
    months = np.empty_like(sites.measured)
    for number in range(len(months)):
        here = (sites.latitude[number : number + 1], sites.longitude[number : number + 1])
        near_site, near_coast, near_station = (
            distance_km(*here, *there)[0] < SAME_PLACE_KM
            for there in (
                (sites.latitude, sites.longitude),
                references.coasts,
                (stations.latitude, stations.longitude),
            )
        )
        kt = drawn_to_sunshine(cells, terms @ fit.solve(near_site, near_coast), cities)
        kt = drawn_to_stations(cells, kt, stations.without(near_station))
        months[number] = (bilinear_weights(cells, *here) @ kt * above_kwh_m2(here[0]))[0]
    return months


def main() -> None:
    """Fit, measure, print."""
    cells, references = read_cells(), read_references()
    fit = Fit.of(cells, references)
    nothing = np.zeros(len(references.region), dtype=bool)
    constants = fit.solve(nothing, np.zeros(len(references.coast_yearly), dtype=bool))
    print("TROPICS", constants[: len(TROPICS)].round(3))
    print("OUTSIDE", constants[len(TROPICS) :].round(3))
    measured = references.sites.measured
    months = foretold(cells, fit, references, Stations.read(STATIONS))
    error = 100.0 * (months / measured - 1.0)
    yearly = 100.0 * (months.mean(1) / measured.mean(1) - 1.0)
    print(f"{'':18s} sites  bias %  RMSE of months %")
    regions = np.array(references.region)
    for region in [*dict.fromkeys(references.region), ""]:
        those = (regions == region) if region else np.ones(len(regions), dtype=bool)
        spread = np.sqrt(np.mean(error[those] ** 2))
        name = region or "all"
        print(f"{name:18s} {those.sum():5d}  {yearly[those].mean():+6.1f}  {spread:6.1f}")
    print(f"standard deviation of the yearly error {yearly.std():.1f} %")


if __name__ == "__main__":
    main()

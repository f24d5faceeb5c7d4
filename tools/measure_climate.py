"""Fit the zone curve of the climate table, and measure the table with each site left out.

Run it where ``tools/build_climate.py`` runs::

    python tools/measure_climate.py

It prints the constants for ``climate_correction.py`` and, region by region, the bias and
the root mean square error of the monthly irradiation at the sites of
``tests/sky/data/sites.csv``, each foretold without it and everything within 60 km of it:
neither the curve nor the anchors of the table know of the site. Then the same of the year
at places round the world (``climate_world.csv``, and those of ``tests/sky/data/places.csv``,
which neither ever knew of).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from build_climate import package_file, read_cells
from climate_correction import (
    COASTS,
    SITES,
    TROPICS,
    WORLD,
    Anchors,
    Cells,
    Levels,
    Seasons,
    above_kwh_m2,
    bilinear_weights,
    distance_km,
    drawn_to,
    read_rows,
    zone_terms,
)

FloatArray = NDArray[np.float64]

PLACES = SITES.with_name("places.csv")
SAME_PLACE_KM = 60.0
WEIGHT = {"measured": 2.0, "typical": 2.0, "memory": 1.0}
YEAR_WEIGHT = 1.5


@dataclass(frozen=True)
class References:
    """Sites with months, and places with yearly means: coasts, then the world."""

    region: list[str]
    sites: Seasons
    years: Levels

    @classmethod
    def read(cls) -> References:
        """Read the tables."""
        region = [row["region"] for row in read_rows(SITES)]
        return cls(region, Seasons.read(SITES), Levels.read(COASTS) + Levels.read(WORLD))


@dataclass(frozen=True)
class Fit:
    """Equations of the curve: relative errors of site months and of years."""

    months: FloatArray
    years: FloatArray
    weight: FloatArray
    references: References

    @classmethod
    def of(cls, cells: Cells, references: References) -> Fit:
        """Set the equations up."""
        terms = zone_terms(cells)

        def at(latitude: FloatArray, longitude: FloatArray) -> FloatArray:
            weights = bilinear_weights(cells, latitude, longitude)
            return np.asarray(np.einsum("sc,cmt->smt", weights, terms))

        sites, known = references.sites, references.years
        kt = sites.monthly / above_kwh_m2(sites.latitude)
        months = at(sites.latitude, sites.longitude) / kt[:, :, None]
        above = above_kwh_m2(known.latitude)
        years = (at(known.latitude, known.longitude) * above[:, :, None]).mean(1)
        weight = np.array([WEIGHT[str(kind)] for kind in sites.kind])
        return cls(months, years / known.yearly[:, None], weight, references)

    def without(self, latitude: float, longitude: float) -> FloatArray:
        """Constants by weighted least squares, without a place and what is near it."""
        at = (np.array([latitude]), np.array([longitude]))
        sites, known = self.references.sites, self.references.years
        keep = distance_km(*at, sites.latitude, sites.longitude)[0] >= SAME_PLACE_KM
        kept_years = distance_km(*at, known.latitude, known.longitude)[0] >= SAME_PLACE_KM
        weight = np.repeat(self.weight[keep], 12)
        months = self.months[keep].reshape(len(weight), -1)
        years = self.years[kept_years]
        left = np.vstack([months * weight[:, None], years * YEAR_WEIGHT])
        right = np.concatenate([weight, np.full(len(years), YEAR_WEIGHT)])
        return np.asarray(np.linalg.lstsq(left, right, rcond=None)[0])


def foretold(
    cells: Cells, fit: Fit, anchors: Anchors, latitude: FloatArray, longitude: FloatArray
) -> FloatArray:
    """Months of each place (n, 12), from everything but itself and its neighbours."""
    terms = zone_terms(cells)
    months = np.empty((len(latitude), 12))
    for number, (north, east) in enumerate(zip(latitude.tolist(), longitude.tolist(), strict=True)):
        others = anchors.farther_than(SAME_PLACE_KM, north, east)
        kt = drawn_to(cells, terms @ fit.without(north, east), others)
        here = (latitude[number : number + 1], longitude[number : number + 1])
        months[number] = (bilinear_weights(cells, *here) @ kt * above_kwh_m2(here[0]))[0]
    return months


def print_regions(regions: NDArray[np.str_], error: FloatArray, yearly: FloatArray) -> None:
    """Bias of the year and RMSE of the months [%], region by region."""
    print(f"{'':18s} sites  bias %  RMSE of months %")
    for region in [*dict.fromkeys(regions.tolist()), ""]:
        those = (regions == region) if region else np.ones(len(regions), dtype=bool)
        spread = np.sqrt(np.mean(error[those] ** 2))
        print(
            f"{region or 'all':18s} {those.sum():5d}  {yearly[those].mean():+6.1f}  {spread:6.1f}"
        )
    print(f"standard deviation of the yearly error {yearly.std():.1f} %")


def print_dark(months: FloatArray, sites: Seasons) -> None:
    """Error of the three darkest months beyond 35° of latitude, and at three of the sites [%]."""
    darkest = np.argsort(sites.monthly, axis=1)[:, :3]
    known, told = (np.take_along_axis(one, darkest, axis=1) for one in (sites.monthly, months))
    error = 100.0 * (told / known - 1.0)
    far = np.abs(sites.latitude) > 35.0
    spread = np.sqrt(np.mean(error[far] ** 2))
    print(f"three darkest months beyond 35°: {error[far].mean():+.1f} %, RMSE {spread:.1f} %")
    names = [row["name"] for row in read_rows(SITES)]
    for name in ("De Bilt", "Dublin", "Bern"):
        print(f"  {name} {error[names.index(name)].mean():+.0f} %")


def main() -> None:
    """Fit, measure, print."""
    cells, references = read_cells(), References.read()
    fit = Fit.of(cells, references)
    constants = fit.without(-90.0, 0.0)
    print("TROPICS", constants[: len(TROPICS)].round(3))
    print("OUTSIDE", constants[len(TROPICS) :].round(3))
    cities = package_file("sunshine-hours-by-city", "sunshine-hours.csv")
    anchors = Anchors.read(cells, cities)
    sites = references.sites
    months = foretold(cells, fit, anchors, sites.latitude, sites.longitude)
    print_regions(
        np.array(references.region),
        100.0 * (months / sites.monthly - 1.0),
        100.0 * (months.mean(1) / sites.monthly.mean(1) - 1.0),
    )
    print_dark(months, sites)
    for path in (WORLD, PLACES):
        known = Levels.read(path)
        year = foretold(cells, fit, anchors, known.latitude, known.longitude).mean(1)
        error = 100.0 * (year / known.yearly - 1.0)
        worst = np.argsort(-np.abs(error))[:8]
        names = [row["name"] for row in read_rows(path)]
        print(f"{path.name}: {len(error)} places, bias {error.mean():+.1f} %, "
              f"RMS {np.sqrt(np.mean(error**2)):.1f} %; worst: "
              + ", ".join(f"{names[at]} {error[at]:+.0f} %" for at in worst))  # fmt: skip


if __name__ == "__main__":
    main()

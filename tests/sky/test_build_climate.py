"""The tools that build the climate table, on inputs whose answer is known."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest
from scipy.stats import gaussian_kde

from sunpantry.sky.clearness import LEVELS, mean_kt
from sunpantry.sky.table import climate_table, kt_quantiles_at

TOOLS = Path(__file__).parents[2] / "tools"


@pytest.fixture(scope="module")
def tools() -> Iterator[tuple[ModuleType, ModuleType]]:
    with pytest.MonkeyPatch.context() as patch:
        patch.syspath_prepend(str(TOOLS))
        import build_climate
        import climate_correction

        yield build_climate, climate_correction
    for name in ("build_climate", "climate_correction"):
        sys.modules.pop(name)


def cells_of(correction: ModuleType, **columns: float) -> object:
    """Two cells, every day of a month alike."""
    values = {"latitude": 52.0, "temperature": 8.0, "rain": 70.0, "kt": 0.45, **columns}
    return correction.Cells(
        latitude=np.full(2, values["latitude"]),
        longitude=np.array([0.0, 3.0]),
        altitude_m=np.zeros(2),
        quantiles=np.full((2, 12, len(LEVELS)), values["kt"]),
        temperature_c=np.full((2, 12), values["temperature"]),
        rain_mm=np.full((2, 12), values["rain"]),
    )


@pytest.mark.independent
def test_the_kernel_is_taken_out_of_a_density(tools: tuple[ModuleType, ModuleType]) -> None:
    """A sample of 150 days, smoothed as the source does (scipy), gives its quantiles back."""
    sample = np.random.default_rng(3).beta(2.0, 2.0, 150) * 200 + 20
    kernel = gaussian_kde(sample)
    width = float(np.sqrt(kernel.covariance[0, 0]))
    values = np.linspace(sample.min() - 3 * width, sample.max() + 3 * width, 128)
    weights = kernel(values) / kernel(values).sum()
    got = tools[0].sharpened_quantiles(values, weights)
    inner = (LEVELS > 0.01) & (LEVELS < 0.99)
    want = np.quantile(sample, LEVELS)
    # A bin is 1 % of the range; the kernel hides steps of the sample smaller than itself.
    assert np.abs(got - want)[inner].max() < 0.05 * np.ptp(sample)
    assert got[0] >= sample.min() - 0.02 * np.ptp(sample)
    blurred = np.interp(LEVELS, np.cumsum(weights), values)
    assert np.abs(got - want)[[1, 2, -3, -2]].mean() < np.abs(blurred - want)[[1, 2, -3, -2]].mean()


@pytest.mark.analytic
def test_packing_and_unpacking(tools: tuple[ModuleType, ModuleType]) -> None:
    build, _ = tools
    rng = np.random.default_rng(0)
    temperature = rng.integers(-126, 80, (12, 5, 7)).astype(np.int8)
    temperature = np.sort(temperature, axis=0)
    steps = build.month_to_month(temperature).astype(np.int64)
    steps[0] = np.cumsum(steps[0], axis=1)
    # Differences wrap at eight bits; the shipped table is smooth enough never to.
    np.testing.assert_array_equal(np.cumsum(steps, axis=0).astype(np.int8), temperature)
    roots = np.sort(rng.integers(0, 256, (4, 12, len(LEVELS))).astype(np.uint8), axis=-1)
    packed = build.level_to_level(roots)
    np.testing.assert_array_equal(np.cumsum(packed.astype(float), axis=0).T, roots)


@pytest.mark.analytic
def test_polar_night_is_bridged_round_the_year(tools: tuple[ModuleType, ModuleType]) -> None:
    quantiles = np.full((1, 12, len(LEVELS)), 0.4)
    quantiles[0, 10] = 0.2
    quantiles[0, [11, 0]] = np.nan
    filled = tools[0].fill_missing_months(quantiles)
    np.testing.assert_allclose(filled[0, [11, 0], 0], [0.2 + 0.2 / 3, 0.2 + 0.4 / 3])


@pytest.mark.regression
def test_direction_of_each_correction(tools: tuple[ModuleType, ModuleType]) -> None:
    _, correction = tools

    def zoned(**columns: float) -> float:
        return float(correction.zone_mean(cells_of(correction, **columns))[0, 0])

    cloudy, bright = zoned(kt=0.45), zoned(kt=0.68)
    assert cloudy < 0.45 * 0.87  # the bright bias of cloudy middle latitudes
    assert 0.9 < bright / 0.68 < 1.0
    assert zoned(kt=0.45, temperature=-10.0) > cloudy + 0.05  # snow: the reanalysis is right
    wet, dry = (zoned(latitude=5.0, kt=0.5, rain=rain) for rain in (300.0, 5.0))
    assert wet < dry


@pytest.mark.analytic
def test_an_anchor_holds_its_own_place_and_fades_away(
    tools: tuple[ModuleType, ModuleType],
) -> None:
    """Simple kriging of one value: its share is s² / (s² + doubt²), and e^-d/reach of that."""
    _, correction = tools
    cells = cells_of(correction)
    kt = np.full((2, 12), 0.4)
    above = correction.above_kwh_m2(np.array([52.0]))
    doubt = np.array([0.05])
    anchor = correction.Levels(np.array([52.0]), np.array([0.0]), 0.3 * above.mean(1), doubt)
    drawn = correction.drawn_to_levels(cells, kt, anchor)
    share = correction.LEVEL_SIZE**2 / (correction.LEVEL_SIZE**2 + 0.05**2)
    np.testing.assert_allclose(drawn[0], 0.4 * 0.75**share, rtol=1e-6)
    away_km = 6371.0 * np.arccos(np.sin(np.radians(52)) ** 2
                                 + np.cos(np.radians(52)) ** 2 * np.cos(np.radians(3)))  # fmt: skip
    fading = np.exp(-away_km / correction.LEVEL_REACH_KM)
    np.testing.assert_allclose(drawn[1], 0.4 * 0.75 ** (share * fading), rtol=1e-6)


@pytest.mark.conservation
def test_a_season_bends_the_months_and_leaves_the_year(
    tools: tuple[ModuleType, ModuleType],
) -> None:
    """A dark winter known there darkens the winter months; the year's sum stays."""
    _, correction = tools
    cells = cells_of(correction)
    kt = np.full((2, 12), 0.4)
    above = correction.above_kwh_m2(np.array([52.0]))
    known = 0.4 * above * np.where(np.isin(np.arange(12), (0, 1, 10, 11)), 0.8, 1.05)
    anchor = correction.Seasons(np.array([52.0]), np.array([0.0]), known, np.array(["measured"]))
    bent = correction.drawn_to_seasons(cells, kt, anchor)
    both = np.concatenate([above, above])
    np.testing.assert_allclose(
        correction.yearly(bent, both), correction.yearly(kt, both), rtol=1e-12
    )
    assert np.all(bent[:, [0, 11]] < 0.9 * bent[:, [5, 6]])
    ratio = bent / kt
    assert np.all(np.abs(np.log(ratio[1])).max() < np.abs(np.log(ratio[0])).max())


@pytest.mark.regression
def test_the_shipped_table_is_small_and_its_stations_are_in_it(
    tools: tuple[ModuleType, ModuleType],
) -> None:
    build, correction = tools
    assert build.OUTPUT.stat().st_size < 1_000_000
    stations = correction.Seasons.read(correction.STATIONS)
    assert len(climate_table().latitude) == 2448
    for number in range(len(stations.latitude)):
        quantiles, _ = kt_quantiles_at(stations.latitude[number], stations.longitude[number])
        above = correction.above_kwh_m2(stations.latitude[number : number + 1])[0]
        yearly = float((mean_kt(quantiles) * above).mean() / stations.monthly[number].mean())
        assert yearly == pytest.approx(1.0, abs=0.04)

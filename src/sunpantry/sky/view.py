"""What there is to know about the sun and the cold of a place, in figures."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sunpantry.design.moments import MONTHS
from sunpantry.figures import Figure, Given
from sunpantry.phrases import phrase
from sunpantry.sky.best_tilts import BestTilt, best_tilts
from sunpantry.sky.climate import DARK_FRACTION, Climate
from sunpantry.sky.darkness import DarkSpells, daily_ghi_kwh_m2, dark_spells
from sunpantry.sky.horizon import Horizon
from sunpantry.sky.place import Place
from sunpantry.sky.plane import GRASS_ALBEDO
from sunpantry.sky.sun import sun_times
from sunpantry.sky.weather import Weather
from sunpantry.timegrid import DAYS_PER_YEAR, MONTH_LENGTHS, FloatArray

# Days either side over which a day's band is gathered.
_BAND_REACH = 10
_FEW_WINTERS = 10
_SOME_SUN_KWH_M2_DAY = 0.05


@dataclass(frozen=True, eq=False)
class PlaceView:
    """The sun and the cold of a place.

    Parameters
    ----------
    place : Place
        Where.
    winters : int
        How many years the spread is taken from.
    monthly_ghi_kwh_m2_day : ndarray, shape (12,)
        Sun on the flat, January first [kWh/m²/day].
    monthly_best_kwh_m2_day : ndarray, shape (12,)
        Light on the best tilt for the year, shading included, before glass and dirt
        [kWh/m²/day]. The same number is the peak sun hours: hours a day of 1000 W/m².
    monthly_shade_fraction : ndarray, shape (12,)
        Share of that light which what stands round the panels takes [-].
    monthly_temperature_c : ndarray, shape (12,)
        Mean air temperature [°C].
    day_length_h : ndarray, shape (12,)
        Mean time from sunrise to sunset on a level horizon [h].
    dark_spells : DarkSpells
        The dullest days in a row of the dark season, over the winters.
    best_tilts : tuple of BestTilt
        For the year, the darkest month, and the winter half-year.
    daily_p10, daily_p50, daily_p90 : ndarray, shape (365,)
        Sun on the flat on each day of the year, 1 January first: what one day in ten
        stays below, the middle, and what one in ten exceeds [kWh/m²].
    climate : Climate
        What the figures come from.
    source : str
        Where the years come from.
    horizon : Horizon or None
        What stands round the panels.
    notes : tuple of str
        What a reader must know.
    """

    place: Place
    winters: int
    monthly_ghi_kwh_m2_day: FloatArray
    monthly_best_kwh_m2_day: FloatArray
    monthly_shade_fraction: FloatArray
    monthly_temperature_c: FloatArray
    day_length_h: FloatArray
    dark_spells: DarkSpells
    best_tilts: tuple[BestTilt, ...]
    daily_p10: FloatArray
    daily_p50: FloatArray
    daily_p90: FloatArray
    climate: Climate
    source: str
    horizon: Horizon | None
    notes: tuple[str, ...]

    @property
    def darkest_month(self) -> int:
        """The month with least sun on the flat, polar night left out, 0 to 11."""
        return _darkest(self.monthly_ghi_kwh_m2_day)

    def spells(self) -> list[tuple[int, float, float, float]]:
        """Length of each dark spell, and its mean in 1, 5 and 9 winters of 10 [kWh/m²/day]."""
        told = self.dark_spells
        columns = (told.p10.tolist(), told.p50.tolist(), told.p90.tolist())
        return list(zip(told.days, *columns, strict=True))

    def workings(self) -> tuple[Figure, ...]:
        """The headline numbers with what they are made of."""
        return (*_sun_workings(self), *_cold_workings(self))

    def to_json(self) -> dict[str, Any]:
        """Everything as plain numbers, rounded to what they are worth."""
        climate = self.climate
        return {
            "name": self.place.name,
            "latitude": round(self.place.latitude, 5),
            "longitude": round(self.place.longitude, 5),
            "altitude_m": round(self.place.altitude_m, 1),
            "timezone": self.place.timezone,
            "winters": self.winters,
            "monthly_ghi_kwh_m2_day": _rounded(self.monthly_ghi_kwh_m2_day, 3),
            "monthly_best_tilt_kwh_m2_day": _rounded(self.monthly_best_kwh_m2_day, 3),
            "monthly_peak_sun_hours": _rounded(self.monthly_best_kwh_m2_day, 3),
            "monthly_shade_fraction": _rounded(self.monthly_shade_fraction, 3),
            "monthly_temperature_c": _rounded(self.monthly_temperature_c, 2),
            "day_length_h": _rounded(self.day_length_h, 2),
            "darkest_month": self.darkest_month + 1,
            "mean_annual_minimum_c": round(climate.mean_annual_minimum_c, 1),
            "mean_annual_minimum_sigma_k": round(climate.mean_annual_minimum_sigma_k, 1),
            "never_colder_c": round(climate.never_colder_c, 1),
            "never_colder_sigma_k": round(climate.never_colder_sigma_k, 1),
            "dark_spells": {
                str(days): {"p10": round(p10, 4), "p50": round(p50, 4), "p90": round(p90, 4)}
                for days, p10, p50, p90 in self.spells()
            },
            "best_tilts": [
                {
                    "over": best.over,
                    "tilt_deg": best.tilt_deg,
                    "azimuth_deg": best.azimuth_deg,
                    "light_kwh_m2_day": round(best.light_kwh_m2_day, 3),
                }
                for best in self.best_tilts
            ],
            "dark_month_uncertainty_fraction": round(climate.uncertainty_dark_fraction, 3),
            "data_distance_km": round(climate.data_distance_km, 1),
            "source": self.source,
            "notes": list(self.notes),
        }


def place_view(
    place: Place,
    *,
    climate: Climate,
    weather: Weather,
    horizon: Horizon | None = None,
    albedo: float = GRASS_ALBEDO,
) -> PlaceView:
    """Work out what a person wants to know of a place.

    Parameters
    ----------
    place : Place
        Where.
    climate : Climate
        Its months.
    weather : Weather
        Its years, made from the climate or measured.
    horizon : Horizon, optional
        What stands round the panels; it counts for the tilts, not for the sun on the flat.
    albedo : float
        Share of the light the ground throws back [-].

    Returns
    -------
    PlaceView
    """
    daily = daily_ghi_kwh_m2(weather)
    ghi = climate.monthly_ghi_kwh_m2_day
    tilted = best_tilts(place, weather, darkest_month=_darkest(ghi), horizon=horizon, albedo=albedo)
    times = sun_times(place, weather.grid)
    month = weather.grid.month[:: weather.grid.steps_per_day]
    band = _band(daily, weather.grid.start_day)
    notes = list(dict.fromkeys((*climate.notes, *weather.notes)))
    # Where the table is less certain than that, a note of the climate says why.
    if climate.basis == "table" and climate.uncertainty_dark_fraction <= DARK_FRACTION:
        notes.append(
            phrase(
                "The mean of a dark month is good to ±{uncertainty_dark_fraction:.0%}; in "
                "hills, fog and steep valleys it can be further out.",
                uncertainty_dark_fraction=climate.uncertainty_dark_fraction,
            )
        )
    if weather.years < _FEW_WINTERS:
        notes.append(phrase("The dark spells come from {years} winters only.", years=weather.years))
    return PlaceView(
        place=place,
        winters=weather.years,
        monthly_ghi_kwh_m2_day=ghi,
        monthly_best_kwh_m2_day=tilted.monthly_kwh_m2_day,
        monthly_shade_fraction=tilted.monthly_shade_fraction,
        monthly_temperature_c=climate.monthly_temperature_c,
        day_length_h=np.bincount(month, times.day_length_h) / np.array(MONTH_LENGTHS),
        dark_spells=dark_spells(weather),
        best_tilts=tilted.best,
        daily_p10=band[0],
        daily_p50=band[1],
        daily_p90=band[2],
        climate=climate,
        source=weather.source,
        horizon=horizon,
        notes=tuple(notes),
    )


def _band(daily: FloatArray, start_day: int) -> FloatArray:
    """Percentiles 10, 50, 90 of each day of the year, 1 January first, shape (3, 365)."""
    reach = np.arange(-_BAND_REACH, _BAND_REACH + 1)
    near = (np.arange(DAYS_PER_YEAR)[:, None] + reach) % DAYS_PER_YEAR
    pooled = daily[:, near].transpose(1, 0, 2).reshape(DAYS_PER_YEAR, -1)
    return np.roll(np.percentile(pooled, (10, 50, 90), axis=1), start_day - 1, axis=1)


def _darkest(ghi: FloatArray) -> int:
    """The month with least sun among those with any to speak of."""
    lit = np.where(ghi > _SOME_SUN_KWH_M2_DAY, ghi, np.inf)
    return int(np.argmin(lit))


def _rounded(values: FloatArray, digits: int) -> list[float]:
    return [round(float(value), digits) for value in values]


def _sun_workings(view: PlaceView) -> tuple[Figure, ...]:
    climate, year = view.climate, view.best_tilts[0]
    _, five_p10, five_p50, _ = next(spell for spell in view.spells() if spell[0] == 5)
    month = MONTHS[view.darkest_month]
    return (
        Figure(
            name=phrase("sun on the flat in {month}", month=month),
            value=float(view.monthly_ghi_kwh_m2_day[view.darkest_month]),
            unit="kWh/m²/day",
            formula="mean clearness of the month × sun above the atmosphere",
            inputs=(
                Given("latitude", view.place.latitude, "°"),
                Given("distance of the data", climate.data_distance_km, "km"),
                Given("one standard uncertainty", climate.uncertainty_dark_fraction * 100, "%"),
            ),
            source=climate.source,
        ),
        Figure(
            name="best fixed tilt for the year",
            value=year.tilt_deg,
            unit="°",
            formula="the tilt with most light: beam + sky (Perez) + ground, summed over the year",
            inputs=(
                Given("direction", year.azimuth_deg, "°"),
                Given("light on it", year.light_kwh_m2_day, "kWh/m²/day"),
                Given("years", float(view.winters)),
            ),
            source="R. Perez et al., Solar Energy 44 (1990) 271, through pvlib",
        ),
        Figure(
            name="darkest five days in one winter of ten",
            value=five_p10,
            unit="kWh/m²/day",
            formula="10th percentile over winters of the lowest mean of five days in a row of the "
            "darkest three months",
            inputs=(
                Given("winters", float(view.winters)),
                Given("in a middling winter", five_p50, "kWh/m²/day"),
            ),
            source=view.source,
        ),
    )


def _cold_workings(view: PlaceView) -> tuple[Figure, ...]:
    climate = view.climate
    coldest = float(climate.monthly_temperature_c.min())
    span = float(np.ptp(climate.monthly_temperature_c))
    cold = (
        Given("mean of the coldest month", coldest, "°C"),
        Given("warmest less coldest month", span, "K"),
    )
    return (
        Figure(
            name="mean annual minimum of the air",
            value=climate.mean_annual_minimum_c,
            unit="°C",
            formula="coldest month - (7.3 + 0.28 × range of the months)",
            inputs=(*cold, Given("uncertainty", climate.mean_annual_minimum_sigma_k, "K")),
            source="fitted to eight stations of long record",
        ),
        Figure(
            name="air never colder than",
            value=climate.never_colder_c,
            unit="°C",
            formula="coldest month - (10.75 + 12.4 (1 - exp(-range/24.7)) + 7.5 p) - 8, "
            "p = (latitude - 20°)/25°, 0 to 1",
            inputs=(
                *cold,
                Given("latitude", abs(view.place.latitude), "°"),
                Given("uncertainty of the record", climate.never_colder_sigma_k, "K"),
            ),
            source="fitted to the records of 46 cities, from memory, less 8 K",
        ),
    )

"""The climate of a place: how bright and how warm its months are, and how they vary."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from sunpantry.design.moments import MONTHS
from sunpantry.errors import InputError, Problem
from sunpantry.phrases import phrase
from sunpantry.sky.clearness import (
    DARKEST_DAY_KT,
    LEVELS,
    clear_day_kt,
    extraterrestrial_kwh_m2_day,
    mean_kt,
    reshape_to_mean,
)
from sunpantry.sky.climate_notes import dark_notes, far_note, fog_note
from sunpantry.sky.place import Place
from sunpantry.sky.table import kt_quantiles_at, temperature_at
from sunpantry.sky.variability import Variability, variability_of
from sunpantry.timegrid import MONTH_LENGTHS

FloatArray = NDArray[np.float64]
Basis = Literal["table", "guess", "figures", "file"]

MONTH_OF_DAY = np.repeat(np.arange(12), MONTH_LENGTHS)
# Day numbers at which Spencer's series of 1971 gives the sun of the nominal year: half a
# day on to noon, half for the place of the year among leap years (monthly H0 within 0.7 %
# of the solar position algorithm at 52°).
SPENCER_DAYS = np.arange(1, 366) + 1.0

# Beyond this distance the nearest cell says nothing about a small island.
TABLE_REACH_KM = 300.0
# Towards the poles the nearest cell is still better than the fallback: from the first latitude
# on the reach grows, up to the second.
POLAR_REACH_KM, POLAR_LATITUDES = 700.0, (50.0, 60.0)
# Half the width of the belt about the reach in which table and fallback are mixed, so that
# neighbouring islands do not differ by a step [km].
MIXED_KM = 50.0
# One standard uncertainty of a dark month's mean: of the table, and of the fallback.
DARK_FRACTION, FALLBACK_DARK_FRACTION = 0.10, 0.20
TABLE_SOURCE = phrase(
    "MERRA-2 2011-2015 daily distributions, corrected by stations and places of known sun"
)
FALLBACK_SOURCE = phrase("clearness usual over oceans at that latitude, not data of the place")
MIXED_SOURCE = phrase(
    "between the nearest data and clearness usual over oceans at that latitude, not data of "
    "the place"
)
LAPSE_C_PER_M, FAR_LAPSE_C_PER_M, NEAR_LAPSE_REACH_M = 0.0065, 0.005, 500.0

# Quantiles over the mean of tropical cells of middling brightness, for islands far from
# any cell (measured on the table: 2, 10, 25, 50, 75, 90, 98 %).
ISLAND_LEVELS = (0.0, 0.02, 0.10, 0.25, 0.50, 0.75, 0.90, 0.98, 1.0)
ISLAND_SHAPE = (0.40, 0.52, 0.70, 0.87, 1.03, 1.16, 1.25, 1.32, 1.35)


@dataclass(frozen=True, eq=False)
class Climate:
    """What years of weather at a place are drawn from.

    Parameters
    ----------
    place : Place
        Where.
    kt_quantiles : ndarray, shape (12, levels)
        Clearness index of the days of each month at the probabilities
        :data:`~sunpantry.sky.clearness.LEVELS` [-].
    monthly_ghi_kwh_m2_day : ndarray, shape (12,)
        Mean daily irradiation on the flat, January first [kWh/m²/day].
    monthly_temperature_c : ndarray, shape (12,)
        Mean air temperature [°C].
    mean_annual_minimum_c : float
        Lowest air temperature of an ordinary year [°C].
    mean_annual_minimum_sigma_k : float
        Its standard uncertainty [K].
    never_colder_c : float
        Air temperature not expected in a lifetime; for the highest voltage [°C].
    never_colder_sigma_k : float
        Standard uncertainty of the all-time record under it [K].
    variability : Variability
        Constants of the weather generator.
    data_distance_km : float
        Distance to the nearest cell of the table; 0 where the figures are the user's [km].
    source : str
        Where the figures come from.
    notes : tuple of str
        What a reader must know, in plain words.
    uncertainty_dark_fraction : float
        One standard uncertainty of a dark month's mean, as a share [-].
    basis : str
        What the sun's means rest on: the 'table', a 'guess' far from any cell of it, the
        user's own 'figures', or a weather 'file'.
    """

    place: Place
    kt_quantiles: FloatArray
    monthly_ghi_kwh_m2_day: FloatArray
    monthly_temperature_c: FloatArray
    mean_annual_minimum_c: float
    mean_annual_minimum_sigma_k: float
    never_colder_c: float
    never_colder_sigma_k: float
    variability: Variability
    data_distance_km: float
    source: str
    notes: tuple[str, ...] = ()
    uncertainty_dark_fraction: float = DARK_FRACTION
    basis: Basis = "table"

    def darker(self, fraction: float) -> Climate:
        """Give the same climate with every month's mean lower by a share.

        Parameters
        ----------
        fraction : float
            Share taken off, 0 ≤ fraction < 1 [-].

        Returns
        -------
        Climate
        """
        if not 0.0 <= fraction < 1.0:
            raise InputError.one("fraction", fraction, "from 0 to less than 1", "give 0.1 for 10 %")
        target = mean_kt(self.kt_quantiles) * (1.0 - fraction)
        quantiles = _reshaped(self.kt_quantiles, target, self.place.altitude_m)
        return replace(
            self,
            kt_quantiles=quantiles,
            monthly_ghi_kwh_m2_day=self.monthly_ghi_kwh_m2_day * (1.0 - fraction),
            notes=(
                *self.notes,
                phrase(
                    "Every month is taken {fraction:.0%} darker than the table.", fraction=fraction
                ),
            ),
        )


def climate_of(
    place: Place,
    *,
    monthly_ghi_kwh_m2_day: Sequence[float] | None = None,
    monthly_temperature_c: Sequence[float] | None = None,
) -> Climate:
    """Look up the climate of a place in the shipped table.

    Parameters
    ----------
    place : Place
        Where.
    monthly_ghi_kwh_m2_day : sequence of 12 floats, optional
        The user's own means, January first; they replace the table's and keep its
        variability [kWh/m²/day].
    monthly_temperature_c : sequence of 12 floats, optional
        The user's own mean air temperatures [°C].

    Returns
    -------
    Climate

    Raises
    ------
    InputError
        If there are not 12 figures, or one is impossible at that latitude.
    """
    quantiles, distance = kt_quantiles_at(place.latitude, place.longitude)
    notes: list[str] = []
    share = _fallback_share(place, distance)
    beyond = share > 0.5
    basis: Basis = "table"
    source: str = TABLE_SOURCE
    spread = DARK_FRACTION
    if share > 0.0:
        quantiles = (1.0 - share) * quantiles + share * _island_quantiles(place)
        source = MIXED_SOURCE if share < 1.0 else FALLBACK_SOURCE
    if beyond:
        basis = "guess"
    if monthly_ghi_kwh_m2_day is not None:
        target = _kt_from_monthly(place, monthly_ghi_kwh_m2_day)
        quantiles = _reshaped(quantiles, target, place.altitude_m)
        varies = phrase("usual over oceans") if beyond else phrase("from MERRA-2")
        source = phrase("monthly figures typed in; variability {varies}", varies=varies)
        basis = "figures"
    elif distance > TABLE_REACH_KM:
        spread = FALLBACK_DARK_FRACTION
        notes.append(far_note(distance, spread, beyond=beyond))
    elif fog := fog_note(place, FALLBACK_DARK_FRACTION):
        spread = FALLBACK_DARK_FRACTION
        notes.append(fog)
    climate = assemble_climate(
        place,
        kt_quantiles=quantiles,
        monthly_temperature_c=_temperature(place, monthly_temperature_c),
        data_distance_km=distance if monthly_ghi_kwh_m2_day is None else 0.0,
        source=source,
        notes=tuple(notes) + dark_notes(place),
    )
    return replace(climate, uncertainty_dark_fraction=spread, basis=basis)


def assemble_climate(
    place: Place,
    *,
    kt_quantiles: FloatArray,
    monthly_temperature_c: FloatArray,
    data_distance_km: float,
    source: str,
    notes: tuple[str, ...] = (),
) -> Climate:
    """Build a climate from clearness quantiles and temperatures, whatever their source.

    Parameters
    ----------
    place : Place
        Where.
    kt_quantiles : ndarray, shape (12, levels)
        Clearness index at :data:`~sunpantry.sky.clearness.LEVELS` [-].
    monthly_temperature_c : ndarray, shape (12,)
        Mean air temperature [°C].
    data_distance_km : float
        Distance of the data from the place [km].
    source : str
        Where they come from.
    notes : tuple of str
        What a reader must know.

    Returns
    -------
    Climate

    Notes
    -----
    Cold extremes from the coldest month Tc and the yearly range ΔT of monthly means:
    mean annual minimum Tc - (7.3 + 0.28 ΔT), standard error 1.1 K at eight stations,
    stated as 2.5 K elsewhere; record Tc - [10.75 + 12.4 (1 - exp(-ΔT/24.7)) + 7.5
    clip((|φ| - 20)/25, 0, 1)], 4.8 K at 46 cities; 'never colder' is 8 K under that.
    """
    coldest = float(monthly_temperature_c.min())
    span = float(np.ptp(monthly_temperature_c))
    toward_pole = float(np.clip((abs(place.latitude) - 20.0) / 25.0, 0.0, 1.0))
    record = coldest - (10.75 + 12.4 * (1.0 - np.exp(-span / 24.7)) + 7.5 * toward_pole)
    return Climate(
        place=place,
        kt_quantiles=kt_quantiles,
        monthly_ghi_kwh_m2_day=mean_kt(kt_quantiles) * monthly_extraterrestrial(place.latitude),
        monthly_temperature_c=monthly_temperature_c,
        mean_annual_minimum_c=coldest - (7.3 + 0.28 * span),
        mean_annual_minimum_sigma_k=2.5,
        never_colder_c=record - 8.0,
        never_colder_sigma_k=4.8,
        variability=variability_of(place.latitude, yearly_range_k=span),
        data_distance_km=data_distance_km,
        source=source,
        notes=notes,
    )


def climate_from_daily(
    place: Place,
    *,
    day_of_year: NDArray[np.int64],
    ghi_kwh_m2: FloatArray,
    monthly_temperature_c: Sequence[float] | None = None,
    source: str,
    notes: tuple[str, ...] = (),
) -> Climate:
    """Build a climate from measured or typical days.

    Parameters
    ----------
    place : Place
        Where.
    day_of_year : ndarray of int, shape (days,)
        Day of the year of each day, 1…366.
    ghi_kwh_m2 : ndarray, shape (days,)
        Irradiation on the flat [kWh/m²].
    monthly_temperature_c : sequence of 12 floats, optional
        Mean air temperature, by default the table's [°C].
    source : str
        Where the days come from.
    notes : tuple of str
        What a reader must know.

    Returns
    -------
    Climate
        A month with fewer than ten bright-enough days keeps the table's shape and, with
        at least one, takes the mean of the days.
    """
    quantiles = climate_of(place).kt_quantiles.copy()
    days = np.minimum(np.asarray(day_of_year), 365)
    above = extraterrestrial_kwh_m2_day(place.latitude, days + 1.0)
    lit = (above > 0.05) & np.isfinite(ghi_kwh_m2)
    kt = np.where(lit, ghi_kwh_m2 / np.where(lit, above, 1.0), np.nan)
    for month in range(12):
        those = lit & (MONTH_OF_DAY[days - 1] == month)
        if not those.any():
            continue
        mean = float(ghi_kwh_m2[those].sum() / above[those].sum())
        if those.sum() >= 10:
            quantiles[month] = np.maximum(np.quantile(kt[those], LEVELS), DARKEST_DAY_KT / 4)
        row = quantiles[month : month + 1]
        quantiles[month] = _reshaped(row, np.array([mean]), place.altitude_m)[0]
    climate = assemble_climate(
        place,
        kt_quantiles=quantiles,
        monthly_temperature_c=_temperature(place, monthly_temperature_c),
        data_distance_km=0.0,
        source=source,
        notes=notes + dark_notes(place),
    )
    return replace(climate, basis="file")


def monthly_extraterrestrial(latitude: float) -> FloatArray:
    """Mean over each month's days of H0.

    Parameters
    ----------
    latitude : float
        Latitude [°].

    Returns
    -------
    ndarray, shape (12,)
        [kWh/m²/day].
    """
    daily = extraterrestrial_kwh_m2_day(latitude, SPENCER_DAYS)
    return np.asarray(np.bincount(MONTH_OF_DAY, daily) / np.array(MONTH_LENGTHS))


def _reshaped(quantiles: FloatArray, target: FloatArray, altitude_m: float) -> FloatArray:
    clear = np.full(len(target), float(clear_day_kt(altitude_m)))
    return reshape_to_mean(quantiles, target, clear_kt=clear)


def _fallback_share(place: Place, distance_km: float) -> float:
    """Tell how much of the climate is the fallback: all of it beyond the table's reach [-]."""
    further = POLAR_REACH_KM - TABLE_REACH_KM
    reach_km = TABLE_REACH_KM + np.interp(abs(place.latitude), POLAR_LATITUDES, (0.0, further))
    return float(np.clip(0.5 + 0.5 * (distance_km - reach_km) / MIXED_KM, 0.0, 1.0))


def _island_quantiles(place: Place) -> FloatArray:
    """Clearness over oceans: 0.56 in the tropics (sunshine of eight islands), 0.42 from 55°."""
    poleward = float(np.clip((abs(place.latitude) - 25.0) / 30.0, 0.0, 1.0))
    shape = np.interp(LEVELS, ISLAND_LEVELS, ISLAND_SHAPE)
    quantiles = np.tile(0.56 * shape / mean_kt(shape), (12, 1))
    return _reshaped(quantiles, np.full(12, 0.56 - 0.14 * poleward), place.altitude_m)


def _kt_from_monthly(place: Place, monthly: Sequence[float]) -> FloatArray:
    problems = []
    if len(monthly) != 12:
        raise InputError.one(
            "monthly_sun_kwh_m2_day",
            list(monthly),
            "12 figures, January first",
            f"there are {len(monthly)}",
        )
    above = monthly_extraterrestrial(place.latitude)
    limit = 0.98 * float(clear_day_kt(place.altitude_m)) * above
    for month, value in enumerate(monthly):
        if not 0.0 <= value <= max(limit[month], 0.05):
            problems.append(
                Problem(
                    f"monthly_sun_kwh_m2_day[{month + 1}]",
                    f"{value:g} ({MONTHS[month]})",
                    f"from 0 to {limit[month]:.2f} kWh/m² a day, a cloudless month there",
                    "check the unit (kWh/m² a day, not a month; MJ/m² ÷ 3.6) and the hemisphere",
                )
            )
    if problems:
        raise InputError(problems)
    ghi = np.asarray(monthly, dtype=np.float64)
    return np.where(above > 0.02, np.maximum(ghi, 1e-3) / np.maximum(above, 0.02), 0.3)


def _temperature(place: Place, monthly: Sequence[float] | None) -> FloatArray:
    if monthly is None:
        grid_c, grid_altitude = temperature_at(place.latitude, place.longitude)
        rise = place.altitude_m - grid_altitude
        near = float(np.clip(rise, -NEAR_LAPSE_REACH_M, NEAR_LAPSE_REACH_M))
        return grid_c - LAPSE_C_PER_M * near - FAR_LAPSE_C_PER_M * (rise - near)
    if len(monthly) != 12 or not all(-70.0 <= value <= 50.0 for value in monthly):
        raise InputError.one(
            "monthly_temperature_c",
            list(monthly),
            "12 figures from -70 to 50 °C, January first",
            "check the unit",
        )
    return np.asarray(monthly, dtype=np.float64)

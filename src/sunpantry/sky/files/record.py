"""What every reader hands on: one stretch of weather as the file has it, checked.

A :class:`WeatherRecord` is regular in time, in UTC, stamped at the start of each
interval, with NaN where the file has nothing.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sunpantry.errors import WeatherError
from sunpantry.phrases import phrase, phrases
from sunpantry.timegrid import FloatArray, IntArray

# Gaps up to this long are filled; longer ones cost the year they lie in.
SHORT_GAP_H = 3.0
# A night-time zero error of a good instrument; anything lower is a fault.
LOWEST_GHI_W_M2 = -15.0
# The limits of what nature and broken clouds do, and of what a file may hold.
HIGHEST_W_M2 = 1800.0
COLDEST_C, WARMEST_C = -80.0, 60.0

DateArray = NDArray[np.datetime64]


@dataclass(frozen=True, eq=False)
class WeatherRecord:
    """One file's weather.

    Parameters
    ----------
    name : str
        Name of the file.
    starts_utc : ndarray of datetime64[s], shape (steps,)
        Start of each interval.
    lines : ndarray of int, shape (steps,)
        Line of the file each interval was read from; 0 where it has none.
    step_h : float
        Length of the intervals [h].
    ghi_w_m2 : ndarray, shape (steps,)
        Mean global irradiance on the flat [W/m²].
    dni_w_m2, dhi_w_m2, air_temperature_c : ndarray or None
        The same for the beam, the diffuse part [W/m²] and the air [°C], where given.
    typical : bool
        True for a file that is one made-up year.
    latitude, longitude : float or None
        Where the file says it is from [°].
    notes : tuple of str
        What was found and done.
    """

    name: str
    starts_utc: DateArray
    lines: IntArray
    step_h: float
    ghi_w_m2: FloatArray
    dni_w_m2: FloatArray | None
    dhi_w_m2: FloatArray | None
    air_temperature_c: FloatArray | None
    typical: bool
    latitude: float | None = None
    longitude: float | None = None
    notes: tuple[str, ...] = ()


def fault(file: str | Path, where: str, value: object, allowed: str, remedy: str) -> WeatherError:
    """Word what is wrong with a file: place in it, value, what is allowed, what to do."""
    return WeatherError(f"{Path(file).name}: {where} = {value}: {allowed}; {remedy}")


def checked(record: WeatherRecord) -> WeatherRecord:
    """Refuse values that cannot be and set small negative sun to zero.

    Parameters
    ----------
    record : WeatherRecord
        As read.

    Returns
    -------
    WeatherRecord

    Raises
    ------
    WeatherError
        Naming the line, the column and the value.
    """
    notes = list(record.notes)
    suns: dict[str, FloatArray | None] = {}
    for column in ("ghi", "dni", "dhi"):
        values: FloatArray | None = getattr(record, f"{column}_w_m2")
        if values is None:
            suns[column] = None
            continue
        with np.errstate(invalid="ignore"):
            _refuse(
                record,
                column,
                values,
                values < LOWEST_GHI_W_M2,
                allowed="irradiance is not negative",
                remedy="leave the cell empty where there is no reading",
            )
            _refuse(
                record,
                column,
                values,
                values > HIGHEST_W_M2,
                allowed=f"at most {HIGHEST_W_M2:g} W/m²",
                remedy="check the unit and state it in the column's name",
            )
            below = int((values < 0).sum())
        if below:
            notes.append(
                phrases(
                    "One slightly negative reading of {column} was set to 0.",
                    "{count} slightly negative readings of {column} were set to 0.",
                    count=below,
                    column=column,
                )
            )
        suns[column] = np.maximum(values, 0.0)
    air = record.air_temperature_c
    if air is not None:
        with np.errstate(invalid="ignore"):
            outside = (air < COLDEST_C) | (air > WARMEST_C)
        _refuse(
            record,
            "temperature",
            air,
            outside,
            allowed=f"from {COLDEST_C:g} to {WARMEST_C:g} °C",
            remedy="check the unit and state it in the column's name",
        )
    ghi = suns["ghi"]
    if ghi is None or not np.isfinite(ghi).any():
        raise fault(record.name, "column ghi", "empty", "needs numbers", "give another file")
    return replace(
        record, ghi_w_m2=ghi, dni_w_m2=suns["dni"], dhi_w_m2=suns["dhi"], notes=tuple(notes)
    )


def _refuse(
    record: WeatherRecord,
    column: str,
    values: FloatArray,
    wrong: NDArray[np.bool_],
    *,
    allowed: str,
    remedy: str,
) -> None:
    if not wrong.any():
        return
    first = int(np.argmax(wrong))
    more = int(wrong.sum()) - 1
    where = f"line {record.lines[first]}, column {column}"
    also = f" (and {more} more such)" if more else ""
    raise fault(record.name, where, f"{values[first]:g}{also}", allowed, remedy)


def made_regular(record: WeatherRecord) -> WeatherRecord:
    """Put the intervals on an unbroken axis, NaN where the file has none.

    Parameters
    ----------
    record : WeatherRecord
        In order of time, each interval once.

    Returns
    -------
    WeatherRecord

    Raises
    ------
    WeatherError
        When a time does not fall on a whole number of steps.
    """
    step_s = round(record.step_h * 3600)
    since = (record.starts_utc - record.starts_utc[0]).astype("timedelta64[s]").astype(np.int64)
    off = since % step_s != 0
    if off.any():
        first = int(np.argmax(off))
        raise fault(
            record.name,
            f"line {record.lines[first]}, column time",
            record.starts_utc[first],
            f"a whole number of steps of {record.step_h * 60:g} minutes after the first",
            "give the file one step throughout",
        )
    at = since // step_s
    length = int(at[-1]) + 1
    if length == at.size:
        return record

    def spread(values: FloatArray | None) -> FloatArray | None:
        if values is None:
            return None
        full = np.full(length, np.nan)
        full[at] = values
        return full

    ghi = spread(record.ghi_w_m2)
    lines = np.zeros(length, dtype=np.int64)
    lines[at] = record.lines
    return replace(
        record,
        starts_utc=record.starts_utc[0] + np.arange(length) * np.timedelta64(step_s, "s"),
        lines=lines,
        ghi_w_m2=record.ghi_w_m2 if ghi is None else ghi,
        dni_w_m2=spread(record.dni_w_m2),
        dhi_w_m2=spread(record.dhi_w_m2),
        air_temperature_c=spread(record.air_temperature_c),
    )


def short_gaps_filled(
    record: WeatherRecord, shape: FloatArray, *, unused: NDArray[np.bool_]
) -> WeatherRecord:
    """Fill gaps of up to three hours (one day in daily files) and say how many.

    Parameters
    ----------
    record : WeatherRecord
        Regular in time.
    shape : ndarray, shape (steps,)
        What the sun would give without clouds [W/m²]. The sun in a gap is this, times a
        share that runs straight from one side of the gap to the other; in the dark it is 0.
    unused : ndarray of bool, shape (steps,)
        Steps of a 29 February, whose gaps are no loss and are not told.

    Returns
    -------
    WeatherRecord
        Longer gaps stay NaN.
    """
    longest = max(1, int(SHORT_GAP_H / record.step_h + 1e-9))
    notes = list(record.notes)
    dark = shape <= 0.0
    lit = np.maximum(shape, 1.0)

    def fill_sun(values: FloatArray | None, column: str) -> FloatArray | None:
        if values is None:
            return None
        night = np.isnan(values) & dark
        share = _bridged(np.where(dark, np.nan, values / lit), dark, longest)
        filled = np.where(np.isnan(values), share * lit, values)
        filled[night] = 0.0
        _tell(notes, column, np.isnan(values) & ~unused, np.isnan(filled), dark)
        return filled

    ghi = fill_sun(record.ghi_w_m2, "ghi")
    air = record.air_temperature_c
    if air is not None:
        bridged = _bridged(air, np.zeros(air.size, dtype=bool), longest)
        never = np.zeros_like(dark)
        _tell(notes, "temperature", np.isnan(air) & ~unused, np.isnan(bridged), never)
        air = bridged
    return replace(
        record,
        ghi_w_m2=record.ghi_w_m2 if ghi is None else ghi,
        dni_w_m2=fill_sun(record.dni_w_m2, "dni"),
        dhi_w_m2=fill_sun(record.dhi_w_m2, "dhi"),
        air_temperature_c=air,
        notes=tuple(notes),
    )


def _bridged(values: FloatArray, ignored: NDArray[np.bool_], longest: int) -> FloatArray:
    """Interpolate over runs of NaN no longer than ``longest``, not counting ``ignored``."""
    known = np.isfinite(values)
    if known.all() or not known.any():
        return values
    missing = ~known & ~ignored
    at = np.arange(values.size)
    straight = np.interp(at, at[known], values[known])
    # Runs of missing steps, joined across ignored (dark) ones: a gap over a night counts
    # the daylight on both its sides.
    block = np.cumsum(known)
    run = np.bincount(block, weights=missing, minlength=int(block[-1]) + 1)
    short = missing & (run[block] <= longest)
    return np.where(short, straight, values)


def _tell(
    notes: list[str],
    column: str,
    gone: NDArray[np.bool_],
    left: NDArray[np.bool_],
    dark: NDArray[np.bool_],
) -> None:
    lost, still, night = (int(part.sum()) for part in (gone, gone & left, gone & dark))
    if not lost:
        return
    in_the_dark = (
        phrase(", {night} of them in the dark, where it is 0", night=night) if night else ""
    )
    kept = (
        phrases(
            "; one in a longer gap was left empty",
            "; {count} in longer gaps were left empty",
            count=still,
        )
        if still
        else ""
    )
    notes.append(
        phrases(
            "{count} reading of {column} is missing: {filled} was filled by interpolation over "
            "at most {short_gap_h:g} hours (one day in daily files){in_the_dark}{kept}.",
            "{count} readings of {column} are missing: {filled} were filled by interpolation over "
            "at most {short_gap_h:g} hours (one day in daily files){in_the_dark}{kept}.",
            count=lost,
            column=column,
            filled=lost - still,
            short_gap_h=SHORT_GAP_H,
            in_the_dark=in_the_dark,
            kept=kept,
        )
    )

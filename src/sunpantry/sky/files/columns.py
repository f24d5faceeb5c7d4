"""Reader of plain CSV files whose columns have names.

The file has one line of names and one line for each interval, separated by commas,
semicolons (then a decimal comma is understood) or tabs. Lines that start with ``#``
before the names may carry ``# timezone: UTC``, ``# latitude: 53.9``,
``# longitude: -9.3``, ``# stamp: end`` and ``# source: who made it``.
"""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np

from sunpantry.phrases import phrase
from sunpantry.sky.files.record import WeatherRecord, fault
from sunpantry.sky.files.text import TextTable, degrees_in_head, read_text
from sunpantry.sky.files.times import Stamp, order_of, read_times, stamp_of, step_min_of
from sunpantry.timegrid import FloatArray

NAMES = {
    "time": ("time", "timestamp", "datetime", "date", "date_time", "valid"),
    "ghi": ("ghi", "global", "global_horizontal", "global_radiation", "solar", "rsds"),
    "dni": ("dni", "beam", "direct_normal"),
    "dhi": ("dhi", "diffuse", "diffuse_horizontal"),
    "temperature": ("temperature", "temp", "temp_air", "air_temperature", "t2m", "tair"),
}
_MISSING = ("", "nan", "na", "n/a", "null", "none", "-")
_MISSING_NUMBERS = (-99.0, -999.0, -9999.0)
_SUN_UNITS = ("w_m2", "kw_m2", "wh_m2", "kwh_m2", "mj_m2", "j_cm2")
_AIR_UNITS = ("c", "degc", "k", "f", "degf")


def read_columns(
    path: Path, *, timezone: str | None = None, stamp: Stamp | None = None
) -> WeatherRecord:
    """Read a CSV file with named columns.

    Parameters
    ----------
    path : Path
        The file. Columns: ``time``, ``ghi`` and, if there, ``dni``, ``dhi``,
        ``temperature``; the unit follows the name, as ``ghi_kwh_m2`` or ``ghi [W/m²]``.
        Without one, irradiance is in W/m² and temperature in °C; daily sun must have one.
    timezone : str, optional
        Zone of times without an offset: ``UTC``, ``+01:00`` or ``Europe/Dublin``; taken
        before the one in the file.
    stamp : 'start' or 'end', optional
        Which end of its interval a time marks; 'start' when neither this nor the file
        says.

    Returns
    -------
    WeatherRecord
        Steps of 1 minute to 1 hour, or of a day.

    Raises
    ------
    WeatherError
        Naming the line, the column and the value.
    InputError
        When ``timezone`` is unknown.
    """
    text = read_text(path)
    columns = _find_columns(text)
    if "time" not in columns or "ghi" not in columns:
        lacking = " and ".join(name for name in ("time", "ghi") if name not in columns)
        raise fault(
            path,
            f"line {text.first_line - 1}, columns",
            ", ".join(map(str, text.table.columns)),
            f"needs a column named {lacking}",
            "name the columns time, ghi_w_m2, temperature_c",
        )
    starts = read_times(text, columns["time"][0], timezone or text.head.get("timezone"))
    order = order_of(text, starts)
    starts = starts[order]
    step_min = step_min_of(text, starts)
    if stamp_of(text, stamp) == "end":
        starts = starts - np.timedelta64(step_min * 60, "s")
    values = {
        name: _values(text, *found, step_min) for name, found in columns.items() if name != "time"
    }
    sorted_values = {name: column[order] for name, column in values.items()}
    in_order = bool(np.array_equal(order, np.arange(order.size)))
    notes = [phrase("Source: {source}.", source=source) for source in text.sources]
    if not in_order:
        notes.append(phrase("The lines were put in order of time."))
    return WeatherRecord(
        name=path.name,
        starts_utc=starts,
        lines=(text.first_line + np.arange(order.size))[order],
        step_h=step_min / 60.0,
        ghi_w_m2=sorted_values["ghi"],
        dni_w_m2=sorted_values.get("dni"),
        dhi_w_m2=sorted_values.get("dhi"),
        air_temperature_c=sorted_values.get("temperature"),
        typical=False,
        latitude=degrees_in_head(text, "latitude", 90.0),
        longitude=degrees_in_head(text, "longitude", 180.0),
        notes=tuple(notes),
    )


def _find_columns(text: TextTable) -> dict[str, tuple[str, str]]:
    """Column and unit (normalised, '' when not given) under each name that is known."""
    found: dict[str, tuple[str, str]] = {}
    for column in map(str, text.table.columns):
        plain = column.strip().lower().replace("²", "2").replace("°", "deg")
        match = re.match(r"^(.*?)\s*[\[(]\s*(.*?)\s*[\])]$", plain)
        name, unit = (match[1], _unit(match[2])) if match else _split_unit(plain)
        name = re.sub(r"[\s-]+", "_", name.strip())
        for wanted, spellings in NAMES.items():
            if name in spellings:
                if wanted in found:
                    raise fault(
                        text.path,
                        f"line {text.first_line - 1}, columns",
                        f"{found[wanted][0]}, {column}",
                        f"one column for {wanted}",
                        "rename or remove one of them",
                    )
                found[wanted] = (column, unit)
    return found


def _unit(written: str) -> str:
    plain = re.sub(r"\s+", "", written).replace("^", "").replace("/", "_").removesuffix("_day")
    return plain.removesuffix("_d").replace("m-2", "_m2").replace("__", "_")


def _split_unit(plain: str) -> tuple[str, str]:
    for unit in sorted((*_SUN_UNITS, *_AIR_UNITS), key=len, reverse=True):
        if plain.endswith("_" + unit):
            return plain.removesuffix("_" + unit), unit
    return plain, ""


def _values(text: TextTable, column: str, unit: str, step_min: int) -> FloatArray:
    import pandas as pd

    written = text.table[column].str.strip()
    if text.decimal_comma:
        written = written.str.replace(",", ".", regex=False)
    empty = written.str.lower().isin(_MISSING).to_numpy()
    numbers = pd.to_numeric(written.where(~empty), errors="coerce").to_numpy(np.float64, copy=True)
    unread = ~np.isfinite(numbers) & ~empty
    if unread.any():
        first = int(np.argmax(unread))
        raise fault(
            text.path,
            f"line {text.first_line + first}, column {column}",
            written.iloc[first],
            "a number, or an empty cell where there is no reading",
            "mend the line",
        )
    numbers[np.isin(numbers, _MISSING_NUMBERS)] = np.nan
    return _in_our_unit(text, numbers, column, unit, step_min)


def _in_our_unit(
    text: TextTable, numbers: FloatArray, column: str, unit: str, step_min: int
) -> FloatArray:
    step_h = step_min / 60.0
    if unit in ("c", "degc"):
        return numbers
    if unit == "k":
        return numbers - 273.15
    if unit in ("f", "degf"):
        return (numbers - 32.0) / 1.8
    to_watts = {
        "w_m2": 1.0,
        "kw_m2": 1e3,
        "wh_m2": 1.0 / step_h,
        "kwh_m2": 1e3 / step_h,
        "mj_m2": 1e6 / 3600.0 / step_h,
        "j_cm2": 1e4 / 3600.0 / step_h,
    }
    if unit in to_watts:
        return numbers * to_watts[unit]
    is_sun = column == _find_columns(text)["ghi"][0]
    if unit or (is_sun and step_min == 1440):
        raise fault(
            text.path,
            f"line {text.first_line - 1}, column {column}",
            f"unit '{unit}'" if unit else "no unit",
            "W/m2, kW/m2, Wh/m2, kWh/m2, MJ/m2, J/cm2 for sun; C, K, F for air",
            "put the unit after the name, such as ghi_kwh_m2",
        )
    return numbers

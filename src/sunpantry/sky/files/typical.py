"""Readers of typical-year files: EPW, TMY3 and TMY2, through pvlib."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from sunpantry.errors import WeatherError
from sunpantry.phrases import phrase
from sunpantry.sky.files.record import WeatherRecord, fault
from sunpantry.timegrid import HOURS_PER_YEAR, NOMINAL_YEAR, FloatArray, IntArray

if TYPE_CHECKING:
    import pandas as pd

_LEAP_HOURS = 8784
_SUN = ("ghi", "dni", "dhi")


def read_epw(path: Path) -> WeatherRecord:
    """Read an EnergyPlus weather file.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    WeatherRecord

    Raises
    ------
    WeatherError
        When it is no EPW file or does not hold one whole year of hours.

    References
    ----------
    *EnergyPlus Auxiliary Programs*, 'EnergyPlus Weather File (EPW) Data Dictionary';
    9999 stands for missing sun, 99.9 for missing temperature.
    """
    from pvlib.iotools import read_epw as reader

    data, meta = _read(reader, path, "EPW", "8 header lines and 35 columns")
    hours = _hours(path, data, first_line=9, month="month", day="day", hour=data["hour"] - 1)
    return _record(
        path,
        hours,
        sun={name: _numbers(path, data, name, 9, missing=9999.0) for name in _SUN},
        air=_numbers(path, data, "temp_air", 9, missing=99.9),
        meta=meta,
    )


def read_tmy3(path: Path) -> WeatherRecord:
    """Read a TMY3 file.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    WeatherRecord

    Raises
    ------
    WeatherError
        When it is no TMY3 file or does not hold one whole year of hours.

    References
    ----------
    S. Wilcox and W. Marion, *Users manual for TMY3 data sets*, NREL/TP-581-43156 (2008);
    -9900 stands for a missing value, hours are stamped at their end.
    """
    from pvlib.iotools import read_tmy3 as reader

    data, meta = _read(reader, path, "TMY3", "a station line, a line of names, 8760 hours")
    date = data["Date (MM/DD/YYYY)"].str.split("/", expand=True).astype(int)
    data = data.assign(month=date[0], day=date[1])
    hour = data["Time (HH:MM)"].str.split(":").str[0].astype(int) - 1
    hours = _hours(path, data, first_line=3, month="month", day="day", hour=hour)
    return _record(
        path,
        hours,
        sun={
            name: _numbers(path, data, name, 3, missing=-9900.0) for name in ("ghi", "dni", "dhi")
        },
        air=_numbers(path, data, "temp_air", 3, missing=-9900.0),
        meta=meta,
    )


def read_tmy2(path: Path) -> WeatherRecord:
    """Read a TMY2 file.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    WeatherRecord

    Raises
    ------
    WeatherError
        When it is no TMY2 file or does not hold one whole year of hours.

    References
    ----------
    W. Marion and K. Urban, *User's manual for TMY2s*, NREL/SP-463-7668 (1995); 9999
    stands for a missing value, temperatures are in tenths of a degree.
    """
    from pvlib.iotools import read_tmy2 as reader

    data, meta = _read(reader, path, "TMY2", "a station line and 8760 lines of 142 characters")
    hours = _hours(path, data, first_line=2, month="month", day="day", hour=data["hour"] - 1)
    sun = {
        name: _numbers(path, data, name.upper(), 2, missing=9999.0)
        for name in ("ghi", "dni", "dhi")
    }
    air = _numbers(path, data, "DryBulb", 2, missing=9999.0) / 10.0
    return _record(path, hours, sun=sun, air=air, meta=meta)


def _read(
    reader: Callable[[Any], tuple[pd.DataFrame, dict[str, Any]]],
    path: Path,
    kind: str,
    expected: str,
) -> tuple[pd.DataFrame, dict[str, Any]]:
    """Run a reader of pvlib; whatever it trips over becomes one sentence."""
    try:
        # The text, not the name: a name that looks like an address would be gone out for.
        return reader(path if kind == "TMY2" else io.StringIO(_text(path)))
    except OSError as error:
        raise WeatherError(f"{path.name}: {error.strerror or error}; check the name") from error
    except Exception as error:  # the readers raise anything from KeyError to bare Exception
        why = f"{type(error).__name__}: {error}".splitlines()[0]
        raise fault(
            path,
            "file",
            f"not readable as {kind} ({why})",
            f"needs {expected}",
            "fetch the file again, or turn it into a CSV file with named columns",
        ) from error


def _text(path: Path) -> str:
    content = path.read_bytes()
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:  # names of cities in older files
        return content.decode("latin-1")


def _numbers(
    path: Path, data: pd.DataFrame, column: str, first_line: int, *, missing: float
) -> FloatArray:
    import pandas as pd

    if column not in data:
        raise fault(
            path,
            "columns",
            ", ".join(map(str, data.columns[:8])) + " …",
            f"needs {column}",
            "check that the file is what its name says",
        )
    numbers = pd.to_numeric(data[column], errors="coerce").to_numpy(dtype=np.float64, copy=True)
    unread = np.isnan(numbers) & data[column].notna().to_numpy()
    if unread.any():
        first = int(np.argmax(unread))
        raise fault(
            path,
            f"line {first_line + first}, column {column}",
            data[column].iloc[first],
            "a number",
            "mend the line or leave the cell empty",
        )
    numbers[numbers == missing] = np.nan
    return numbers


def _hours(
    path: Path, data: pd.DataFrame, *, first_line: int, month: str, day: str, hour: pd.Series[int]
) -> tuple[IntArray, IntArray]:
    """Hour of the 365-day year of each row and its line; the file must have all 8760."""
    months, days = data[month].to_numpy(int), data[day].to_numpy(int)
    leap = (months == 2) & (days == 29)
    months, days, hours = months[~leap], days[~leap], hour.to_numpy(int)[~leap]
    lines = (first_line + np.arange(len(data)))[~leap]
    starts = np.array([0, 31, 59, 90, 120, 151, 181, 212, 243, 273, 304, 334])
    if not ((months >= 1) & (months <= 12) & (days >= 1) & (days <= 31)).all():
        raise fault(path, "dates", "a month or day out of range", "real dates", "fetch it again")
    at = (starts[months - 1] + days - 1) * 24 + hours
    wrong = np.nonzero(at != np.arange(at.size) % HOURS_PER_YEAR)[0]
    if at.size != HOURS_PER_YEAR or wrong.size:
        row = int(wrong[0]) if wrong.size else at.size - 1
        raise fault(
            path,
            f"line {lines[row]}",
            f"{months[row]}/{days[row]} hour {hours[row] + 1} in a file of {len(data)} rows",
            f"needs every hour of one year once, {HOURS_PER_YEAR} rows in order "
            f"({_LEAP_HOURS} with 29 February, which is left out)",
            "an hour is missing or doubled there: fetch the file again, or turn it into a CSV "
            "file with named columns, where short gaps are filled",
        )
    return at.astype(np.int64), lines.astype(np.int64)


def _record(
    path: Path,
    hours: tuple[IntArray, IntArray],
    *,
    sun: dict[str, FloatArray],
    air: FloatArray,
    meta: dict[str, Any],
) -> WeatherRecord:
    at, lines = hours
    first = np.datetime64(f"{NOMINAL_YEAR}-01-01T00:00:00", "s")
    offset_s = round(float(meta["TZ"]) * 3600)
    kept = len(air) != at.size
    notes = (phrase("29 February was left out."),) if kept else ()
    rows = lines - lines[0]
    return WeatherRecord(
        name=path.name,
        starts_utc=first + (at * 3600 - offset_s).astype("timedelta64[s]"),
        lines=lines,
        step_h=1.0,
        ghi_w_m2=sun["ghi"][rows],
        dni_w_m2=sun["dni"][rows],
        dhi_w_m2=sun["dhi"][rows],
        air_temperature_c=air[rows],
        typical=True,
        latitude=float(meta["latitude"]),
        longitude=float(meta["longitude"]),
        notes=notes,
    )

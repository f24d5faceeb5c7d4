"""Times as CSV files have them, brought to UTC."""

from __future__ import annotations

import re
from datetime import timedelta, timezone, tzinfo
from typing import TYPE_CHECKING, Literal

import numpy as np

from sunpantry.errors import InputError
from sunpantry.sky.files.record import DateArray, fault
from sunpantry.sky.files.text import TextTable

if TYPE_CHECKING:
    import pandas as pd

Stamp = Literal["start", "end"]

_STEPS_MIN = (1, 2, 3, 4, 5, 6, 10, 12, 15, 20, 30, 60, 1440)


def read_times(text: TextTable, column: str, zone: str | None) -> DateArray:
    """Read a column of times and bring it to UTC, with ``zone`` for times without an offset."""
    import pandas as pd

    written = text.table[column].str.strip()
    has_offset = written.str.contains(r"(?:[Zz]|[+-]\d{2}:?\d{2})$", regex=True) & (
        written.str.len() > len("2020-01-01")
    )
    try:
        if has_offset.all():
            parsed = pd.to_datetime(written, utc=True, format="ISO8601")
            return parsed.dt.tz_localize(None).to_numpy("datetime64[s]")
        naive = pd.to_datetime(written, format="ISO8601")
    except (ValueError, TypeError) as error:
        loose = pd.to_datetime(written, format="ISO8601", errors="coerce", utc=True)
        first = int(np.argmax(loose.isna().to_numpy()))
        raise fault(
            text.path,
            f"line {text.first_line + first}, column {column}",
            written.iloc[first] or "empty",
            "a time such as 2024-01-31T13:00 or 2024-01-31 13:00+01:00, the same way throughout",
            "write the year first",
        ) from error
    if zone is None:
        raise fault(
            text.path,
            f"column {column}",
            written.iloc[0],
            "the time zone is not stated",
            "give the time zone (UTC, +01:00, Europe/Dublin), or put '# timezone: UTC' on the "
            "first line",
        )
    return _localised(text, naive, zone)


def _localised(text: TextTable, naive: pd.Series[pd.Timestamp], zone: str) -> DateArray:
    known = zone_of(zone)
    try:
        local = naive.dt.tz_localize(known, ambiguous="infer", nonexistent="raise")
    except (ValueError, TypeError) as error:
        raise fault(
            text.path,
            "column time",
            str(error).splitlines()[0],
            f"the hour when clocks change in {zone} cannot be told apart",
            "keep the file in UTC or with one fixed offset such as +01:00",
        ) from error
    return local.dt.tz_convert("UTC").dt.tz_localize(None).to_numpy("datetime64[s]")


def zone_of(name: str) -> tzinfo:
    """Read a time zone: an IANA name, 'UTC', or an offset such as '+05:30'.

    Parameters
    ----------
    name : str
        As written.

    Returns
    -------
    tzinfo

    Raises
    ------
    InputError
        When it is neither.
    """
    from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

    offset = re.fullmatch(r"(?:UTC|GMT)?\s*([+\-−])(\d{1,2})(?::?(\d{2}))?", name.strip())
    if offset:
        minutes = int(offset[2]) * 60 + int(offset[3] or 0)
        return timezone(timedelta(minutes=minutes if offset[1] == "+" else -minutes))
    try:
        return ZoneInfo("UTC" if name.upper() in ("Z", "GMT") else name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise InputError.one(
            "timezone",
            name,
            "an offset such as +01:00, UTC, or a name such as Europe/Dublin",
            "use the zone the file's times are in, which may not be the site's",
        ) from None


def order_of(text: TextTable, starts: DateArray) -> np.ndarray[tuple[int], np.dtype[np.intp]]:
    """Order of the lines in time; refuses a time that stands there twice."""
    order = np.argsort(starts, kind="stable")
    twice = np.nonzero(np.diff(starts[order]) == np.timedelta64(0, "s"))[0]
    if twice.size:
        first, second = sorted(int(row) for row in order[twice[0] : twice[0] + 2])
        raise fault(
            text.path,
            f"line {text.first_line + second}, column time",
            starts[second],
            f"already on line {text.first_line + first}; each time once",
            "remove one of the two, or state the offset where clocks go back",
        )
    return order


def step_min_of(text: TextTable, starts: DateArray) -> int:
    """Length of the usual step [min]."""
    if starts.size < 2:
        raise fault(
            text.path,
            "file",
            f"{starts.size} interval",
            "needs at least a year of them",
            "give another file",
        )
    apart = np.diff(starts).astype("timedelta64[s]").astype(np.int64)
    lengths, counts = np.unique(apart, return_counts=True)
    seconds = int(lengths[np.argmax(counts)])
    if seconds % 60 or seconds // 60 not in _STEPS_MIN:
        raise fault(
            text.path,
            "column time",
            f"steps of {seconds / 60:g} minutes",
            "a step of 1 minute to 1 hour that divides an hour, or one day",
            "average or fill the file to such a step",
        )
    return seconds // 60


def stamp_of(text: TextTable, stamp: Stamp | None) -> str:
    """Which end of its interval a time marks: as asked, else as the file says, else its start."""
    said = stamp or text.head.get("stamp", "start").lower()
    if said not in ("start", "end"):
        raise fault(
            text.path, "# stamp", said, "start or end", "say which end of its interval a time marks"
        )
    return said

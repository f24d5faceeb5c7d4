"""A CSV file as text: what its head says, and the table under it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from sunpantry.errors import WeatherError
from sunpantry.sky.files.record import fault

if TYPE_CHECKING:
    import pandas as pd

_HEADER = re.compile(r"^#\s*(timezone|latitude|longitude|stamp)\s*[:=]\s*(\S+)\s*$", re.IGNORECASE)
_SOURCE = re.compile(r"^#\s*source\s*[:=]\s*(.+?)\s*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class TextTable:
    """A file as text.

    Parameters
    ----------
    path : Path
        The file.
    head : dict of str to str
        What its comment lines state.
    sources : tuple of str
        Who made the data and on what terms, where it says so.
    table : DataFrame of str
        The cells.
    first_line : int
        Line of the file the first row of the table stands on.
    decimal_comma : bool
        True when numbers are written as 1,5.
    """

    path: Path
    head: dict[str, str]
    sources: tuple[str, ...]
    table: pd.DataFrame
    first_line: int
    decimal_comma: bool


def read_text(path: Path) -> TextTable:
    """Read the comment lines, the names and the cells of a CSV file.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    TextTable

    Raises
    ------
    WeatherError
        When it is no text, or a line has more cells than there are names.
    """
    import pandas as pd

    try:
        lines = path.read_text(encoding="utf-8-sig").splitlines()
    except OSError as error:
        raise WeatherError(f"{path.name}: {error.strerror or error}; check the name") from error
    except UnicodeDecodeError as error:
        raise fault(
            path, "file", "not text", "needs a text file in UTF-8", "save it as CSV, UTF-8"
        ) from error
    head: dict[str, str] = {}
    sources: list[str] = []
    start = 0
    while start < len(lines) and (lines[start].startswith("#") or not lines[start].strip()):
        match = _HEADER.match(lines[start])
        source = _SOURCE.match(lines[start])
        if match:
            head[match[1].lower()] = match[2]
        elif source:
            sources.append(source[1])
        start += 1
    if start + 1 >= len(lines):
        raise fault(
            path,
            "file",
            f"{len(lines)} lines",
            "needs a line of names and lines of values",
            "give another file",
        )
    separator = max(";\t,", key=lines[start].count)
    width = lines[start].count(separator)
    for number, line in enumerate(lines[start:], start + 1):
        if line.count(separator) > width:
            raise fault(
                path,
                f"line {number}",
                f"{line.count(separator) + 1} values",
                f"there are {width + 1} columns",
                "mend the line",
            )
    table = pd.read_csv(
        path,
        sep=separator,
        skiprows=start,
        dtype=str,
        keep_default_na=False,
        encoding="utf-8-sig",
        skip_blank_lines=False,
    )
    blank = (table == "").all(axis=1)
    while len(table) and bool(blank.iloc[-1]):
        table, blank = table.iloc[:-1], blank.iloc[:-1]
    return TextTable(path, head, tuple(sources), table, start + 2, separator == ";")


def degrees_in_head(text: TextTable, name: str, limit: float) -> float | None:
    """Read a latitude or longitude from the comment lines [°], None when not stated."""
    if name not in text.head:
        return None
    try:
        value = float(text.head[name])
    except ValueError:
        value = float("nan")
    if not abs(value) <= limit:
        raise fault(
            text.path,
            f"# {name}",
            text.head[name],
            f"degrees, -{limit:g} to {limit:g}",
            "north and east are positive",
        )
    return value

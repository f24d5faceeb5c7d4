"""What a person types into a field, as the document writes it; and back."""

from __future__ import annotations

import re
from collections.abc import Mapping
from contextvars import ContextVar
from typing import Any

from sunpantry.errors import InputError
from sunpantry.phrases import phrase
from sunpantry.report.us_units import US_UNITS
from sunpantry.units import parse_quantity
from sunpantry.web.counts import whole_number

Document = dict[str, Any]
Form = Mapping[str, str]

_NUMBER = re.compile(r"^[+-]?(\d+([.,]\d*)?|[.,]\d+)$")
_WITH_UNIT = re.compile(r"^([+-]?\d+(?:\.\d+)?(?:e[+-]?\d+)?)\s*(\S*)$")
DIGITS = 4
_units: ContextVar[str] = ContextVar("units", default="metric")


def measure_in(units: str) -> None:
    """Choose the units of what is typed and shown next.

    Parameters
    ----------
    units : str
        'metric' or 'us'.
    """
    _units.set(units)


def unit_of(unit: str) -> str:
    """Unit that a field is labelled with.

    Parameters
    ----------
    unit : str
        Metric.
    """
    return US_UNITS[unit][0] if _units.get() == "us" and unit in US_UNITS else unit


def shown(value: Any, unit: str) -> str:
    """What a field holds: the document's own words, or its number in the reader's units.

    Parameters
    ----------
    value : object
        As in the document ('14 m', 14, ['3 L', …] or nothing).
    unit : str
        Of the field, metric.
    """
    if value is None:
        return ""
    if isinstance(value, list | tuple):
        return "; ".join(shown(one, unit) for one in value)
    text = f"{value:.15g}" if isinstance(value, float) else str(value)
    known = _WITH_UNIT.match(text)
    if unit_of(unit) == unit or known is None or known[2] == unit_of(unit):
        return text
    try:
        measured = parse_quantity(text, unit)
    except ValueError:
        return text
    name, factor, offset = US_UNITS[unit]
    return f"{measured * factor + offset:.{DIGITS}g} {name}"


def quantity(value: str, unit: str, before: Any = None) -> str:
    """Give a bare number its unit; leave everything else as it was written.

    Parameters
    ----------
    value : str
        As typed.
    unit : str
        Of the field, metric.
    before : object
        What the document holds: kept to the digit where the field was not touched.
    """
    text = value.strip()
    if before is not None and text == shown(before, unit):
        return str(before)
    if _NUMBER.match(text):
        return f"{text.replace(',', '.')} {unit_of(unit)}".strip()
    known = _WITH_UNIT.match(text.replace(",", "."))
    for right in (unit, f"k{unit}"):
        if known is not None and unit and known[2] != right and known[2].lower() == right.lower():
            return f"{known[1]} {right}"  # '2 kw' and '12v' can mean nothing else here
    return text


def quantities(value: str, unit: str, before: Any = None) -> Any:
    """The same for one value or a list of twelve, with semicolons between.

    Parameters
    ----------
    value, unit, before
        As for :func:`quantity`.
    """
    if before is not None and value.strip() == shown(before, unit):
        return before
    listed = [quantity(one, unit) for one in value.split(";") if one.strip()]
    return listed if len(listed) > 1 else (listed[0] if listed else "")


def number(value: str) -> float | int | str:
    """Read a bare number, with a point or a comma; leave everything else for the checks."""
    text = value.strip()
    if not _NUMBER.match(text):
        return text
    whole = float(text.replace(",", "."))
    return int(whole) if whole.is_integer() else whole


def put(table: Document, key: str, value: Any) -> None:
    """Set a key; nothing takes it out."""
    if value in ("", None) or value == []:
        table.pop(key, None)
    else:
        table[key] = value


def fill(
    table: Document,
    form: Form,
    *,
    texts: tuple[str, ...] = (),
    numbers: tuple[str, ...] = (),
    units: Mapping[str, str] | None = None,
    flags: tuple[str, ...] = (),
    words: tuple[str, ...] = (),
) -> None:
    """Put what a form says into a table; keys that are not in the form stay.

    Parameters
    ----------
    table : dict
        Changed in place.
    form : mapping
        Fields as typed.
    texts, numbers, flags, words : tuple of str
        Keys that hold words, bare numbers, yes or no, lists of words.
    units : mapping of str to str
        Keys that hold quantities, with the metric unit of their field.
    """
    for key in texts:
        if key in form:
            put(table, key, form[key].strip())
    for key in numbers:
        if key in form:
            put(table, key, number(form[key]))
    for key, unit in (units or {}).items():
        if key in form:
            put(table, key, quantity(form[key], unit, table.get(key)))
    for key in flags:
        if key in form:
            put(table, key, True if form[key] == "yes" else "")
    for key in words:
        if key in form:
            put(table, key, [one.strip().lower() for one in form[key].split(",") if one.strip()])


def rows_of(document: Document, table: str) -> list[Document]:
    """Rows of a table of the document, free to be changed."""
    rows = [dict(one) for one in document.get(table) or []]
    document[table] = rows
    return rows


def row_of(form: Form, rows: list[Document], where: str) -> Document:
    """The row that a form is about; the one after the last is new.

    A row that could not be added is shown with what has to be mended, and comes back so.

    Raises
    ------
    InputError
        When there is no such row.
    """
    place = _place_of(form, rows, where)
    if place == len(rows):
        rows.append({})
    return rows[place]


def taken_out(form: Form, rows: list[Document], where: str) -> Document:
    """Take out the row that a form is about; one that was never added is gone already."""
    place = _place_of(form, rows, where)
    return rows.pop(place) if place < len(rows) else {}


def _place_of(form: Form, rows: list[Document], where: str) -> int:
    at = form.get("row", "")
    row = whole_number(at, most=len(rows) + 1)
    if not row:
        raise InputError.one(
            where, at, phrase("a row that is there"), phrase("load the page again")
        )
    return row - 1


def fresh_name(name: str, taken: list[str]) -> str:
    """A name that no other row has."""
    fresh, count = name, 2
    while fresh and fresh.casefold() in (one.casefold() for one in taken):
        fresh, count = f"{name} {count}", count + 1
    return fresh

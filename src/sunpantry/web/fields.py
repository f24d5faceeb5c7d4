"""Fields of a form as data: what each is called, what it holds, and how it is put back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from sunpantry.language import gettext, mark
from sunpantry.web.entries import Document, Form, number, put, quantities, quantity

Holds = Literal[
    "quantity", "monthly", "number", "text", "choice", "flag", "several", "owned", "points"
]
Option = tuple[str, str]
ALL = "all"
_YES_NO: tuple[Option, ...] = (("", mark("no")), ("yes", mark("yes")))


@dataclass(frozen=True)
class Entry:
    """One field.

    Parameters
    ----------
    key : str
        Of the document; with a point for a key of a table within the table.
    label : str
        What a person calls it (a message).
    holds : str
        'quantity', one with a unit; 'monthly', one or twelve of them; 'number' without a
        unit; 'text'; 'choice' of some words; 'flag', yes or no; 'several' of some words;
        'owned', a count or all; 'points', rows of numbers.
    unit : str
        Metric, of a quantity.
    hint : str
        Where to find it, or what is usual (a message).
    options : tuple of (str, str)
        Of a choice: what the document holds, and what it is called (a message).
    usual : float or None
        What counts when it is left empty, in ``unit``; said beside the field.
    needed : bool
        Must be filled in.
    """

    key: str
    label: str
    holds: Holds = "quantity"
    unit: str = ""
    hint: str = ""
    options: tuple[Option, ...] = ()
    usual: float | None = None
    needed: bool = False

    @property
    def named(self) -> str:
        """What it is called, in the language of the present request."""
        return gettext(self.label)

    @property
    def hinted(self) -> str:
        """Where to find it, or what is usual, likewise."""
        return gettext(self.hint) if self.hint else ""

    @property
    def choices(self) -> tuple[Option, ...]:
        """Options in the language of the present request."""
        listed = _YES_NO if self.holds == "flag" else self.options
        return tuple((value, gettext(words)) for value, words in listed)

    def within(self, row: Mapping[str, Any]) -> Any:
        """What a table of the document holds for this field."""
        value: Any = row
        for key in self.key.split("."):
            value = value.get(key) if isinstance(value, Mapping) else None
        return value

    def chosen(self, row: Mapping[str, Any]) -> str:
        """The option that is chosen."""
        value = self.within(row)
        if self.holds == "flag":
            return "yes" if value is True else ""
        return str(value) if value is not None else ""

    def has(self, row: Mapping[str, Any], option: str) -> bool:
        """Whether one of several options is chosen."""
        value = self.within(row)
        if not isinstance(value, list | tuple):
            return False
        return option in {str(one).removesuffix(" V").removesuffix(".0") for one in value}

    def typed(self, row: Mapping[str, Any]) -> Any:
        """What the field shows before its unit is seen to."""
        value = self.within(row)
        if self.holds == "owned":
            return gettext(mark("all")) if value in (True, ALL) else value
        if self.holds == "points" and isinstance(value, list | tuple):
            return "; ".join(" ".join(f"{one:g}" for one in point) for point in value)
        return value


def fill_in(row: Document, form: Form, fields: Iterable[Entry]) -> None:
    """Put what a form says into a table; fields that are not in the form stay.

    Parameters
    ----------
    row : dict
        Changed in place.
    form : mapping
        As typed.
    fields : iterable of Entry
        Those that may be in it.
    """
    for field in fields:
        if field.key in form:
            _put(row, field, _read(field, form, field.within(row)))


def _read(field: Entry, form: Form, before: Any) -> Any:
    text = form[field.key].strip()
    if field.holds == "quantity":
        return quantity(text, field.unit, before)
    if field.holds == "monthly":
        return quantities(text, field.unit, before)
    if field.holds == "number":
        return number(text)
    if field.holds == "flag":
        return True if text == "yes" else ""
    if field.holds == "several":
        return [_bare(one) for one, _ in field.options if f"{field.key}-{one}" in form]
    if field.holds == "owned":
        everything = text.casefold() in {ALL, gettext(ALL).casefold()}
        return True if everything else number(text)
    if field.holds == "points":
        return [
            [number(one) for one in point.split()] for point in text.split(";") if point.strip()
        ]
    return text


def _bare(option: str) -> float | str:
    return float(option) if option.isdecimal() else option


def _put(row: Document, field: Entry, value: Any) -> None:
    *tables, key = field.key.split(".")
    if not tables:
        put(row, key, value)
        return
    inner = dict(row.get(tables[0]) or {})
    put(inner, key, value)
    put(row, tables[0], inner if inner else "")


def one_of(key: str, label: str, *options: Option, needed: bool = False, hint: str = "") -> Entry:
    """A choice of some words.

    Parameters
    ----------
    key, label, hint, needed
        See :class:`Entry`.
    *options : tuple of (str, str)
        What the document holds, and what it is called.
    """
    return Entry(key, label, "choice", options=options, needed=needed, hint=hint)

"""What is wrong and where, in the words that stand on the page.

The rooms below speak of the keys of the design file and of what to write there; whoever
fills in a form has never seen it. Keys that are not listed here keep their own name.
"""

from __future__ import annotations

import re

from sunpantry.errors import Problem
from sunpantry.language import gettext, mark
from sunpantry.phrases import Phrase, phrase

_CALLED = {
    "place": mark("Where"),
    "name": mark("Name"),
    "power": mark("Power of one"),
    "supply": mark("Runs on"),
    "hours_per_day": mark("Hours a day"),
    "quantity": mark("How many"),
    "importance": mark("How much it matters"),
    "from": mark("From"),
    "until": mark("Until"),
    "months": mark("Months"),
    "weekdays": mark("Days of the week"),
    "duty": mark("Share of the time it draws"),
    "surge": mark("At the start"),
    "energy_per_use": mark("Energy a use"),
    "uses_per_week": mark("Uses a week"),
}
_TABLES = {
    "load": mark("What must run"),
    "pump": mark("Water"),
    "tank": mark("Water"),
    "site": mark("Where"),
    "array": mark("Panels"),
    "battery": mark("Battery"),
    "controller": mark("Charge controller"),
    "inverter": mark("Inverter"),
    "converter": mark("Converter"),
    "backup": mark("second source"),
    "promise": mark("What is promised"),
    "search": mark("What may be chosen"),
    "money": mark("What it costs"),
    "notes": mark("Notes"),
}
_THINGS = {
    "load": mark("load"),
    "pump": mark("pump"),
    "tank": mark("tank"),
    "converter": mark("converter"),
    "inverter": mark("inverter"),
}
_TABLE = re.compile(r"\[\[?(\w+)\]?\]")
_OF_A_LOAD = re.compile(r"(?:load\[\d+\]\.)?(\w+)")
_NOTHING = ("(missing)", '""')
_TO_FILL_IN = {
    "power": phrase("how many watts one of them draws: it stands on its label"),
    "supply": phrase("what it plugs into"),
    "hours_per_day": phrase("how many hours a day it runs: 24 for around the clock"),
}
# What is said of the design file, said of a form.
_IN_A_FORM = {
    "a whole number, without quotes or unit": phrase("a whole number, such as 2"),
    "a text in quotes": phrase("some words"),
    "change the value, or leave the key out for the default": phrase(
        "change it, or leave the field empty for what is usual"
    ),
}


def called(where: str) -> str:
    """What a field is called on the page.

    Parameters
    ----------
    where : str
        Key of the document: ``load[2].power``.
    """
    field = _key(where)
    if field in _CALLED:
        return gettext(_CALLED[field])
    return where.replace("_", " ") if where == field else where


def called_in_full(where: str) -> str:
    """The same with the chapter before it: 'What must run: Lamp: Hours a day'.

    Parameters
    ----------
    where : str
        Key of the document with names for places in lists: ``load.Lamp.hours_per_day``.
    """
    table, *inner = where.split(".")
    first = gettext(_TABLES[table]) if table in _TABLES else called(table)
    return ": ".join([first, *map(called, inner)])


def to_mend(problem: Problem) -> tuple[str | Phrase, ...]:
    """What would be right, and what to do, as far as a form needs it.

    Parameters
    ----------
    problem : Problem
        As a room below tells it.
    """
    remedy: str | Phrase = problem.remedy
    if problem.value in _NOTHING:
        if wanted := _TO_FILL_IN.get(_key(problem.where)):
            return (wanted,)
        remedy = phrase("fill this in")
    return tuple(_IN_A_FORM.get(one, one) for one in (problem.allowed, remedy) if one)


def without_brackets(sentence: str) -> str:
    """Tables of the design file by the names of things: '[[converter]]' is a converter.

    Parameters
    ----------
    sentence : str
        In the reader's language.
    """
    return _TABLE.sub(lambda found: gettext(_THINGS.get(found[1], found[1])), sentence)


def _key(where: str) -> str:
    found = _OF_A_LOAD.fullmatch(where)
    return found[1] if found else ""

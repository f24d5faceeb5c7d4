"""Shipped designs: the situations a smallholder starts from."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files

from sunpantry.errors import InputError


@dataclass(frozen=True)
class Example:
    """One shipped design.

    Parameters
    ----------
    name : str
        What it is asked for by.
    title : str
        Name of the design.
    teaches : str
        What it teaches, in a few sentences.
    text : str
        The document.
    """

    name: str
    title: str
    teaches: str
    text: str


@cache
def examples() -> tuple[Example, ...]:
    """All shipped designs, by name."""
    found = []
    for entry in files("sunpantry.examples").iterdir():
        if entry.name.endswith(".toml"):
            text = entry.read_text("utf-8")
            document = tomllib.loads(text)
            found.append(
                Example(
                    name=entry.name.removesuffix(".toml"),
                    title=str(document["name"]),
                    teaches=str(document.get("notes", "")).strip(),
                    text=text,
                )
            )
    return tuple(sorted(found, key=lambda one: one.name))


def example(name: str) -> Example:
    """Find one shipped design.

    Raises
    ------
    InputError
        When there is none of that name; a close one is suggested.
    """
    for one in examples():
        if one.name == name:
            return one
    names = [one.name for one in examples()]
    close = get_close_matches(name, names, n=1)
    hint = f"did you mean '{close[0]}'?" if close else "`sunpantry examples` lists them"
    raise InputError.one("--like", name, f"one of {', '.join(names)}", hint)

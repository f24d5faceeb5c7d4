"""Ordinary loads with their typical figures, and how a load starts from one (``like``)."""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Sequence
from functools import cache
from importlib import resources
from typing import Literal, get_args

from pydantic import Field

from sunpantry.design.document import design_document, design_from
from sunpantry.design.keys import human_key
from sunpantry.design.load_checks import load_problems
from sunpantry.design.loads import Load
from sunpantry.design.models import Design
from sunpantry.design.problems import unknown_name
from sunpantry.errors import InputError, Problem
from sunpantry.phrases import phrase

Group = Literal[
    "light",
    "house",
    "kitchen",
    "office",
    "yard",
    "workshop",
    "livestock",
    "bees",
    "garden",
    "water",
]
GROUPS: tuple[Group, ...] = get_args(Group)

_BY_HOURS = ("hours_per_day", "from_", "until", "duty")
_BY_USES = ("energy_per_use_wh", "minutes_per_use", "uses_per_week")
_IN_BURSTS = ("bursts",)
_HABITS = {"hours": _BY_HOURS, "uses": _BY_USES, "bursts": _IN_BURSTS}
_FIGURES = (
    *("power_w", "hours_per_day", "duty", "surge_w", "standby_w", "energy_per_use_wh"),
    *("minutes_per_use", "uses_per_week", "bursts", "own_battery_wh"),
)


class LibraryLoad(Load):
    """An ordinary load: typical figures, its habit, and where they come from."""

    group: Group
    source: str = Field(min_length=1, description="'common practice, no source', or a source")
    also: tuple[str, ...] = Field(default=(), description="other names people use")


@cache
def load_library() -> tuple[LibraryLoad, ...]:
    """Read the shipped library.

    Returns
    -------
    tuple of LibraryLoad
        In the order of the file, by group.
    """
    text = resources.files("sunpantry.demand").joinpath("data/loads.toml").read_text("utf-8")
    return tuple(LibraryLoad.model_validate(row) for row in tomllib.loads(text)["load"])


def library_names(library: Iterable[LibraryLoad]) -> list[str]:
    """Every name ``like`` accepts.

    Parameters
    ----------
    library : iterable of LibraryLoad
        The library.

    Returns
    -------
    list of str
        Names and other names, in the library's order.
    """
    return [name for entry in library for name in (entry.name, *entry.also)]


def find_load(name: str, library: Sequence[LibraryLoad]) -> LibraryLoad | None:
    """Look an entry up by one of its names, in capitals or not.

    Parameters
    ----------
    name : str
        What a person wrote.
    library : sequence of LibraryLoad
        The library.

    Returns
    -------
    LibraryLoad or None
        The entry.
    """
    wanted = name.strip().casefold()
    for entry in library:
        if wanted in (one.casefold() for one in (entry.name, *entry.also)):
            return entry
    return None


def for_latitude(library: Sequence[LibraryLoad], latitude_deg: float) -> tuple[LibraryLoad, ...]:
    """Move the seasons of a library to the half of the Earth a place is on.

    Parameters
    ----------
    library : sequence of LibraryLoad
        For the north.
    latitude_deg : float
        North positive [°].

    Returns
    -------
    tuple of LibraryLoad
        Months and monthly figures half a year later in the south.
    """
    if latitude_deg >= 0.0:
        return tuple(library)
    moved = []
    for entry in library:
        change: dict[str, object] = {}
        if entry.months is not None:
            change["months"] = tuple(sorted((month + 5) % 12 + 1 for month in entry.months))
        if isinstance(entry.duty, tuple):
            change["duty"] = entry.duty[6:] + entry.duty[:6]
        moved.append(entry.model_copy(update=change))
    return tuple(moved)


def complete(load: Load, entry: LibraryLoad | None) -> tuple[Load, tuple[str, ...]]:
    """Fill in from a library entry what a load does not say itself.

    What the load says always wins. When it tells its habit in another way than the entry
    (uses instead of hours), nothing of the entry's habit is kept. A surge grows with the
    power that was given.

    Parameters
    ----------
    load : Load
        As in the document.
    entry : LibraryLoad or None
        What it is like, if it is.

    Returns
    -------
    load : Load
        Complete, with ``like`` taken out.
    typical : tuple of str
        Keys whose figures are typical and not measured.
    """
    said = {name: getattr(load, name) for name in _given(load)}
    taken = {} if entry is None else _taken(load, entry)
    whole = Load.model_validate({**taken, **said, "like": None, "name": load.name})
    figures = [name for name in _FIGURES if getattr(whole, name) is not None]
    guesses = figures if load.typical else [name for name in figures if name in taken]
    return whole, tuple(human_key(name) for name in guesses)


def complete_loads(
    loads: Iterable[Load], library: Sequence[LibraryLoad]
) -> list[tuple[Load, tuple[str, ...]]]:
    """Complete every load of a document.

    Parameters
    ----------
    loads : iterable of Load
        As in the document.
    library : sequence of LibraryLoad
        What ``like`` looks into.

    Returns
    -------
    list of (Load, tuple of str)
        See :func:`complete`.

    Raises
    ------
    InputError
        Every ``like`` that is not in the library, and every load that contradicts itself
        once it is complete.
    """
    done, problems = [], list[Problem]()
    for position, load in enumerate(loads, start=1):
        at = f"load[{position}]"
        entry = None if load.like is None else find_load(load.like, library)
        if load.like is not None and entry is None:
            problems.append(
                unknown_name(
                    f"{at}.like",
                    load.like,
                    library_names(library),
                    what=phrase("the library of loads"),
                    otherwise=phrase("`sunpantry loads` lists them"),
                )
            )
            continue
        done.append(complete(load, entry))
        problems.extend(load_problems(done[-1][0], at))
    if problems:
        raise InputError(problems)
    return done


def complete_design(
    design: Design, *, latitude_deg: float, library: Sequence[LibraryLoad] | None = None
) -> Design:
    """Write what the loads take from the library into the design itself.

    Parameters
    ----------
    design : Design
        Its loads may say ``like``.
    latitude_deg : float
        Of the place, for the seasons; north positive [°].
    library : sequence of LibraryLoad, optional
        What ``like`` looks into; the shipped library by default.

    Returns
    -------
    Design
        Every load with its supply and figures, and no ``like``.

    Raises
    ------
    InputError
        What contradicts itself now that all is known, such as a 24 V load from the
        library on a 12 V bank.
    """
    northern = load_library() if library is None else library
    loads = complete_loads(design.loads, for_latitude(northern, latitude_deg))
    whole = design.model_copy(update={"loads": tuple(load for load, _ in loads)})
    return design_from(design_document(whole))


def _given(load: Load) -> list[str]:
    """Attributes of a load that were really given."""
    return [name for name in load.model_fields_set if getattr(load, name) is not None]


def _habit(given: Iterable[str]) -> str | None:
    names = set(given)
    for habit in ("bursts", "uses"):
        if names & set(_HABITS[habit]):
            return habit
    by_hours = {"hours_per_day", "duty"} & names or {"from_", "until"} <= names
    return "hours" if by_hours else None


def _taken(load: Load, entry: LibraryLoad) -> dict[str, object]:
    """What a load takes from its entry, by attribute."""
    given, offered = set(_given(load)), set(_given(entry)) & set(Load.model_fields)
    mine, theirs = _habit(given), _habit(offered)
    if mine is not None and mine != theirs:
        offered -= {*_BY_HOURS, *_BY_USES, *_IN_BURSTS}
    both = given | offered
    if {"hours_per_day", "from_", "until"} <= both:
        # Three ends for one length: what was not said itself gives way.
        offered -= {next(n for n in ("until", "from_", "hours_per_day") if n not in given)}
    taken = {name: getattr(entry, name) for name in offered - given - {"name", "note"}}
    if "surge_w" in taken and load.power_w and entry.power_w and entry.surge_w:
        taken["surge_w"] = entry.surge_w * load.power_w / entry.power_w
    return taken

"""Design documents on their way in: checked as anywhere else, and for what a page may ask."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Mapping
from functools import cache, lru_cache
from typing import Any

from sunpantry.design import Design, design_from, parse_design, write_design
from sunpantry.errors import InputError, Problem
from sunpantry.phrases import phrase
from sunpantry.web.settings import Settings
from sunpantry.web.tasks import digest

_ANYTHING = {"name": "anything", "power": "1 W", "supply": "12 V", "hours_per_day": 1}
MOST_BEARINGS = 361  # of a skyline: one to each degree, and the first again
_FILE_NAME = re.compile(r"^[\w][\w .()-]{0,99}$")


@cache
def part_names() -> dict[str, tuple[str, ...]]:
    """Names on the parts list, by role."""
    from sunpantry.parts.catalogue import shipped_catalogue

    return {role: tuple(names) for role, names in shipped_catalogue().part_names().items()}


@cache
def load_names() -> tuple[str, ...]:
    """Names of the library of loads."""
    from sunpantry.demand.library import library_names, load_library

    return tuple(library_names(load_library()))


def read_document(text: str, *, source: str = "design.toml") -> Design:
    """Read a document that was saved before or comes from a person.

    Parameters
    ----------
    text : str
        TOML.
    source : str
        Name of the file, for messages.

    Raises
    ------
    InputError
        With every problem at once.
    """
    return parse_design(text, source=source, part_names=part_names(), load_names=load_names())


def accept(raw: dict[str, Any], settings: Settings) -> tuple[Design, str]:
    """Check a changed document, and write it as text.

    Parameters
    ----------
    raw : dict
        The document taken apart.
    settings : Settings
        Limits of the page.

    Returns
    -------
    design : Design
        Valid.
    text : str
        TOML.

    Raises
    ------
    InputError
        With every problem at once.
    """
    design = _checked(raw)
    labels_hold(design)
    within_limits(design, settings)
    text = write_design(design)
    if len(text) > settings.max_document_characters:
        raise InputError.one(
            "document",
            f"{len(text)} characters",
            phrase(
                "at most {max_document_characters}",
                max_document_characters=settings.max_document_characters,
            ),
            phrase("shorten it, or use the command line"),
        )
    return design, text


def _checked(raw: dict[str, Any]) -> Design:
    """Check a document. One that asks for nothing yet may be saved: it is on its way."""
    if asks_for_something(raw):
        return design_from(raw, part_names=part_names(), load_names=load_names())
    rest = {key: value for key, value in raw.items() if key != "load"}
    design = design_from({**rest, "load": [_ANYTHING]}, part_names=part_names())
    return design.model_copy(update={"loads": ()})


def asks_for_something(raw: Mapping[str, Any]) -> bool:
    """Whether a document has a load or a pump."""
    return bool(raw.get("load") or raw.get("pump"))


def accept_text(text: str, settings: Settings, *, source: str) -> tuple[Design, str]:
    """Check a document that was sent as text; see :func:`accept`. Its comments are kept."""
    if len(text) > settings.max_document_characters:
        raise InputError.one(
            source,
            f"{len(text)} characters",
            phrase(
                "at most {max_document_characters}",
                max_document_characters=settings.max_document_characters,
            ),
            phrase("shorten it, or use the command line"),
        )
    design = read_document(text, source=source)
    labels_hold(design)
    within_limits(design, settings)
    return design, text


def labels_hold(design: Design) -> None:
    """Refuse labels whose figures contradict each other, while their form is still there.

    Raises
    ------
    PartError
        With every problem at once.
    """
    single = (design.battery, design.controller, design.inverter)
    fixed = (*design.arrays, *single, *design.converters)
    if any(one is not None and one.label is not None for one in fixed):
        from sunpantry.parts.catalogue import shipped_catalogue
        from sunpantry.parts.resolve import resolve_kit

        resolve_kit(design, shipped_catalogue())


def within_limits(design: Design, settings: Settings) -> None:
    """Refuse what would take one page too long, or reach for other files.

    Raises
    ------
    InputError
        With every problem at once.
    """
    problems = []
    remedy = phrase("use the command line for more")
    rows = settings.max_rows
    counts = {
        "load": (len(design.loads), settings.max_loads),
        "array": (len(design.arrays), settings.max_arrays),
        "converter": (len(design.converters), rows),
        "pump": (len(design.pumps), rows),
        "tank": (len(design.tanks), rows),
        "tank.drinker": (sum(len(one.drinkers) for one in design.tanks), rows),
        "site.obstacle": (len(design.site.obstacles), rows),
        "site.horizon": (len(design.site.horizon), MOST_BEARINGS),
        "winters": (design.winters, settings.max_winters),
    }
    for where, (count, most) in counts.items():
        if count > most:
            allowed = phrase("at most {most} on the page", most=most)
            problems.append(Problem(where, str(count), allowed, remedy))
    file = design.site.weather_file
    if file is not None and not _FILE_NAME.match(file):
        folder = settings.data_folder / "weather"
        allowed = phrase("the name of a file in {folder}", folder=str(folder))
        problems.append(Problem("site.weather_file", file, allowed, phrase("put the file there")))
    if problems:
        raise InputError(problems)


@lru_cache(maxsize=512)
def choice_key(text: str) -> str:
    """Digest of everything in a document that the choice of parts depends on.

    Parameters
    ----------
    text : str
        The document (TOML).
    """
    raw = tomllib.loads(text)
    about = {key: value for key, value in raw.items() if key not in {"name", "notes"}}
    return digest(json.dumps(about, sort_keys=True, default=str))


def taken_apart(text: str) -> dict[str, Any]:
    """Keys and values of a saved document, spelt as the page's forms expect them."""
    from sunpantry.design import design_document

    try:
        return design_document(read_document(text))
    except InputError:
        return tomllib.loads(text)

"""Lists to choose from: ordinary loads and parts, as the page offers them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache


@dataclass(frozen=True)
class LoadOption:
    """An ordinary load.

    Parameters
    ----------
    name : str
        As in the library.
    facts : str
        Its typical figures.
    """

    name: str
    facts: str


@dataclass(frozen=True)
class LoadGroup:
    """Ordinary loads that belong together.

    Parameters
    ----------
    name : str
        'kitchen', 'bees', …
    loads : tuple of LoadOption
        In the order of the library.
    """

    name: str
    loads: tuple[LoadOption, ...]


@dataclass(frozen=True)
class PartOption:
    """A part on the list.

    Parameters
    ----------
    name : str
        As on the list.
    size : float
        Its headline size.
    unit : str
        Of the size.
    price : float or None
        Typical price in EUR.
    """

    name: str
    size: float
    unit: str
    price: float | None


@cache
def load_groups() -> tuple[LoadGroup, ...]:
    """The library of loads by group."""
    from sunpantry.demand.library import GROUPS, load_library
    from sunpantry.report.load_words import load_facts

    return tuple(
        LoadGroup(
            group,
            tuple(
                LoadOption(one.name, load_facts(one))
                for one in load_library()
                if one.group == group
            ),
        )
        for group in GROUPS
    )


@cache
def part_options() -> dict[str, tuple[PartOption, ...]]:
    """The parts list by role."""
    from sunpantry.parts.catalogue import ROLES, shipped_catalogue, size_of

    listed = {}
    for role in ROLES:
        options = []
        for part in shipped_catalogue().of(role):
            size, unit = size_of(part)
            options.append(PartOption(part.name, size, unit, part.price))
        listed[role] = tuple(options)
    return listed

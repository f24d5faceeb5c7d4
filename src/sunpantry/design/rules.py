"""What a check of the document is made of.

A rule names the keys it reads. When one of them could not be read the rule is left
out, so that no problem is told twice.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

from sunpantry.errors import Problem

Found = Iterator[Problem]


@dataclass(frozen=True)
class Entry:
    """A table of the document that could be read, and the attributes that could not."""

    where: str
    item: Any
    broken: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Draft:
    """The parts of a document that could be read, by attribute of ``Design``."""

    entries: dict[str, tuple[Entry, ...]] = field(default_factory=dict)
    bank_voltage_v: float | None = None
    unread: frozenset[str] = frozenset()

    def items(self, name: str) -> list[Any]:
        """Every item of one kind."""
        return [entry.item for entry in self.entries.get(name, ())]


@dataclass(frozen=True)
class Rule:
    """A check of one table, and the attributes it reads."""

    reads: frozenset[str]
    check: Callable[[Any, str], Found]


def rule(check: Callable[[Any, str], Found], *reads: str) -> Rule:
    return Rule(frozenset(reads), check)


def apply(rules: tuple[Rule, ...], entry: Entry) -> list[Problem]:
    """Run the rules whose keys could all be read.

    Parameters
    ----------
    rules : tuple of Rule
        Rules for this kind of table.
    entry : Entry
        The table.

    Returns
    -------
    list of Problem
        Empty when all is well.
    """
    found: list[Problem] = []
    for one in rules:
        if not one.reads & entry.broken:
            found.extend(one.check(entry.item, entry.where))
    return found

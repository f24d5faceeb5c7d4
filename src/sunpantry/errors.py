"""Every error Sunpantry raises on purpose, in one tree.

    SunpantryError
    ├── InputError        something the user wrote cannot be used (exit status 2)
    │   └── PartError     a part that is unknown, or whose label contradicts itself
    ├── WeatherError      a weather file or service gave nothing usable
    └── SearchError       no system on the list can do what is asked

An ``InputError`` carries one :class:`Problem` for each thing that is wrong, so that
a person can mend them all in one go.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong, told so that a person can mend it.

    Parameters
    ----------
    where : str
        The key or field, dotted, with a position in lists: ``load[2].power``.
    value : str
        What was written there, as the person wrote it.
    allowed : str
        What would be accepted there.
    remedy : str
        What to do about it.
    """

    where: str
    value: str
    allowed: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.where} = {self.value}: {self.allowed}; {self.remedy}"


class SunpantryError(Exception):
    """Root of every error that is meant to be read by a person."""

    exit_status = 1


class InputError(SunpantryError, ValueError):
    """Something the user wrote cannot be used.

    Parameters
    ----------
    problems : iterable of Problem
        At least one.
    """

    exit_status = 2

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems: tuple[Problem, ...] = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))

    @classmethod
    def one(cls, where: str, value: object, allowed: str, remedy: str) -> InputError:
        """Build the error for a single problem."""
        return cls([Problem(where, str(value), allowed, remedy)])


class PartError(InputError):
    """A part that is unknown, or whose label contradicts itself."""


class WeatherError(SunpantryError):
    """A weather file or service gave nothing usable."""

    exit_status = 2


class SearchError(SunpantryError):
    """No system on the list can do what is asked."""

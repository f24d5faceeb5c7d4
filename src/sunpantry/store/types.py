"""What the store hands out, and what it says when it cannot."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from sunpantry.errors import SunpantryError


class Step(StrEnum):
    """How a version came about."""

    CREATED = "created"
    EDITED = "edited"
    UNDONE = "undone"
    REDONE = "redone"
    RETURNED = "returned"
    MERGED = "merged"


@dataclass(frozen=True, slots=True)
class Version:
    """One saved state of one design; it never changes.

    Parameters
    ----------
    design_id : str
        Of the design.
    number : int
        1 for the first; the highest is the current one.
    document : str
        The design document (TOML).
    name : str
        Name of the design in this version.
    note : str
        What was done, in a few words.
    step : Step
        How it came about.
    state : int
        Version whose document this is: itself, or the one an undo went back to.
    parent : int or None
        State that the document was changed from; ``None`` for the first.
    saved_at : datetime
        In UTC.
    """

    design_id: str
    number: int
    document: str
    name: str
    note: str
    step: Step
    state: int
    parent: int | None
    saved_at: datetime


@dataclass(frozen=True, slots=True)
class Saved:
    """The current version, and whether one can step back or forward from it.

    Parameters
    ----------
    version : Version
        The current one.
    undo_to, redo_to : int or None
        State a step back or forward would lead to.
    """

    version: Version
    undo_to: int | None
    redo_to: int | None


@dataclass(frozen=True, slots=True)
class Summary:
    """A design in the list of designs.

    Parameters
    ----------
    design_id, name : str
        Of the design.
    versions : int
        How many there are.
    changed_at : datetime
        When the last was saved, in UTC.
    """

    design_id: str
    name: str
    versions: int
    changed_at: datetime


class StoreError(SunpantryError):
    """The saved designs cannot be read or written."""


class NotFoundError(StoreError):
    """There is no such design or version."""


class ConflictError(StoreError):
    """Somebody else saved in the meantime; nothing was saved, nothing is lost.

    Parameters
    ----------
    base : Version
        What the change was made from.
    current : Version
        What is there now.
    document : str
        What was to be saved.
    """

    def __init__(self, base: Version, current: Version, document: str) -> None:
        self.base, self.current, self.document = base, current, document
        super().__init__(
            f"version {base.number} was changed, but version {current.number} has been saved "
            "since: merge the two, or keep one of them"
        )

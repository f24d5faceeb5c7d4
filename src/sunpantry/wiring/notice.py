"""One thing to say at one place of the circuit."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sunpantry.phrases import phrase

NoticeKind = Literal["warning", "label", "terminal", "earthing", "local rule"]
LOCAL = phrase("Your local rules decide")
LOCAL_INSIDE = phrase("your local rules decide")


@dataclass(frozen=True, slots=True)
class Notice:
    """One thing to say, and where.

    Parameters
    ----------
    where : str
        The place it belongs to: a part, a cable or a device by its identity, or 'all'.
    """

    kind: NoticeKind
    where: str
    text: str


def warning(where: str, text: str) -> Notice:
    """A danger, where it is met."""
    return Notice("warning", where, text)


def label(where: str, text: str) -> Notice:
    """Words for a label that stays there."""
    return Notice("label", where, text)


def terminal(where: str, text: str) -> Notice:
    """How to make an end of a cable."""
    return Notice("terminal", where, text)

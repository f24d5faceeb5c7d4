"""Which parts of a document are described by their labels, and which are fixed at all."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from sunpantry.web.entries import Document
from sunpantry.web.labels import LABELS, POWER_BANK, Label

# Tables of the document that hold several of a role, a row each.
ROWS = {"panel": "array", "converter": "converter"}


@dataclass(frozen=True)
class Described:
    """A part that the document describes by its label.

    Parameters
    ----------
    label : Label
        Its kind.
    place : int
        Row of its table, from 1; 0 where there is only one.
    row : dict
        What the document says.
    """

    label: Label
    place: int
    row: Document

    @property
    def where(self) -> str:
        """Key of the document, as problems name it."""
        return f"{ROWS[self.label.role]}[{self.place}]" if self.place else self.label.role


def label_keys(role: str) -> frozenset[str]:
    """Keys that only a label has, for a role."""
    return frozenset(
        one.key.split(".")[0] for label in LABELS if label.role == role for one in label.fields
    ) | {"name"}


def is_described(role: str, row: Mapping[str, Any] | None) -> bool:
    """Whether a row of the document describes its part by its label."""
    return bool(row) and not label_keys(role).isdisjoint(row or ())


def rows_with(document: Document, role: str) -> list[tuple[int, Document]]:
    """Rows of a role with their places; a table that holds one has the place 0."""
    if role in ROWS:
        return list(enumerate(document.get(ROWS[role]) or [], start=1))
    return [(0, document[role])] if document.get(role) else []


def described(document: Document) -> tuple[Described, ...]:
    """Every part that a document describes by its label."""
    found = []
    for label in LABELS:
        for place, row in rows_with(document, label.role):
            banks = row.get("chemistry") == "power_bank"
            if is_described(label.role, row) and (
                label.role != "battery" or banks == (label is POWER_BANK)
            ):
                found.append(Described(label, place, row))
    return tuple(found)


def without_label(role: str, row: Document) -> Document:
    """A row without the figures of a label."""
    keys = label_keys(role)
    return {key: value for key, value in row.items() if key not in keys}


def fixed(document: Document) -> dict[str, bool]:
    """Whether a document fixes the parts of each role, by name, by label or by their count."""
    keys = {"part", "count", "series", "parallel"}
    return {
        label.role: any(
            not keys.isdisjoint(row) or is_described(label.role, row)
            for _, row in rows_with(document, label.role)
        )
        for label in LABELS
    }

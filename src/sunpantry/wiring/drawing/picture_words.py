"""What is written beside and below the plain picture."""

from __future__ import annotations

from collections.abc import Sequence

from sunpantry.phrases import phrase
from sunpantry.wiring.drawing import cards
from sunpantry.wiring.drawing.cards import LEAD, SIZE, SMALL
from sunpantry.wiring.drawing.notes import picture_notes
from sunpantry.wiring.drawing.rows import View
from sunpantry.wiring.drawing.sheet import Sheet


def draw_steps(
    sheet: Sheet, steps: Sequence[str], *, left: float, top: float, edge: float
) -> float:
    """Write the order of connection between two edges; return where what follows may begin."""
    if not steps:
        return top
    y = top + 18.0
    sheet.text(left, y, phrase("Order of connection"), size=SIZE, bold=True)
    y += LEAD + 4.0
    for number, step in enumerate(steps, start=1):
        sheet.text(left, y, phrase("{number}.", number=number), size=SIZE)
        y = cards.paragraph(sheet, left + 22.0, y, step, width=edge - left - 22.0, lines=4)
        y += 3.0
    return y + 8.0


def draw_foot(
    sheet: Sheet, view: View, y: float, *, left: float, edge: float, narrow: bool
) -> None:
    """Say what the lines mean, what is not supplied, and what this does not replace."""
    notes, earths = picture_notes(view)
    for note in notes:
        y = cards.paragraph(
            sheet,
            left,
            y,
            note,
            width=edge - left,
            lines=(2 + earths) * (2 if narrow else 1),
            size=SMALL,
            soft=True,
            owner="foot",
        )

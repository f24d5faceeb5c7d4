"""How much of a page blocks take, about: enough to decide where a section begins."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

Block = dict[str, Any]

# Text area of an A4 page [mm]; US letter is a little lower, and wider.
_WIDTH_MM, _HEIGHT_MM = 174.0, 255.0
_LINE_MM, _LETTERS = 5.2, 112
_HEADING_MM = 11.0
_ROW_MM, _TIGHT_ROW_MM = 6.2, 4.4


def room_for(section: Block) -> float:
    """Share of a page that must be left for a section to begin there.

    Parameters
    ----------
    section : dict
        As in :mod:`sunpantry.report.sheet.blocks`, its texts said.

    Returns
    -------
    float
        What the section asks for, less where all of it fits into less.
    """
    asked = float(section["room"])
    return asked if asked >= 1.0 else min(asked, share_of_page(section["blocks"]))


def share_of_page(blocks: Sequence[Block]) -> float:
    """Height of blocks as a share of a page, rather too much than too little.

    Parameters
    ----------
    blocks : sequence of dict
        As in :mod:`sunpantry.report.sheet.blocks`.
    """
    return (_HEADING_MM + sum(_height_mm(block) for block in blocks)) / _HEIGHT_MM


def _height_mm(block: Block) -> float:
    how = _HEIGHTS.get(block["kind"])
    return _lines_mm(block.get("text", "")) if how is None else how(block)


def _picture_mm(block: Block) -> float:
    return min(float(block["height"]), _WIDTH_MM / float(block["ratio"])) + 6.0


def _working_mm(block: Block) -> float:
    """In one of two columns."""
    letters = sum(len(block[key]) for key in ("formula", "inputs", "source"))
    return (3.0 + letters / 60.0) * 4.4 / 2.0


def _beside_mm(block: Block) -> float:
    return max((sum(map(_height_mm, one)) for one in block["columns"]), default=0.0)


def _lines_mm(words: str) -> float:
    return _LINE_MM * (1 + len(words) // _LETTERS) + 2.0


def _step_mm(step: Block) -> float:
    words = _lines_mm(step["title"] + step["text"])
    return words + sum(_lines_mm(one["text"]) + 5.0 for one in step["cautions"])


def _table_mm(block: Block) -> float:
    row_mm = _TIGHT_ROW_MM if block["tight"] else _ROW_MM
    lines = sum(max(1.0, sum(map(len, row)) / 105.0) for row in block["rows"])
    return 8.0 + row_mm * lines


_HEIGHTS: dict[str, Callable[[Block], float]] = {
    "heading": lambda _: _HEADING_MM,
    "table": _table_mm,
    "picture": _picture_mm,
    "steps": lambda block: sum(map(_step_mm, block["steps"])),
    "list": lambda block: sum(map(_lines_mm, block["items"])),
    "caution": lambda block: _lines_mm(block["text"]) + 5.0,
    "danger": lambda block: _lines_mm(block["text"]) + 5.0,
    "beside": _beside_mm,
    "narrow": lambda block: 1.1 * sum(map(_height_mm, block["blocks"])),
    "working": _working_mm,
    "code": lambda block: 8.0 + 4.0 * (block["text"].count("\n") + 1),
}

"""The pieces a sheet is made of, as data for the template.

Their texts may be phrases; :mod:`sunpantry.report.sheet.make` says them when all is gathered.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any, Literal

from sunpantry.phrases import phrase

Block = dict[str, Any]
Align = Literal["left", "right", "centre"]

TABLE_SIZE_PT = 9.0


def heading(text: str, level: int = 2) -> Block:
    """A heading inside a section."""
    return {"kind": "heading", "level": level, "text": text}


def text(words: str, *, quiet: bool = False) -> Block:
    """A paragraph; quiet for what explains."""
    return {"kind": "text", "text": words, "quiet": quiet}


def bullets(items: Iterable[str]) -> Block:
    """A list."""
    return {"kind": "list", "items": list(items)}


def caution(words: str, *, danger: bool = False) -> Block:
    """A caution, or a danger to life."""
    return {
        "kind": "danger" if danger else "caution",
        "word": phrase("Danger") if danger else phrase("Caution"),
        "text": words,
    }


def step(title: str, words: str = "", *cautions: Block) -> Block:
    """One step of work, with the cautions that belong to it."""
    return {"title": title, "text": words, "cautions": list(cautions)}


def steps(items: Sequence[Block], *, first: int = 1) -> Block:
    """Numbered steps with boxes to tick."""
    return {"kind": "steps", "steps": list(items), "first": first}


def fact(label: str, value: str, note: str = "") -> Block:
    """One headline number."""
    return {"label": label, "value": value, "note": note}


def facts(items: Sequence[Block], *, columns: int = 3) -> Block:
    """Headline numbers side by side."""
    return {"kind": "facts", "facts": list(items), "columns": columns}


def table(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    align: str = "",
    widths: Sequence[float] = (),
    strong: Sequence[int] = (),
    size_pt: float = TABLE_SIZE_PT,
    tight: bool = False,
) -> Block:
    """A table whose head is repeated on every page.

    Parameters
    ----------
    heads : sequence of str
        Column heads.
    rows : sequence of sequence of str
        Cells.
    align : str
        A letter a column: l, r or c; left by default.
    widths : sequence of float
        Shares of the width, 0 for as wide as needed; the first column takes what is left
        by default.
    strong : sequence of int
        Rows set in bold.
    size_pt : float
        Size of the type [pt].
    tight : bool
        Rows closer together.
    """
    names: dict[str, Align] = {"l": "left", "r": "right", "c": "centre"}
    letters = align or "l" * len(heads)
    shares = list(widths) or [1.0, *([0.0] * (len(heads) - 1))]
    return {
        "kind": "table",
        "heads": list(heads),
        "rows": [list(row) for row in rows],
        "align": [names[letter] for letter in letters],
        "widths": shares,
        "strong": list(strong),
        "size": size_pt,
        "tight": tight,
    }


def picture(svg: str, alt: str, *, width: float = 1.0, height_mm: float = 240.0) -> Block:
    """A drawing or chart, as large as both limits allow.

    Parameters
    ----------
    svg : str
        The drawing, with a ``viewBox``.
    alt : str
        What it shows.
    width : float
        Greatest width, as a share of the text's width.
    height_mm : float
        Greatest height [mm].
    """
    return {
        "kind": "picture",
        "svg": svg,
        "alt": alt,
        "width": width,
        "height": height_mm,
        "ratio": aspect(svg),
    }


def aspect(svg: str) -> float:
    """Width over height of a drawing, from its ``viewBox``."""
    found = re.search(r'viewBox="[-\d.]+ [-\d.]+ ([\d.]+) ([\d.]+)"', svg)
    return float(found[1]) / float(found[2]) if found else 1.0


def page_break() -> Block:
    """What follows begins on a new page."""
    return {"kind": "break"}


def beside(*columns: Sequence[Block]) -> Block:
    """Blocks side by side, in columns of equal width."""
    return {"kind": "beside", "columns": [list(one) for one in columns]}


def narrow(blocks: Sequence[Block]) -> Block:
    """Blocks set in two columns, down the first and then down the second."""
    return {"kind": "narrow", "blocks": list(blocks)}


def card(title: str, *lines: str) -> Block:
    """A part of the system in a few words."""
    return {"title": title, "lines": list(lines)}


def chain(columns: Sequence[Sequence[Block]]) -> Block:
    """Columns of cards, an arrow from each to the next."""
    return {"kind": "chain", "columns": [list(one) for one in columns]}


def verdict(words: str, more: str, *, kept: bool) -> Block:
    """The verdict, set large."""
    return {"kind": "verdict", "text": words, "more": more, "kept": kept}


def working(name: str, value: str, formula: str, inputs: str, source: str) -> Block:
    """A number with its working."""
    return {
        "kind": "working",
        "name": name,
        "value": value,
        "formula": formula,
        "inputs": inputs,
        "source": source,
    }


def code(words: str) -> Block:
    """Text to be typed in again, letter by letter."""
    return {"kind": "code", "text": words}


def section(
    number: int,
    title: str,
    blocks: Iterable[Block],
    *,
    room: float = 1.0,
    flipped: bool = False,
) -> Block:
    """A section with its heading.

    Parameters
    ----------
    number : int
        Its number, which other sections mention.
    title : str
        Its heading.
    blocks : iterable of dict
        What it holds.
    room : float
        Share of a page that must be left for it to begin there, less where all of it fits
        into less; 1 for a new page always.
    flipped : bool
        Whether its pages lie on their side.
    """
    return {
        "number": number,
        "title": title,
        "blocks": list(blocks),
        "room": room,
        "flipped": flipped,
    }

"""A sheet read back from its PDF with an independent library, and what any sheet must bear.

Sources: ISO 216 and ANSI/ASME Y14.1 for the size of paper.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import pymupdf
import pytest

SECTIONS = [
    "The promise",
    "Shopping list",
    "Circuit diagram",
    "Cable and fuse schedule",
    "Mounting",
    "Order of work",
    "Settings",
    "First readings",
    "Looking after it",
    "Workings",
    "The design document",
]
MARGIN_PT = 18.0 / 25.4 * 72.0
# Smallest type that the circuit diagram of a whole house comes down to on a page; all its numbers
# stand in the schedule too, in twice this size.
SMALLEST_PT = 4.6
# A full stop at the end of a line hangs a little into the margin.
HANGING_PT = 2.5
# Pages that lie on their side have a narrower margin, for the circuit diagram.
FLIPPED_MARGIN_PT = 12.0 / 25.4 * 72.0
PAPERS = {"a4": (595.3, 841.9), "letter": (612.0, 792.0)}


@dataclass
class Read:
    """A sheet opened with the other library."""

    content: bytes = field(repr=False)

    @cached_property
    def file(self) -> Any:
        """The opened PDF."""
        library: Any = pymupdf
        return library.open(stream=self.content, filetype="pdf")

    @cached_property
    def text(self) -> str:
        """All words, with plain spaces and on one line."""
        return plain(" ".join(page.get_text() for page in self.file))

    def section(self, title: str) -> str:
        """Words from the page a section begins on to the page the next one begins on."""
        starts = [(entry[1], entry[2]) for entry in self.file.get_toc() if entry[0] == 1]
        place = next(i for i, entry in enumerate(starts) if entry[0].endswith(title))
        last = starts[place + 1][1] if place + 1 < len(starts) else self.file.page_count
        pages = range(starts[place][1] - 1, last)
        return plain(" ".join(self.file[page].get_text() for page in pages))

    def spans(self) -> list[tuple[Any, Any]]:
        """Every piece of text with its page."""
        return [
            (page, span)
            for page in self.file
            for block in page.get_text("dict")["blocks"]
            for line in block.get("lines", ())
            for span in line["spans"]
            if span["text"].strip()
        ]


def plain(words: str) -> str:
    """Without line ends and special spaces."""
    words = words.replace("-\n", "-")
    return " ".join(words.replace("\N{NO-BREAK SPACE}", " ").replace("\N{EN SPACE}", " ").split())


def check_pages(sheet: Read, *, paper: str = "a4") -> None:
    """Right size; all text inside the margins and legible; every letter has a shape."""
    small, large = PAPERS[paper]
    for page in sheet.file:
        sides = sorted((page.rect.width, page.rect.height))
        assert sides == pytest.approx([small, large], abs=0.1)
        flipped = page.rect.width > page.rect.height
        margin = FLIPPED_MARGIN_PT if flipped else MARGIN_PT
        for left, top, right, bottom, word, *_ in page.get_text("words"):
            assert left >= margin - HANGING_PT, word
            assert right <= page.rect.width - margin + HANGING_PT, word
            assert top >= 20.0, word
            assert bottom <= page.rect.height - 20.0, word
            assert "\ufffd" not in word
        for trace in page.get_texttrace():
            assert all(letter[1] != 0 for letter in trace["chars"]), trace["font"]
    sizes = [span["size"] for _, span in sheet.spans()]
    assert min(sizes) >= SMALLEST_PT


def lonely_headings(sheet: Read) -> Iterator[str]:
    """Headings with nothing below them on their page."""
    for page, span in sheet.spans():
        if span["size"] < 11.5 or "Semibold" not in span["font"]:
            continue
        under = span["bbox"][3]
        below = [
            word
            for word in page.get_text("words")
            if word[1] > under - 3.0 and word[3] < page.rect.height - 50.0
        ]
        drawn = [
            one["rect"]
            for one in page.get_drawings()
            if one["rect"].y0 > under and one["rect"].y1 < page.rect.height - 60.0
        ]
        if not below and not drawn:
            yield span["text"]


def overlapping_words(sheet: Read) -> Iterator[tuple[str, str]]:
    """Words of text and tables that are printed over each other."""
    for page in sheet.file:
        words = [word for word in page.get_text("words") if re.search(r"\w", word[4])]
        words.sort(key=lambda word: word[1])
        for place, one in enumerate(words):
            height = one[3] - one[1]
            for other in words[place + 1 :]:
                if other[1] > one[3] - 0.3 * height:
                    break
                across = min(one[2], other[2]) - max(one[0], other[0])
                down = min(one[3], other[3]) - max(one[1], other[1])
                if across > 1.0 and down > 0.45 * min(height, other[3] - other[1]):
                    yield one[4], other[4]


def emptiest_pages(sheet: Read) -> list[float]:
    """How far down each page is filled, as shares of its text area."""
    shares = []
    for page in sheet.file:
        bottom, top = page.rect.height - 50.0, 55.0
        ends = [word[3] for word in page.get_text("words") if word[3] < bottom]
        shares.append((max(ends, default=top) - top) / (bottom - top))
    return shares

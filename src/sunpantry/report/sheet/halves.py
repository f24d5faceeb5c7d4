"""A drawing too wide for one page, as a left and a right half that overlap."""

from __future__ import annotations

import re

from sunpantry.wiring.drawing.text import text_width

# Each half has this share of the width, so that what is cut on one is whole on the other.
_SHARE = 0.54
_BOX = re.compile(r'viewBox="0 0 ([\d.]+) ([\d.]+)" width="[\d.]+" height="[\d.]+"')
_TEXT = re.compile(r'<text x="(-?[\d.]+)"[^>]*?font-size="([\d.]+)"([^>]*)>(.*?)</text>', re.S)
_ANCHOR = re.compile(r'text-anchor="(middle|end)"')


def size_of(svg: str) -> tuple[float, float]:
    """Width and height of a drawing in its own units; 0 where they are not told."""
    found = _BOX.search(svg)
    return (float(found[1]), float(found[2])) if found else (0.0, 0.0)


def halves(svg: str) -> tuple[str, str]:
    """Cut a drawing into two that overlap in the middle.

    Parameters
    ----------
    svg : str
        The drawing, with a ``viewBox`` from the origin.

    Returns
    -------
    tuple of str
        Left and right; words that would be cut are only on the half that holds them whole.
    """
    width, height = size_of(svg)
    part = _SHARE * width
    return _window(svg, 0.0, part, height), _window(svg, width - part, width, height)


def _window(svg: str, left: float, right: float, height: float) -> str:
    def kept(found: re.Match[str]) -> str:
        start, end = _reach(found)
        return found[0] if left <= start and end <= right else ""

    box = f'viewBox="{left:.2f} 0 {right - left:.2f} {height:.2f}"'
    size = f'width="{right - left:.2f}" height="{height:.2f}"'
    return _BOX.sub(f"{box} {size}", _TEXT.sub(kept, svg), count=1)


def _reach(found: re.Match[str]) -> tuple[float, float]:
    """From where to where a text runs, on the safe side."""
    words = re.sub(r"<[^>]*>", "", found[4])
    wide = text_width(words, float(found[2]), bold="font-weight" in found[0])
    anchor = _ANCHOR.search(found[0])
    back = {"middle": wide / 2.0, "end": wide}.get(anchor[1] if anchor else "", 0.0)
    start = float(found[1]) - back
    return start, start + wide

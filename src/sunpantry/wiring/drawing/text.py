"""How wide a text is, without a font at hand, and how to fit it into a space.

Widths are those of the common sans-serif metrics (Helvetica and the fonts made to match
it), with a margin for fonts that run a little wider.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar

from sunpantry.phrases import Phrase

# Advance widths in thousandths of the size (Adobe font metrics of Helvetica).
_GROUPS = {
    191: "'",
    222: "ijl",
    278: " \u00a0.,:;/\\ftI![]|·",
    333: "-()r`",
    355: '"',
    389: "*",
    500: "cksvxyzJ",
    556: "abdeghnopqu0123456789?#$–_L",
    584: "+−=<>×~≤≥±",
    611: "FTZ",
    667: "ABEKPSVXY&",
    722: "wCDHNRU",
    778: "GOQ",
    833: "mM",
    889: "%",
    944: "W",
    1000: "—…",
    1015: "@",
}
_WIDTHS = {letter: width for width, letters in _GROUPS.items() for letter in letters}
_OTHER = {"°": 400, "²": 333, "³": 333, "Ω": 768, "’": 222, "“": 333, "”": 333, "µ": 556, "→": 1000}
_WIDTHS.update(_OTHER)
_WIDE = 1050
_UNKNOWN = 780
# Fallback fonts run wider than the metrics above.
_MARGIN = 1.14
_BOLD = 1.07
ELLIPSIS = "…"
_NO_BREAK = "\u00a0"
# A number stays with its unit.
_UNIT = re.compile(r"(?<=\d) (?=(?:V|A|W|Ah|Wh|kW|mm²|m|cells|×)(?:$|[\s,;:)]))")


Voice = Callable[[str], str]
_VOICE: ContextVar[Voice] = ContextVar("voice", default=str)


@contextmanager
def speaking(voice: Voice) -> Iterator[None]:
    """Draw in a language.

    Parameters
    ----------
    voice : callable
        Says a phrase in it.
    """
    token = _VOICE.set(voice)
    try:
        yield
    finally:
        _VOICE.reset(token)


def spoken(text: str) -> str:
    """A phrase as the reader of the drawing says it; a name as it is.

    Parameters
    ----------
    text : str
        What is to be written.
    """
    return _VOICE.get()(text) if isinstance(text, Phrase) else text


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of a line of text, on the safe side.

    Parameters
    ----------
    text : str
        One line.
    size : float
        Font size.

    Returns
    -------
    float
        In the unit of ``size``.
    """
    total = 0
    for letter in spoken(text):
        if unicodedata.combining(letter):
            continue
        width = _WIDTHS.get(letter)
        if width is None and unicodedata.east_asian_width(letter) in "WF":
            width = _WIDE
        if width is None:
            base = unicodedata.normalize("NFD", letter)[0]
            width = _WIDTHS.get(base, _UNKNOWN)
        total += width
    return total / 1000.0 * size * _MARGIN * (_BOLD if bold else 1.0)


def shorten(text: str, size: float, width: float, *, bold: bool = False) -> str:
    """Cut a line to a width, with an ellipsis where something is cut."""
    text = spoken(text)
    if text_width(text, size, bold=bold) <= width:
        return text
    kept = text
    while kept and text_width(kept + ELLIPSIS, size, bold=bold) > width:
        kept = kept[:-1]
    return kept.rstrip(" ,.;:-–") + ELLIPSIS


def wrap(
    text: str, size: float, width: float, *, lines: int = 2, bold: bool = False
) -> tuple[str, ...]:
    """Break a text into at most so many lines of a width; the last is shortened if need be."""
    done: list[str] = []
    line = ""
    words = [word for word in _UNIT.sub(_NO_BREAK, spoken(text)).split(" ") if word]
    for index, word in enumerate(words):
        longer = f"{line} {word}".strip()
        if not line or text_width(longer, size, bold=bold) <= width:
            line = longer
            continue
        if len(done) == lines - 1:
            line = " ".join([line, *words[index:]])
            break
        done.append(line)
        line = word
    if line:
        done.append(line)
    return tuple(shorten(one, size, width, bold=bold) for one in done)

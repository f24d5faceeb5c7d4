"""Numbers that share a column, and numbers inside ready sentences, in the reader's way."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from sunpantry.language import gettext, ngettext
from sunpantry.phrases import Phrase, told
from sunpantry.report.numbers import DASH, DIGITS, NO_BREAK

if TYPE_CHECKING:
    from sunpantry.report.numbers import Numbers

# A decimal number; not a version (0.1.0), a clause (§433.1) or a table (B.52.2).
_DECIMAL = re.compile(r"(?<![\w.§])\d+\.\d+(?!\.?\d|[^\W\d_])")
# A number stays with its unit.
_LOOSE_UNIT = re.compile(r"(?<=\d) (?=(?:k?Wh?|[km]?V|k?A|Ah|mAh|mm²?|m|km|L|h|bar|kg|°C|Ω)(?!\w))")


def column(values: Sequence[float], numbers: Numbers, *, digits: int = DIGITS) -> list[str]:
    """Write numbers of one column with the same decimals, chosen by the largest.

    Parameters
    ----------
    values : sequence of float
        All in one unit.
    numbers : Numbers
        How numbers are written.
    digits : int
        Significant digits of the largest.

    Returns
    -------
    list of str
        A plain zero for nothing; '<0.1' for what is there and would be printed as nothing.
    """
    finite = [abs(value) for value in values if math.isfinite(value)]
    top = max(finite, default=0.0)
    places = max(0, digits - 1 - math.floor(math.log10(top))) if top > 0.0 else 0
    least = 10.0**-places
    cells = []
    for value in values:
        if not math.isfinite(value):
            cells.append(DASH)
        elif value == 0.0:
            cells.append(numbers.fixed(0.0, places=0))
        elif abs(value) < 0.5 * least:
            cells.append(f"<{numbers.fixed(least, places=places)}")
        else:
            cells.append(numbers.fixed(value, places=places))
    return cells


def in_text(words: str, numbers: Numbers) -> str:
    """Write the decimal numbers of a ready sentence as the locale does.

    Parameters
    ----------
    words : str
        A plain text with points before decimals. What is printed already must not come
        here a second time.
    numbers : Numbers
        How numbers are written.

    Returns
    -------
    str
        The same where the locale writes points.
    """
    sign = _decimal_sign(numbers)
    if sign == ".":
        return words
    return _DECIMAL.sub(lambda found: found[0].replace(".", sign), words)


def said(text: str, numbers: Numbers) -> str:
    """Say a sentence of the plan in the language chosen and the reader's way of writing.

    The numbers in names are written anew, too; so is a sentence that has no translation.

    Parameters
    ----------
    text : str
        A phrase, or a plain text.
    numbers : Numbers
        How numbers are written.

    Returns
    -------
    str
        A plain text.
    """

    def say(words: str) -> str:
        other = gettext(words)
        return in_text(words, numbers) if other == words else other

    def several(one: str, many: str, count: float) -> str:
        other, words = ngettext(one, many, count), one if count == 1 else many
        return in_text(words, numbers) if other == words else other

    named = _named(text, numbers) if isinstance(text, Phrase) else text
    made = told(named, say, numbers.formatted, several)
    return _LOOSE_UNIT.sub(NO_BREAK, made)


def _decimal_sign(numbers: Numbers) -> str:
    return numbers.fixed(0.5, places=1)[1]


def _named(text: Phrase, numbers: Numbers) -> Phrase:
    """Write the numbers in the names of a phrase, which nobody translates."""

    def inside(value: Any) -> Any:
        if isinstance(value, Phrase):
            return _named(value, numbers)
        return in_text(value, numbers) if isinstance(value, str) else value

    return Phrase(
        str(text),
        text.template,
        text.many,
        tuple((name, inside(value)) for name, value in text.values),
        tuple(inside(part) for part in text.parts),
    )

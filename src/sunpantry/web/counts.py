"""Whole numbers in addresses, forms and headers, which anybody may have written."""

from __future__ import annotations

import re

# Fits in any database's whole numbers, and is far beyond anything that is counted here.
MOST = 999_999_999
_DIGITS = re.compile(r"[0-9]{1,9}")


def whole_number(text: str, most: int = MOST) -> int | None:
    """Read a whole number from 0 up; ``None`` for anything else, however long.

    Parameters
    ----------
    text : str
        As it was sent.
    most : int
        Largest that is taken.

    Examples
    --------
    >>> whole_number("12")
    12
    >>> whole_number("12", most=10), whole_number("-1"), whole_number("9" * 5000)
    (None, None, None)
    """
    number = int(text) if _DIGITS.fullmatch(text) else None
    return number if number is not None and number <= most else None

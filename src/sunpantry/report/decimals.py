"""Digits as a locale writes them."""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from babel import Locale

MINUS = "\N{MINUS SIGN}"


@lru_cache(maxsize=16_384)  # a page writes a thousand or two, nearly the same ones as before
def decimal(value: float | Decimal, pattern: str, locale: Locale) -> str:
    """Write digits by a pattern.

    Parameters
    ----------
    value : float or Decimal
        Finite.
    pattern : str
        As CLDR spells number patterns: '#,##0.0'.
    locale : babel.Locale
        Of the reader.
    """
    from babel.numbers import format_decimal

    return format_decimal(value, format=pattern, locale=locale).replace("-", MINUS)

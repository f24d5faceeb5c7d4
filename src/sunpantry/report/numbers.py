"""Numbers, money, times and dates as a person of a place writes them.

Every face prints through one :class:`Numbers`, so that the sheet, the charts and the page
cannot disagree about a rounding. A number keeps three significant digits unless its
reader needs more: what a meter shows is read to a tenth of a volt, not to a millivolt.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from datetime import date, time
from decimal import Decimal
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from sunpantry.errors import InputError
from sunpantry.language import LOCALES, gettext, language, ngettext
from sunpantry.phrases import told
from sunpantry.report.decimals import MINUS, decimal
from sunpantry.report.us_units import US_UNITS

if TYPE_CHECKING:
    from babel import Locale

NO_BREAK, DASH = "\N{NO-BREAK SPACE}", "\N{EN DASH}"
DIGITS = 3
# A currency named by letters stands apart from the digits (CLDR, currencySpacing).
_LETTER_BY_DIGIT = re.compile(r"(?<=[A-Za-z])(?=\d)|(?<=\d)(?=[A-Za-z])")
_NUMBER = re.compile(r"([+-]?)([\d,]+(?:\.\d+)?(?:e[+-]\d+)?)(%?)")


@dataclass(frozen=True)
class Numbers:
    """How numbers are written for one reader.

    Parameters
    ----------
    locale : str
        CLDR name with an underscore ('en_IE', 'de_CH').
    currency : str
        ISO 4217 code.
    units : str
        'metric', or 'us' for feet, pounds and degrees Fahrenheit; cables are not converted.

    Raises ``InputError`` when the locale is unknown.
    """

    locale: str = "en_IE"
    currency: str = "EUR"
    units: Literal["metric", "us"] = "metric"

    def __post_init__(self) -> None:
        _ = self._babel

    @cached_property
    def _babel(self) -> Locale:
        from babel import Locale, UnknownLocaleError

        try:
            return Locale.parse(self.locale.replace("-", "_"))
        except (UnknownLocaleError, ValueError):
            raise InputError.one(
                "locale", self.locale, "a locale such as en_IE or de_CH", "write another one"
            ) from None

    def number(
        self, value: float, unit: str = "", *, digits: int = DIGITS, grouped: bool = True
    ) -> str:
        """Write a number with some significant digits, and its unit.

        Parameters
        ----------
        value : float
            The number, in ``unit``.
        unit : str
            As printed; empty for a plain number.
        digits : int
            Significant digits; zeros at the end are dropped, digits before the point kept.
        grouped : bool
            Whether thousands are set apart.

        Returns
        -------
        str
            '12.4 V', with a no-break space; a dash where the number is not finite.
        """
        value, unit = self._converted(value, unit)
        if not math.isfinite(value):
            return DASH
        places = 0
        if value != 0.0:
            places = max(0, digits - 1 - math.floor(math.log10(abs(value))))
        whole = self._whole if grouped else "0"
        pattern = f"{whole}.{'#' * places}"
        return self._with_unit(self._decimal(round(value, places), pattern), unit)

    def fixed(self, value: float, unit: str = "", *, places: int = 1) -> str:
        """Write a number with a fixed count of decimals, for columns.

        Parameters
        ----------
        value : float
            The number, in ``unit``.
        unit : str
            As printed.
        places : int
            Decimals.

        Returns
        -------
        str
            '12.40 V'; a dash where the number is not finite.
        """
        value, unit = self._converted(value, unit)
        if not math.isfinite(value):
            return DASH
        point = f".{'0' * places}" if places else ""
        return self._with_unit(self._decimal(round(value, places), self._whole + point), unit)

    def formatted(self, value: float, spec: str = "", unit: str = "") -> str:
        """Write a number as a format specification says, in the reader's way.

        Parameters
        ----------
        value : float
            The number, in ``unit``.
        spec : str
            As of :func:`format`: '.1f', '.0%', 'g', '+.0f', or empty for every digit.
        unit : str
            As printed.

        Returns
        -------
        str
            The digits that :func:`format` would print.
        """
        value, named = self._converted(value, unit)
        drawn = format(value, ".3g" if named != unit and spec in ("", "g") else spec)
        known, unit = _NUMBER.fullmatch(drawn), named
        if known is None:
            return self._with_unit(drawn, unit)
        sign, digits, percent = known.groups()
        if unit == self.currency and not sign:
            return self.money(value, exact=spec.endswith(".2f"))
        exact = Decimal(sign + digits.replace(",", ""))
        places = max(0, -int(exact.as_tuple().exponent))
        point = f".{'0' * places}" if places else ""
        if percent:
            pattern = self._percent_pattern.replace("0", f"0{point}", 1)
            written = self._decimal(exact.scaleb(-2), pattern)
        else:
            written = self._decimal(exact, self._whole + point)
        return self._with_unit(("+" if sign == "+" else "") + written, unit)

    def told(self, text: str) -> str:
        """Say a phrase, or a plain text as a whole, in the language chosen and these numbers."""
        return told(text, gettext, self.formatted, ngettext)

    def span(self, low: float, high: float, unit: str = "", *, places: int = 1) -> str:
        """Write a range: '12.2–13.6 V', or '−3 to 5 °C' where a minus stands in it.

        Parameters
        ----------
        low, high : float
            Its ends, in ``unit``.
        unit : str
            As printed.
        places : int
            Decimals of both.

        Returns
        -------
        str
            One number where both are printed alike.
        """
        bottom, top = self.fixed(low, places=places), self.fixed(high, places=places)
        if unit in US_UNITS and self.units == "us":
            bottom, top = (
                self.fixed(one, unit, places=places).rsplit(NO_BREAK, 1)[0] for one in (low, high)
            )
        unit = self._converted(0.0, unit)[1]
        if bottom == top:
            return self._with_unit(bottom, unit)
        joint = gettext(" to ") if MINUS in bottom + top else DASH
        return self._with_unit(f"{bottom}{joint}{top}", unit)

    def money(self, value: float, *, exact: bool = False) -> str:
        """Write an amount in the reader's currency.

        Parameters
        ----------
        value : float
            Amount.
        exact : bool
            With cents; otherwise in whole units.

        Returns
        -------
        str
            '€344' or '€344.00'.
        """
        from babel.numbers import format_currency

        if not exact:
            value = round(value)
        drawn = format_currency(
            value + 0.0, self.currency, locale=self._babel, currency_digits=exact,
            format=None if exact else self._whole_money_pattern,
        )  # fmt: skip
        return _LETTER_BY_DIGIT.sub(NO_BREAK, drawn.replace("-", MINUS))

    @cached_property
    def _whole(self) -> str:
        """Pattern of the digits before the point, grouped as the locale does."""
        return str(self._babel.decimal_formats[None].pattern).split(".", maxsplit=1)[0]

    @cached_property
    def _whole_money_pattern(self) -> str:
        pattern = str(self._babel.currency_formats["standard"].pattern)
        return pattern.replace(".00", "")

    def percent(self, share: float, *, places: int | None = None) -> str:
        """Write a share in percent.

        Parameters
        ----------
        share : float
            1 for the whole.
        places : int, optional
            Decimals; by default none, and one below three percent.

        Returns
        -------
        str
            '12%', as the locale writes it.
        """
        from babel.numbers import format_percent

        if not math.isfinite(share):
            return DASH
        if places is None:
            places = 1 if 0.0 < abs(share) < 0.03 else 0
        pattern = self._percent_pattern
        if places:
            pattern = re.sub(r"0(?=\xa0?%)", f"0.{'#' * places}", pattern)
        drawn = format_percent(round(share, places + 2) + 0.0, format=pattern, locale=self._babel)
        return drawn.replace("-", MINUS)

    @cached_property
    def _percent_pattern(self) -> str:
        return str(self._babel.percent_formats[None].pattern)

    def energy(self, value_wh: float) -> str:
        """Write an energy in watt-hours, or kilowatt-hours from a thousand on.

        Parameters
        ----------
        value_wh : float
            Energy [Wh].
        """
        if abs(value_wh) >= 999.5:
            return self.number(value_wh / 1000.0, "kWh")
        return self.number(value_wh, "Wh")

    def hours(self, value_h: float) -> str:
        """Write a length of time: minutes, hours or days.

        Parameters
        ----------
        value_h : float
            Length [h].
        """
        if value_h <= 0.0:
            return "0" + NO_BREAK + "h"
        if value_h < 1.0:
            return self.number(max(1.0, round(value_h * 60.0)), "min")
        if value_h < 48.0:
            return self.number(round(value_h), "h")
        days = round(value_h / 24.0)
        return self.number(days, "days", digits=len(str(days)))

    def clock(self, hour: float) -> str:
        """Write a time of day.

        Parameters
        ----------
        hour : float
            Hours since midnight; taken round the clock [h].
        """
        from babel.dates import format_time

        minutes = round(hour * 60.0) % (24 * 60)
        drawn = format_time(time(minutes // 60, minutes % 60), format="short", locale=self._babel)
        # Few typefaces have the narrow space that stands before 'PM' in some locales.
        return str(drawn).replace("\N{NARROW NO-BREAK SPACE}", NO_BREAK)

    def date(self, day: date) -> str:
        """Write a date in full.

        Parameters
        ----------
        day : date
            The day.
        """
        from babel.dates import format_date

        return str(format_date(day, format="long", locale=self._babel))

    def chart_locale(self) -> dict[str, Any]:
        """Signs of numbers for the ``locale`` of a chart's configuration."""
        symbols = self._babel.number_symbols.get("latn", self._babel.number_symbols)
        return {
            "number": {
                "decimal": str(symbols["decimal"]),
                "thousands": str(symbols["group"]),
                "grouping": [3],
                "currency": ["", f"{NO_BREAK}{self.currency}"],
            }
        }

    def _converted(self, value: float, unit: str) -> tuple[float, str]:
        if self.units == "us" and unit in US_UNITS:
            other, factor, offset = US_UNITS[unit]
            return value * factor + offset, other
        return value, unit

    def _decimal(self, value: float | Decimal, pattern: str) -> str:
        return decimal(value + 0, pattern, self._babel)  # a negative zero becomes a plain one

    def _with_unit(self, number: str, unit: str) -> str:
        if not unit:
            return number
        unit = gettext(unit)
        glued = unit == "°" or (unit == "%" and f"{NO_BREAK}%" not in self._percent_pattern)
        return number + unit if glued else f"{number}{NO_BREAK}{unit}"


def locale_of(timezone: str) -> str:
    """Locale in which people of a time zone write numbers, the words in English.

    Parameters
    ----------
    timezone : str
        IANA name of the zone.

    Returns
    -------
    str
        'en_IE' for Europe/Dublin; the usual locale of the territory where CLDR has no
        English for it; 'en_IE' where the zone belongs to none.
    """
    from babel import Locale, UnknownLocaleError, localedata
    from babel.core import get_global

    territory = get_global("zone_territories").get(timezone)
    if territory is None or territory == "001":
        return "en_IE"
    if localedata.exists(f"en_{territory}"):
        return f"en_{territory}"
    try:
        return str(Locale.parse(f"und_{territory}"))
    except (UnknownLocaleError, ValueError):
        return "en_IE"


def numbers_of(
    *, timezone: str, currency: str, locale: str | None = None, units: str = "metric"
) -> Numbers:
    """Choose how numbers are written for a site.

    Parameters
    ----------
    timezone : str
        IANA name of the site's zone.
    currency : str
        ISO 4217 code.
    locale : str, optional
        Chosen by the reader; that of the language spoken or of the site by default.
    units : str
        'metric' or 'us'.

    Returns
    -------
    Numbers
    """
    chosen = locale or LOCALES.get(language()) or locale_of(timezone)
    return Numbers(chosen, currency, "us" if units == "us" else "metric")

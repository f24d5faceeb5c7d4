"""Numbers as people of a place write them.

Sources: CLDR, the locale data of the Unicode Consortium, as its public charts show it for
each locale (decimal sign, grouping, place of the currency sign); ISO 80000-1, clause 7.3
(a space between number and unit, none before the degree sign of an angle; a minus sign).
"""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sunpantry.errors import InputError
from sunpantry.report.numbers import NO_BREAK, Numbers, locale_of, numbers_of


@pytest.mark.published
@pytest.mark.parametrize(
    ("locale", "number", "money"),
    [
        ("en_IE", "1,234.5", "€1,234.50"),
        ("de_DE", "1.234,5", "1.234,50\N{NO-BREAK SPACE}€"),
        ("fr_FR", "1\N{NARROW NO-BREAK SPACE}234,5", "1\N{NARROW NO-BREAK SPACE}234,50"
         "\N{NO-BREAK SPACE}€"),
        ("en_IN", "1,234.5", "€1,234.50"),
    ],
)  # fmt: skip
def test_signs_are_those_of_the_locale(locale: str, number: str, money: str) -> None:
    """CLDR charts: signs and places of the currency."""
    numbers = Numbers(locale, "EUR")
    assert numbers.number(1234.5, digits=5) == number
    assert numbers.money(1234.5, exact=True) == money


@pytest.mark.published
def test_grouping_in_lakhs() -> None:
    """CLDR, en_IN: groups of two digits above the thousand."""
    assert Numbers("en_IN").number(1234567.0) == "12,34,567"


@pytest.mark.published
def test_a_space_before_the_unit_and_a_true_minus() -> None:
    """ISO 80000-1, 7.3: 12 V and 5 °C with a space, 65° without; U+2212 for minus."""
    numbers = Numbers()
    assert numbers.number(12.0, "V") == f"12{NO_BREAK}V"
    assert numbers.number(-3.25, "°C") == f"\N{MINUS SIGN}3.25{NO_BREAK}°C"
    assert numbers.number(65.0, "°") == "65°"


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("value", "words"),
    [(0.0, "0"), (2.0, "2"), (12.345, "12.3"), (0.0012345, "0.00123"), (12345.6, "12,346"),
     (999.7, "1,000"), (float("nan"), "–"), (-0.0001, "\N{MINUS SIGN}0.0001")],
)  # fmt: skip
def test_three_significant_digits(value: float, words: str) -> None:
    """Rounding by hand; zeros at the end are dropped, digits before the point are not."""
    assert Numbers().number(value) == words


@pytest.mark.analytic
def test_columns_and_ranges() -> None:
    """A fixed count of decimals; no negative zero; 'to' where a minus stands in a range."""
    numbers = Numbers()
    assert numbers.fixed(-0.04, places=1) == "0.0"
    assert numbers.span(12.2, 13.64, "V") == f"12.2–13.6{NO_BREAK}V"
    assert numbers.span(-3.0, 5.0, "°C", places=0) == f"\N{MINUS SIGN}3 to 5{NO_BREAK}°C"
    assert numbers.span(5.01, 5.02, "V") == f"5.0{NO_BREAK}V"


@pytest.mark.published
def test_units_of_the_united_states() -> None:
    """NIST SP 811, B.8: 1 ft = 0.3048 m, 1 lb = 0.45359237 kg, °F = 1.8 °C + 32."""
    numbers = Numbers("en_US", "USD", "us")
    assert numbers.number(0.3048, "m") == f"1{NO_BREAK}ft"
    assert numbers.number(0.45359237, "kg") == f"1{NO_BREAK}lb"
    assert numbers.span(-3.0, 5.0, "°C", places=0) == f"27–41{NO_BREAK}°F"
    assert numbers.number(4.0, "mm²") == f"4{NO_BREAK}mm²"


@pytest.mark.analytic
def test_lengths_of_time_energies_and_shares() -> None:
    """By hand."""
    numbers = Numbers()
    assert numbers.hours(0.5) == f"30{NO_BREAK}min"
    assert numbers.hours(5.2) == f"5{NO_BREAK}h"
    assert numbers.hours(72.0) == f"3{NO_BREAK}days"
    assert numbers.energy(999.0) == f"999{NO_BREAK}Wh"
    assert numbers.energy(1234.0) == f"1.23{NO_BREAK}kWh"
    assert numbers.percent(0.123) == "12%"
    assert numbers.percent(0.0123) == "1.2%"


@pytest.mark.published
def test_dates_and_clock_times() -> None:
    """CLDR charts: long dates and short times."""
    assert Numbers("en_IE").date(date(2026, 3, 1)) == "1 March 2026"
    assert Numbers("en_US").date(date(2026, 3, 1)) == "March 1, 2026"
    assert Numbers("en_IE").clock(13.4) == "13:24"
    assert Numbers("en_US").clock(13.4).replace("\N{NO-BREAK SPACE}", " ") == "1:24 PM"


@pytest.mark.published
def test_the_locale_of_a_site() -> None:
    """CLDR: territory of a time zone."""
    assert locale_of("Europe/Dublin") == "en_IE"
    assert locale_of("Europe/Berlin") == "en_DE"
    assert locale_of("America/New_York") == "en_US"
    assert numbers_of(timezone="Europe/Berlin", currency="EUR").number(1.5) == "1,5"


@pytest.mark.regression
def test_an_unknown_locale_is_told() -> None:
    """With what is allowed and what to do."""
    with pytest.raises(InputError, match=r"locale = klingon: a locale such as en_IE"):
        Numbers("klingon")


@pytest.mark.conservation
@given(st.floats(min_value=-1e9, max_value=1e9))
def test_what_is_printed_reads_back(value: float) -> None:
    """Three significant digits are within half a unit of the third."""
    printed = Numbers().number(value).replace(",", "").replace("\N{MINUS SIGN}", "-")
    assert abs(float(printed) - value) <= 0.00501 * abs(value) + 1e-12

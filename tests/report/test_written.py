"""Columns of numbers, and numbers inside ready sentences.

Source: CLDR for the decimal sign of each locale.
"""

from __future__ import annotations

import pytest

from sunpantry.phrases import phrase
from sunpantry.report.numbers import Numbers
from sunpantry.report.written import column, in_text, said

IRISH, GERMAN, BOLIVIAN = Numbers("en_IE"), Numbers("de_DE"), Numbers("es_BO", "USD")


@pytest.mark.analytic
def test_a_column_has_one_count_of_decimals() -> None:
    """Three digits of the largest; nothing is a plain zero, hardly anything says so."""
    assert column([12.34, 0.0, 1.0, 0.04], IRISH) == ["12.3", "0", "1.0", "<0.1"]
    assert column([1234.5, 96.0], IRISH) == ["1,234", "96"]
    assert column([float("nan"), 2.5], IRISH, digits=2) == ["\N{EN DASH}", "2.5"]
    assert column([0.0, 0.0], IRISH) == ["0", "0"]
    assert column([], IRISH) == []
    assert column([-9.87, -0.3], GERMAN, digits=2) == ["\N{MINUS SIGN}9,9", "\N{MINUS SIGN}0,3"]


@pytest.mark.published
def test_sentences_in_german() -> None:
    """Decimals get a comma; versions, clauses and tables stay."""
    assert in_text("1.25 × 3.5 A, 0.5 m.", GERMAN) == "1,25 × 3,5 A, 0,5 m."
    for words in ("Sunpantry 0.1.0", "§433.1", "tables B.52.2 to B.52.17", "RS 7.2a"):
        assert in_text(words, GERMAN) == words
    assert in_text("1.25 × 3.5 A", IRISH) == "1.25 × 3.5 A"


@pytest.mark.published
def test_phrases_in_german() -> None:
    """Values, what stands in the template, and names alike; a number stays with its unit."""
    made = phrase(
        "{part} takes {amps_a:.1f} A within 0.2 m.", part="12.8 V 50 Ah battery", amps_a=1250.55
    )
    told = said(made, GERMAN).replace("\N{NO-BREAK SPACE}", "_")
    assert told == "12,8_V 50_Ah battery takes 1.250,5_A within 0,2_m."
    assert said("0.5 m and 3.2 kg", GERMAN).replace("\N{NO-BREAK SPACE}", "_") == "0,5_m and 3,2_kg"


@pytest.mark.published
def test_letters_stand_apart_from_digits() -> None:
    """CLDR, currencySpacing: a currency that is named by letters keeps its distance."""
    assert Numbers("es_BO", "EUR").money(202.0) == "EUR\N{NO-BREAK SPACE}202"
    assert Numbers("en_IE", "CHF").money(202.0) == "CHF\N{NO-BREAK SPACE}202"
    assert IRISH.money(202.0) == "€202"


@pytest.mark.published
def test_no_narrow_spaces_in_clock_times() -> None:
    """CLDR writes one before 'PM' in some locales; the typeface of the sheet has none."""
    assert "\N{NARROW NO-BREAK SPACE}" not in Numbers("en_US").clock(13.0) + BOLIVIAN.clock(13.0)
    assert Numbers("en_US").clock(13.0).replace("\N{NO-BREAK SPACE}", " ") == "1:00 PM"

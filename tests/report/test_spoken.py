"""What a terminal is told: English as it is made, German with its own numbers (CLDR, de_DE)."""

from __future__ import annotations

import pytest

from sunpantry.language import speaking
from sunpantry.phrases import phrase
from sunpantry.report.columns import columns_of
from sunpantry.report.decimals import MINUS
from sunpantry.report.numbers import NO_BREAK
from sunpantry.report.spoken import figure, spoken, titled, wrapped


@pytest.mark.published
@pytest.mark.parametrize(
    ("value", "spec", "english", "german"),
    [
        (1234.5, ".1f", "1234.5", "1.234,5"),
        (-4.0, ".0f", "-4", f"{MINUS}4"),
        (0.125, ".0%", "12%", f"12{NO_BREAK}%"),
        (-1.2664e-9, ".4g", "-1.266e-09", f"{MINUS}1,266e-09"),
        (41500.0, ".4g", "4.15e+04", "41.500"),
    ],
)
def test_numbers(value: float, spec: str, english: str, german: str) -> None:
    """Plain digits in English, whoever reads them; the signs of the locale in German."""
    assert figure(value, spec) == english
    with speaking("de"):
        assert figure(value, spec) == german


@pytest.mark.regression
def test_sentences_and_titles() -> None:
    """The line under a title is as long as the title that is read."""
    price = phrase("{currency} each", currency="EUR")
    assert titled(price, "x") == "EUR each\n--------\nx"
    long = phrase("At no hour of any winter was anything short of power.")
    assert wrapped(long, 30, "  ") == "  At no hour of any winter was\n  anything short of power."
    assert spoken("Carrowmoor") == "Carrowmoor"
    with speaking("de"):
        assert titled(price, "x") == "EUR je Stück\n------------\nx"
        assert spoken("Carrowmoor") == "Carrowmoor"
        assert max(map(len, wrapped(long, 30, "  ").splitlines())) <= 30


@pytest.mark.regression
def test_a_column_of_german_percents_stands_to_the_right() -> None:
    """As numbers do."""
    cells = [(f"9{NO_BREAK}%",), (f"100{NO_BREAK}%",)]
    assert columns_of(cells, ("Anteil",)).splitlines()[1] == f"   9{NO_BREAK}%"

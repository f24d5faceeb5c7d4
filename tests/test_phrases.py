"""Sentences stay plain English, and can be said anew in another language."""

from __future__ import annotations

import copy
import json
import pickle
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sunpantry.phrases import Phrase, joined, phrase, phrases, placeholders, told
from sunpantry.report.numbers import NO_BREAK, Numbers

pytestmark = pytest.mark.regression
GERMAN = {
    "{load} draws {power_w:.0f} W.": "{load} zieht {power_w:.0f} W.",
    "down to {coldest_c:.0f} °C, {share:.0%} of it": "{share:.0%} davon, bis {coldest_c:.0f} °C",
    " and ": " und ",
    "battery": "Batterie",
    "The {part} is {length_m:.1f} m away.": "Es sind {length_m:.1f} m bis zur {part}.",
}
MANY = {"{count} winter": ("{count} Winter", "{count} Winter der Reihe")}


def say(template: str) -> str:
    return GERMAN.get(template, template)


def several(one: str, many: str, count: float) -> str:
    said = MANY.get(one, (one, many))
    return said[0] if count == 1 else said[1]


def german(text: str, units: str = "metric") -> str:
    numbers = Numbers("de_DE", units="us" if units == "us" else "metric")
    return told(text, say, numbers.formatted, several)


def plainly(value: float, spec: str, unit: str) -> str:
    return format(value, spec) + (f" {unit}" if unit else "")


def test_a_phrase_is_the_plain_sentence() -> None:
    made = phrase("{load} draws {power_w:.0f} W.", load="Lamp", power_w=8.4)
    assert made == "Lamp draws 8 W."
    assert isinstance(made, str)
    assert hash(made) == hash("Lamp draws 8 W.")
    assert json.dumps({"a": made}) == '{"a": "Lamp draws 8 W."}'
    assert f"{made}" == "Lamp draws 8 W."
    assert type(str(made)) is str


def test_numbers_and_words_of_another_language() -> None:
    """CLDR: comma in German, a no-break space before the percent sign."""
    cold = phrase("down to {coldest_c:.0f} °C, {share:.0%} of it", coldest_c=-4.2, share=0.251)
    assert cold == "down to -4 °C, 25% of it"
    assert german(cold) == f"25{NO_BREAK}% davon, bis \N{MINUS SIGN}4{NO_BREAK}°C"
    big = phrase("{load} draws {power_w:.0f} W.", load="Pump", power_w=12345.6)
    assert german(big) == "Pump zieht 12.346 W."


def test_names_stay_and_phrases_within_are_said() -> None:
    parts = phrase("The {part} is {length_m:.1f} m away.", part=phrase("battery"), length_m=2.0)
    assert german(parts) == f"Es sind 2,0{NO_BREAK}m bis zur Batterie."
    named = phrase("The {part} is {length_m:.1f} m away.", part="battery", length_m=2.0)
    assert german(named) == f"Es sind 2,0{NO_BREAK}m bis zur battery."
    assert german("battery") == "Batterie"


def test_a_unit_behind_a_number_goes_with_it() -> None:
    """One international foot is 0.3048 m; 0 °C is 32 °F."""
    far = phrase("The {part} is {length_m:.1f} m away.", part="shed", length_m=3.048)
    assert german(far, "us") == f"Es sind 10,0{NO_BREAK}ft bis zur shed."
    cold = phrase("down to {coldest_c:.0f} °C, {share:.0%} of it", coldest_c=0.0, share=1.0)
    assert german(cold, "us") == f"100{NO_BREAK}% davon, bis 32{NO_BREAK}°F"
    run = phrase("a run of {length_m:g} m", length_m=10)
    assert german(run, "us") == f"a run of 32,8{NO_BREAK}ft"
    assert german(run) == f"a run of 10{NO_BREAK}m"
    thick = phrase("{size:g} mm² and {slope:g} W/s", size=4.0, slope=2.0)
    assert german(thick, "us") == "4 mm² and 2 W/s"
    # by definition an inch is 2.54 cm and a mile 1609.344 m
    wide = phrase("{open_cm2:.0f} cm², {gust:.0f} km/h", open_cm2=64.516, gust=160.9344)
    assert german(wide, "us") == f"10{NO_BREAK}in², 100{NO_BREAK}mph"


def test_a_currency_behind_a_number_goes_with_it() -> None:
    """CLDR: the sign where its readers put it; another currency keeps its letters."""
    price = phrase("{total:.0f} {currency} in all", total=1234.4, currency="EUR")
    assert price == "1234 EUR in all"
    assert german(price) == f"1.234{NO_BREAK}€ in all"
    assert german(phrase("{total:.2f} {currency}", total=2.5, currency="EUR")) == f"2,50{NO_BREAK}€"
    assert german(phrase("{total:.0f} {currency}", total=2.0, currency="GBP")) == f"2{NO_BREAK}GBP"


def test_counts() -> None:
    assert phrases("{count} winter", "{count} winters", count=1) == "1 winter"
    assert german(phrases("{count} winter", "{count} winters", count=1)) == "1 Winter"
    assert german(phrases("{count} winter", "{count} winters", count=3)) == "3 Winter der Reihe"
    assert told(phrases("{count} winter", "{count} winters", count=2), say, plainly) == "2 winters"


def test_a_row_keeps_its_parts() -> None:
    lamp = phrase("{load} draws {power_w:.0f} W.", load="Lamp", power_w=8.0)
    row = joined(("A", phrase("battery"), lamp), last=phrase(" and "))
    assert row == "A, battery and Lamp draws 8 W."
    assert german(row) == "A, Batterie und Lamp zieht 8 W."
    assert german("Now: " + lamp) == "Now: Lamp zieht 8 W."
    assert german(lamp + " " + lamp) == "Lamp zieht 8 W. Lamp zieht 8 W."
    assert german(joined((row, "end"), "; ")) == "A, Batterie und Lamp zieht 8 W.; end"
    assert joined(()) == ""
    assert german(joined(())) == ""
    assert german(phrase("battery") + "") == "Batterie"


def test_a_phrase_travels_and_never_changes() -> None:
    made = joined((phrase("battery"), phrases("{count} winter", "{count} winters", count=2)))
    for again in (pickle.loads(pickle.dumps(made)), copy.copy(made), copy.deepcopy(made)):  # noqa: S301
        assert again == made
        assert isinstance(again, Phrase)
        assert german(again) == "Batterie, 2 Winter der Reihe"
    with pytest.raises(AttributeError, match="never changes"):
        made.template = "another"


def test_a_missing_value_is_a_mistake_at_once() -> None:
    with pytest.raises(KeyError, match="power_w"):
        phrase("{load} draws {power_w:.0f} W.", load="Lamp")


def test_placeholders_and_braces() -> None:
    assert placeholders("{load} draws {power_w:.0f} W.") == {"load", "power_w"}
    assert german(phrase("{{as is}} {x:g}", x=1.5)) == "{as is} 1,5"


@given(
    value=st.floats(-1e9, 1e9),
    spec=st.sampled_from([".0f", ".1f", ".3f", "g", ".3g", "+.1f", ".0%", ".1%", ",.2f", ""]),
)
def test_the_same_digits_in_every_locale(value: float, spec: str) -> None:
    """Only signs differ from what Python prints: same digits in English and German."""
    plain = format(value, spec)
    for locale, group, point in (("en_IE", ",", "."), ("de_DE", ".", ",")):
        drawn = Numbers(locale).formatted(value, spec)
        back = drawn.replace(group, "").replace(point, ".").replace(NO_BREAK, "")
        back = back.replace("\N{MINUS SIGN}", "-")
        signed = Decimal(back.rstrip("%")), Decimal(plain.replace(",", "").rstrip("%"))
        assert signed[0] == signed[1]
        assert back.endswith("%") == plain.endswith("%")


def test_numbers_of_an_array_library_are_numbers() -> None:
    made = phrase("{x:.1f} and {n}", x=np.float64(1.25), n=np.int64(1234))
    assert german(made) == "1,2 and 1.234"


def test_an_unchanged_voice_says_the_same() -> None:
    made = phrase("{load} draws {power_w:.0f} W down to {c:.1f} °C.", load="A", power_w=5, c=2.25)
    assert told(made, lambda text: text, plainly) == made

"""Quantities as people write them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel, ValidationError

from sunpantry.units import Celsius, PositiveWatts, Quantity, parse_quantity, write_quantity

# Exact by definition: SI brochure 9th ed. (2019), table 8 (minute, hour, litre, degree) and
# prefixes; international foot and pound 1959; 0 °C = 273.15 K; 1 US gallon = 3.785411784 L.
DEFINED = [
    ("8 W", "W", 8.0),
    ("1.5 kW", "W", 1500.0),
    ("1,5 kWh", "Wh", 1500.0),
    ("250 mAh", "Ah", 0.25),
    ("90 min", "h", 1.5),
    ("36 s", "h", 0.01),
    ("1 d", "h", 24.0),
    ("100 ft", "m", 30.48),
    ("2 in", "mm", 50.8),
    ("4 mm2", "mm²", 4.0),
    ("4 mm²", "mm²", 4.0),
    ("1 m³", "L", 1000.0),
    ("1 gallon", "L", 3.785411784),
    ("6 m³/h", "L/min", 100.0),
    ("25 °C", "°C", 25.0),
    ("77 °F", "°C", 25.0),
    ("300 VA", "W", 300.0),
    ("3.6 MJ", "Wh", 1000.0),
    ("35 %", "", 0.35),
    ("0.35", "%", 0.35),
    ("5 mΩ", "Ω", 0.005),
    ("10 lb", "kg", 4.5359237),
    ("90 deg", "°", 90.0),
    ("1e3 mA", "A", 1.0),
    (".5 V", "V", 0.5),
]


@pytest.mark.published
@pytest.mark.parametrize(("text", "unit", "value"), DEFINED)
def test_a_quantity_is_read_in_the_unit_wanted(text: str, unit: str, value: float) -> None:
    assert parse_quantity(text, unit) == pytest.approx(value, rel=1e-12)


@pytest.mark.independent
@pytest.mark.parametrize("unit", ["W", "Wh", "Ah", "h", "m", "mm²", "L", "°"])
def test_quick_conversions_agree_with_the_unit_library(unit: str) -> None:
    """Pint converts each spelling that is converted without it."""
    import pint

    from sunpantry.units import _QUICK, _SPELLINGS

    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    for (written, wanted), factor in _QUICK.items():
        if wanted == unit:
            theirs = registry.Quantity(1.0, _SPELLINGS.get(written, written))
            got = theirs.to(_SPELLINGS.get(wanted, wanted)).magnitude
            assert got == pytest.approx(factor, rel=1e-12), written


@pytest.mark.regression
@pytest.mark.parametrize(
    ("text", "unit", "message"),
    [
        ("8 V", "W", "'V' does not measure the same thing as W"),
        ("8 wats", "W", "the unit 'wats' is not known here; use W"),
        ("eight", "W", "expected a number with a unit such as '5 W'"),
        ("", "W", "expected a number with a unit such as '5 W'"),
        (True, "W", "expected a number with a unit such as '5 W'"),
        (math.inf, "W", "expected a finite number"),
        (math.nan, "W", "expected a finite number"),
        ("1e999 W", "W", "expected a finite number"),
        ("5 __import__('os')", "W", "the unit .* (cannot be read|is not known here); use W"),
        ("5 W)(", "W", "the unit .* (cannot be read|is not known here)"),
        ("5 " + "(" * 400, "W", "the unit .* (cannot be read|is not known here)"),
    ],
)
def test_what_is_no_quantity_is_refused(text: str | float, unit: str, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        parse_quantity(text, unit)


@pytest.mark.conservation
@given(st.floats(allow_nan=False, allow_infinity=False), st.sampled_from(["W", "mm²", "°C", ""]))
def test_what_was_written_reads_back_exactly(value: float, unit: str) -> None:
    assert parse_quantity(write_quantity(value, unit), unit) == value


class _Lamp(BaseModel):
    power: PositiveWatts
    air: Celsius = 20.0


@pytest.mark.regression
def test_a_field_reads_writes_and_limits() -> None:
    lamp = _Lamp.model_validate({"power": "0.008 kW", "air": "-5 °C"})
    assert lamp == _Lamp(power=8.0, air=-5.0)
    assert lamp.model_dump() == {"power": "8 W", "air": "-5 °C"}
    with pytest.raises(ValidationError, match="a quantity in W, more than 0 W"):
        _Lamp.model_validate({"power": 0})
    with pytest.raises(ValidationError, match="a quantity in W, more than 0 W"):
        _Lamp.model_validate({"power": [3]})
    schema = _Lamp.model_json_schema()["properties"]["air"]
    assert schema["description"] == "a quantity in °C, at least -90 and at most 150 °C"


@pytest.mark.regression
def test_limits_are_said_in_words() -> None:
    assert Quantity("V", above=0, below=60).limits() == (
        "a quantity in V, more than 0 and less than 60 V"
    )
    assert Quantity("", at_least=0, at_most=1).limits() == "a number, at least 0 and at most 1"
    assert Quantity("m").limits() == "a quantity in m"

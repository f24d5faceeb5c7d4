"""Units as people in the United States write them, against a library of units."""

from __future__ import annotations

from typing import Any

import pint
import pytest

from sunpantry.report.numbers import Numbers
from sunpantry.report.us_units import US_UNITS

# Where the library writes a unit in another way than a person does.
SPELT = {"°C": "degC", "°F": "degF", "L": "liter", "L/min": "liter/min", "in": "inch",
         "gal": "gallon", "gal/min": "gallon/min"}  # fmt: skip


@pytest.mark.independent
@pytest.mark.parametrize("unit", US_UNITS)
def test_every_unit_is_that_of_the_library(unit: str) -> None:
    """Pint: the international foot, inch, mile and pound, the US liquid gallon, Fahrenheit."""
    registry: Any = pint.UnitRegistry()
    other, factor, offset = US_UNITS[unit]
    for value in (-3.0, 0.0, 1.0, 87.5):
        there = registry.Quantity(value, SPELT.get(unit, unit)).to(SPELT.get(other, other))
        assert value * factor + offset == pytest.approx(there.magnitude, rel=1e-9, abs=1e-9)
        told = Numbers("en_US", "USD", "us").fixed(value, unit, places=6)
        assert told.endswith(other)

"""Quantities as people write them, read once at the edge.

Inside the program every number is a plain float whose name carries its unit. This
module turns ``"8 W"``, ``"100 Ah"``, ``"1.5 kW"``, ``"4 mm²"`` or a bare number into
such a float, and writes it back. Nothing else uses pint.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from functools import cache
from typing import TYPE_CHECKING, Annotated, Any

from pydantic import GetCoreSchemaHandler, PlainSerializer
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from sunpantry.phrases import joined, phrase

if TYPE_CHECKING:
    import pint

# Spellings people use that the unit library does not know, or knows as something else.
_SPELLINGS = {
    "Ah": "A*h",
    "mAh": "mA*h",
    "Wh": "W*h",
    "kWh": "kW*h",
    "VA": "V*A",
    "Wp": "W",
    "kWp": "kW",
    "mm2": "mm**2",
    "mm²": "mm**2",
    "cm2": "cm**2",
    "cm²": "cm**2",
    "m2": "m**2",
    "m²": "m**2",
    "m3": "m**3",
    "m³": "m**3",
    "L": "liter",
    "l": "liter",
    "L/min": "liter/minute",
    "l/min": "liter/minute",
    "L/h": "liter/hour",
    "l/h": "liter/hour",
    "m³/h": "m**3/hour",
    "°C": "degC",
    "C": "degC",
    "°F": "degF",
    "F": "degF",
    "°": "degree",
    "deg": "degree",
    "Ω": "ohm",
    "mΩ": "mohm",
    "%": "percent",
    "%/K": "percent/kelvin",
    "%/°C": "percent/kelvin",
    "mV/K": "mV/kelvin",
    "years": "year",
    "y": "year",
}
_QUANTITY = re.compile(r"^\s*([+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?)\s*(.*?)\s*$")


@cache
def _registry() -> pint.UnitRegistry[Any]:
    import pint

    return pint.UnitRegistry(autoconvert_offset_to_baseunit=True)


# Conversions met so often that a plan need not wake the unit library for them.
_QUICK = {
    ("kW", "W"): 1000.0,
    ("kWh", "Wh"): 1000.0,
    ("mA", "A"): 1e-3,
    ("mAh", "Ah"): 1e-3,
    ("cm", "m"): 1e-2,
    ("mm", "m"): 1e-3,
    ("km", "m"): 1e3,
    ("VA", "W"): 1.0,
    ("Wp", "W"): 1.0,
    ("min", "h"): 1.0 / 60.0,
    ("s", "h"): 1.0 / 3600.0,
    ("mm2", "mm²"): 1.0,
    ("cm2", "cm²"): 1.0,
    ("l", "L"): 1.0,
    ("deg", "°"): 1.0,
    ("years", "years"): 1.0,
    ("year", "years"): 1.0,
}


def parse_quantity(text: str | float, unit: str) -> float:
    """Read a quantity and return it in ``unit``.

    Parameters
    ----------
    text : str or float
        ``"8 W"``, ``"0,5 kW"``, or a bare number, which is taken to be in ``unit``.
    unit : str
        The unit wanted, as printed ('W', 'Ah', 'mm²', '°C', …).

    Returns
    -------
    float
        The quantity in ``unit``.

    Raises
    ------
    ValueError
        When the text is no number with a unit, the unit is unknown or measures
        something else, or the number is not finite. The message is one sentence.

    Examples
    --------
    >>> parse_quantity("0.5 kW", "W")
    500.0
    >>> parse_quantity(12, "V")
    12.0
    """
    if isinstance(text, bool):
        raise ValueError(phrase("expected a number with a unit such as '5 {unit}'", unit=unit))  # noqa: TRY004
    if isinstance(text, int | float):
        return _finite(_as_float(text))
    match = _QUANTITY.match(str(text))
    if match is None:
        raise ValueError(phrase("expected a number with a unit such as '5 {unit}'", unit=unit))
    number = _finite(float(match[1].replace(",", ".")))
    written = match[2]
    if written in ("", unit):
        return number
    if (written, unit) in _QUICK:
        return _finite(number * _QUICK[written, unit])
    return _finite(_convert(number, written, unit))


def _convert(number: float, written: str, unit: str) -> float:
    import pint

    registry = _registry()
    try:
        quantity = registry.Quantity(number, _SPELLINGS.get(written, written))
        return float(quantity.to(_SPELLINGS.get(unit, unit)).magnitude)
    except pint.DimensionalityError:
        raise ValueError(
            phrase(
                "'{written}' does not measure the same thing as {unit}", written=written, unit=unit
            )
        ) from None
    except (pint.UndefinedUnitError, pint.PintError, AttributeError, TypeError, SyntaxError):
        raise ValueError(
            phrase("the unit '{written}' is not known here; use {unit}", written=written, unit=unit)
        ) from None
    except Exception as error:
        raise ValueError(
            phrase("the unit '{written}' cannot be read; use {unit}", written=written, unit=unit)
        ) from error


def _as_float(number: float) -> float:
    try:
        return float(number)
    except OverflowError:  # a whole number of hundreds of digits
        return math.inf


def _finite(number: float) -> float:
    if not math.isfinite(number):
        raise ValueError(phrase("expected a finite number"))
    return number


def write_quantity(value: float, unit: str) -> str:
    """Write a quantity so that :func:`parse_quantity` returns exactly ``value``."""
    number = repr(float(value))
    return f"{number.removesuffix('.0')} {unit}".strip()


@dataclass(frozen=True, slots=True)
class Quantity:
    """Pydantic annotation: a float in ``unit``, written with or without it.

    Parameters
    ----------
    unit : str
        Unit of the stored float.
    above, at_least, below, at_most : float, optional
        Limits, checked after conversion.
    """

    unit: str
    above: float | None = None
    at_least: float | None = None
    below: float | None = None
    at_most: float | None = None

    def limits(self) -> str:
        """Say in words what is allowed."""
        words: list[str] = []
        if self.above is not None:
            words.append(phrase("more than {limit:g}", limit=self.above))
        if self.at_least is not None:
            words.append(phrase("at least {limit:g}", limit=self.at_least))
        if self.below is not None:
            words.append(phrase("less than {limit:g}", limit=self.below))
        if self.at_most is not None:
            words.append(phrase("at most {limit:g}", limit=self.at_most))
        measured = phrase("a quantity in {unit}", unit=self.unit)
        what = measured if self.unit else phrase("a number")
        if not words:
            return what
        span = joined(words, phrase(" and "))
        return joined((what, joined((span, self.unit), " ") if self.unit else span))

    def read(self, raw: object) -> float:
        """Convert and check one raw value from a document."""
        if not isinstance(raw, str | int | float):
            raise PydanticCustomError("quantity", "{allowed}", {"allowed": self.limits()})
        try:
            value = parse_quantity(raw, self.unit)
        except ValueError as error:
            raise PydanticCustomError(
                "quantity", "{allowed}: {why}", {"allowed": self.limits(), "why": error.args[0]}
            ) from None
        outside = (
            (self.above is not None and value <= self.above)
            or (self.at_least is not None and value < self.at_least)
            or (self.below is not None and value >= self.below)
            or (self.at_most is not None and value > self.at_most)
        )
        if outside:
            raise PydanticCustomError("quantity", "{allowed}", {"allowed": self.limits()})
        return value

    def __get_pydantic_core_schema__(
        self, source: type[Any], handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(self.read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: Any) -> dict[str, Any]:
        return {"type": ["number", "string"], "description": self.limits()}


def _written(unit: str) -> PlainSerializer:
    return PlainSerializer(lambda value: write_quantity(value, unit), return_type=str)


Watts = Annotated[float, Quantity("W", at_least=0), _written("W")]
PositiveWatts = Annotated[float, Quantity("W", above=0), _written("W")]
WattHours = Annotated[float, Quantity("Wh", at_least=0), _written("Wh")]
PositiveVolts = Annotated[float, Quantity("V", above=0, at_most=1500), _written("V")]
Amps = Annotated[float, Quantity("A", at_least=0), _written("A")]
PositiveAmps = Annotated[float, Quantity("A", above=0), _written("A")]
PositiveAmpHours = Annotated[float, Quantity("Ah", above=0), _written("Ah")]
Ohms = Annotated[float, Quantity("Ω", at_least=0), _written("Ω")]
Hours = Annotated[float, Quantity("h", at_least=0), _written("h")]
Seconds = Annotated[float, Quantity("s", at_least=0), _written("s")]
Metres = Annotated[float, Quantity("m", at_least=0), _written("m")]
PositiveMetres = Annotated[float, Quantity("m", above=0), _written("m")]
Kilograms = Annotated[float, Quantity("kg", at_least=0), _written("kg")]
PositiveKilograms = Annotated[float, Quantity("kg", above=0), _written("kg")]
Celsius = Annotated[float, Quantity("°C", at_least=-90, at_most=150), _written("°C")]
PercentPerKelvin = Annotated[float, Quantity("%/K", at_least=-2, at_most=2), _written("%/K")]
Percent = Annotated[float, Quantity("%", at_least=0, at_most=100), _written("%")]
MillivoltsPerKelvin = Annotated[float, Quantity("mV/K", at_least=-20, at_most=20), _written("mV/K")]
Years = Annotated[float, Quantity("years", above=0), _written("years")]
SquareCentimetres = Annotated[float, Quantity("cm²", at_least=0), _written("cm²")]
SquareMillimetres = Annotated[float, Quantity("mm²", above=0), _written("mm²")]
Litres = Annotated[float, Quantity("L", at_least=0), _written("L")]
Degrees = Annotated[float, Quantity("°", at_least=-360, at_most=360), _written("°")]

"""The base of every table in the document, and how a key is spelt.

An attribute carries its unit (``power_w``); the key a person writes does not
(``power = "8 W"``), because the value says it. Both spellings are read, the plain one
is written.
"""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, PlainSerializer
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from sunpantry.units import Quantity, write_quantity

MONTHS_PER_YEAR = 12

# Names whose unit cannot simply be left off: the rest would say something else.
_SPECIAL = {
    "absorption_h": "absorption_time",
    "disconnect_delay_s": "disconnect_delay",
    "monthly_sun_kwh_m2_day": "monthly_sun",
    "max_pv_power_w_at_12v": "max_pv_power_at_12v",
    "temp_comp_mv_per_cell_k": "temp_comp_per_cell",
    "self_discharge_pct_per_month": "self_discharge_per_month",
    "ageing_pct_per_year": "ageing_per_year",
    "fuel_l_per_kwh": "fuel_per_kwh",
}
_UNIT = re.compile(
    r"(?:_pct_per_k|_l_min|_kwh|_mm2|_cm2|_wh|_ah|_kg|_ohm|_pct|_deg|_mm|_min|_years|_days"
    r"|_w|_v|_a|_m|_c|_h|_l)$"
)


def human_key(name: str) -> str:
    """Spell the key a person writes for an attribute.

    Parameters
    ----------
    name : str
        Attribute name, with its unit.

    Returns
    -------
    str
        The key without the unit.

    Examples
    --------
    >>> human_key("power_w"), human_key("from_"), human_key("quantity")
    ('power', 'from', 'quantity')
    """
    if name in _SPECIAL:
        return _SPECIAL[name]
    return _UNIT.sub("", name.rstrip("_"))


class Section(BaseModel):
    """A table of the document: frozen, and no key it does not know."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        alias_generator=human_key,
        validate_by_name=True,
        validate_by_alias=True,
    )


class Choice(Quantity):
    """Pydantic annotation: one of some words, or else a quantity.

    Parameters
    ----------
    words : dict
        Each word accepted, and what it stands for.
    """

    words: dict[str, float | str]

    def __init__(self, unit: str, words: dict[str, float | str], **limits: float) -> None:
        super().__init__(unit, **limits)
        object.__setattr__(self, "words", words)

    def limits(self) -> str:
        """Say in words what is allowed."""
        listed = ", ".join(f'"{word}"' for word in self.words)
        return f"{listed}, or {super().limits()}"

    def read(self, raw: object) -> float | str:  # type: ignore[override]
        """Take a word for what it stands for; read anything else as a quantity."""
        if isinstance(raw, str) and raw.strip().lower() in self.words:
            return self.words[raw.strip().lower()]
        return super().read(raw)


class Monthly(Quantity):
    """Pydantic annotation: one quantity for the whole year, or twelve, January first."""

    def limits(self) -> str:
        """Say in words what is allowed."""
        return f"{super().limits()}; one for the year or a list of twelve, January first"

    def read(self, raw: object) -> float | tuple[float, ...]:  # type: ignore[override]
        """Read one value or twelve."""
        if not isinstance(raw, list | tuple):
            return super().read(raw)
        if len(raw) != MONTHS_PER_YEAR:
            raise PydanticCustomError(
                "quantity",
                "{allowed}: {why}",
                {"allowed": self.limits(), "why": f"this list holds {len(raw)}"},
            )
        return tuple(super(Monthly, self).read(value) for value in raw)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: Any) -> dict[str, Any]:
        twelve = {
            "items": {"type": ["number", "string"]},
            "minItems": MONTHS_PER_YEAR,
            "maxItems": MONTHS_PER_YEAR,
        }
        return {
            "type": ["number", "string", "array"],
            "description": self.limits(),
            **twelve,
        }


class EachMonth(Monthly):
    """Pydantic annotation: twelve quantities, January first."""

    def limits(self) -> str:
        """Say in words what is allowed."""
        return f"a list of twelve, January first, each {Quantity.limits(self)}"

    def read(self, raw: object) -> tuple[float, ...]:  # type: ignore[override]
        """Read the twelve."""
        if not isinstance(raw, list | tuple):
            raise PydanticCustomError("quantity", "{allowed}", {"allowed": self.limits()})
        read = super().read(raw)
        return read if isinstance(read, tuple) else (read,) * MONTHS_PER_YEAR

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: Any) -> dict[str, Any]:
        return {**super().__get_pydantic_json_schema__(schema, handler), "type": "array"}


class Reader:
    """Pydantic annotation: a function that reads the raw value.

    Parameters
    ----------
    read : callable
        Returns the value, or raises ``ValueError``.
    allowed : str
        What is accepted, in words.
    schema : dict
        JSON schema of the raw value.
    """

    def __init__(self, read: Any, allowed: str, schema: dict[str, Any]) -> None:
        self._read = read
        self._allowed = allowed
        self._schema = schema

    def __get_pydantic_core_schema__(
        self, source: type[Any], handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        def read(raw: object) -> object:
            try:
                return self._read(raw)
            except ValueError:
                raise PydanticCustomError(
                    "quantity", "{allowed}", {"allowed": self._allowed}
                ) from None

        return core_schema.no_info_plain_validator_function(read)

    def __get_pydantic_json_schema__(self, schema: CoreSchema, handler: Any) -> dict[str, Any]:
        return {**self._schema, "description": self._allowed}


def write_values(value: Any, unit: str) -> Any:
    """Write what a quantity annotation read: a word, one quantity or a list of them."""
    if isinstance(value, tuple | list):
        return [write_values(one, unit) for one in value]
    if isinstance(value, str) or not unit:
        return value
    return write_quantity(value, unit)


def written(unit: str) -> PlainSerializer:
    """Serializer that belongs to a quantity in ``unit``."""
    return PlainSerializer(lambda value: write_values(value, unit))


def by_month(value: float | tuple[float, ...]) -> tuple[float, ...]:
    """Twelve values from one or twelve.

    Parameters
    ----------
    value : float or tuple of float
        One value for the year, or twelve, January first.

    Returns
    -------
    tuple of float
        Twelve values, January first.
    """
    return value if isinstance(value, tuple) else (value,) * MONTHS_PER_YEAR


Name = Annotated[str, Field(min_length=1, max_length=120, pattern=r"\S")]
Count = Annotated[int, Field(strict=True, ge=1, le=1000)]
Groups = Annotated[int, Field(strict=True, ge=0, le=16)]
Flag = Annotated[bool, Field(strict=True)]
Number = Annotated[float, Quantity("", at_least=0), written("")]
Fraction = Annotated[float, Quantity("", at_least=0, at_most=1), written("")]
MonthlyFraction = Annotated[
    float | tuple[float, ...], Monthly("", at_least=0, at_most=1), written("")
]

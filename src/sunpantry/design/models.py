"""The whole document, as one frozen object."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sunpantry.design.keys import Name, Reader, Section, written
from sunpantry.design.kit import (
    ArrayChoice,
    BankVoltage,
    BatteryChoice,
    ControllerChoice,
    ConverterChoice,
    InverterChoice,
)
from sunpantry.design.loads import Bursts, CanWait, Load
from sunpantry.design.promise import Backup, Money, Promise, Search, Wiring
from sunpantry.design.site import Obstacle, Site
from sunpantry.design.water import Drinkers, Pump, Tank
from sunpantry.units import parse_quantity

__all__ = [
    "ArrayChoice",
    "Backup",
    "BatteryChoice",
    "Bursts",
    "CanWait",
    "ControllerChoice",
    "ConverterChoice",
    "Design",
    "Drinkers",
    "InverterChoice",
    "Load",
    "Money",
    "Obstacle",
    "Promise",
    "Pump",
    "Search",
    "Site",
    "Tank",
    "Wiring",
]


def _read_step(raw: object) -> float:
    if not isinstance(raw, str | int | float):
        raise ValueError("not a quantity")  # noqa: TRY004  (the reader turns it into one sentence)
    step_h = parse_quantity(raw, "h")
    per_day = 24.0 / step_h if step_h > 0.0 else 0.0
    if not 24 <= per_day <= 288 or abs(per_day - round(per_day)) > 1e-9:
        raise ValueError("does not divide the day")
    return step_h


Step = Annotated[
    float,
    Reader(
        _read_step,
        'a step that divides the day into equal parts, 5 min to 1 h, such as "15 min"',
        {"type": ["string", "number"]},
    ),
    written("h"),
]


class Design(Section):
    """What must run, where, and with what."""

    schema_: Literal[1] = Field(default=1, description="version of the document's shape")
    name: Name = "My system"
    notes: str = ""
    seed: Annotated[int, Field(strict=True, ge=0, le=2**31 - 1)] = 1
    winters: Annotated[int, Field(strict=True, ge=1, le=200)] = 30
    step_h: Step = 1.0
    bank_voltage_v: BankVoltage | None = Field(default=None, description="5, 12, 24 or 48 V")
    site: Site
    loads: tuple[Load, ...] = Field(default=(), validation_alias="load", serialization_alias="load")
    arrays: tuple[ArrayChoice, ...] = Field(
        default=(), validation_alias="array", serialization_alias="array"
    )
    battery: BatteryChoice | None = None
    controller: ControllerChoice | None = None
    inverter: InverterChoice | None = None
    converters: tuple[ConverterChoice, ...] = Field(
        default=(), validation_alias="converter", serialization_alias="converter"
    )
    backup: Backup | None = None
    tanks: tuple[Tank, ...] = Field(default=(), validation_alias="tank", serialization_alias="tank")
    pumps: tuple[Pump, ...] = Field(default=(), validation_alias="pump", serialization_alias="pump")
    promise: Promise = Promise()
    money: Money = Money()
    search: Search = Search()
    wiring: Wiring = Wiring()

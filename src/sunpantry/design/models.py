"""The whole document, as one frozen object."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sunpantry.design.keys import Name, Section, written
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
from sunpantry.units import Quantity

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

Step = Annotated[float, Quantity("h", at_least=1 / 12, at_most=1), written("h")]


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

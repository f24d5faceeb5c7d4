"""What is promised, what it may cost, what may be chosen, the second source, the cables."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sunpantry.design.keys import Count, Flag, Name, Number, Section, written
from sunpantry.design.kit import BankVoltage
from sunpantry.design.loads import Importance
from sunpantry.design.moments import MomentText
from sunpantry.design.nameplates import Chemistry
from sunpantry.units import (
    Celsius,
    Percent,
    PositiveKilograms,
    PositiveMetres,
    PositiveWatts,
    Quantity,
    WattHours,
    Years,
)

YearHours = Annotated[float, Quantity("h", at_least=0, at_most=8760), written("h")]
LitresPerKilowattHour = Annotated[float, Quantity("L/kWh", above=0, at_most=10), written("L/kWh")]

# Length of a run that the document does not name [m]: common practice, no source.
DEFAULT_RUNS_M: dict[str, float] = {
    "array": 10.0,
    "battery": 1.5,
    "inverter": 1.5,
    "converter": 1.0,
    "loads": 8.0,
    "backup": 5.0,
    "earth": 5.0,
}


class Promise(Section):
    """Hours without power in a year that are acceptable, by importance (mean of the winters)."""

    must_h: YearHours = 0.0
    should_h: YearHours = 24.0
    may_h: YearHours = 200.0

    def hours(self, importance: Importance) -> float:
        """Acceptable hours without power a year for one class [h]."""
        return {"must": self.must_h, "should": self.should_h, "may": self.may_h}[importance]


class Money(Section):
    """Currency, horizon and prices."""

    currency: Annotated[str, Field(pattern="^[A-Z]{3}$")] = "EUR"
    years: Years = 15.0
    discount_rate_pct: Percent = 3.0
    electricity_price: Number = Field(
        default=0.35, description="for a kilowatt-hour from the mains"
    )
    mains_connection: Number | None = Field(
        default=None, description="what a connection would cost"
    )
    budget: Number | None = None
    prices: dict[str, Number] = Field(
        default_factory=dict, description="your price for a part, by its name on the list"
    )


class Search(Section):
    """What may be chosen from."""

    chemistries: tuple[Chemistry, ...] | None = None
    controllers: tuple[Literal["pwm", "mppt"], ...] | None = None
    inverters: tuple[Literal["sine", "modified"], ...] | None = None
    bank_voltages: tuple[BankVoltage, ...] | None = None
    max_panels: Count = 24
    max_batteries: Count = 16
    max_panel_power_w: PositiveWatts | None = None
    max_weight_kg: PositiveKilograms | None = Field(
        default=None, description="of panels and batteries together, those already there included"
    )
    weigh: Flag = Field(default=False, description="the neighbours told of are also lighter ones")
    backup: Flag = Field(default=False, description="a second source may be part of the answer")
    seasonal_tilt: Flag = Field(default=False, description="the array may be tilted twice a year")


class Backup(Section):
    """A second source: a generator, the mains, or charged batteries carried out."""

    kind: Literal["generator", "mains", "carried_battery"]
    power_w: PositiveWatts | None = Field(default=None, description="what it can give")
    start_below_pct: Percent = Field(default=35.0, description="battery charge it comes in at")
    stop_above_pct: Percent = Field(default=80.0, description="battery charge it stops at")
    price: Number = Field(default=0.0, description="to buy it")
    owned: Flag = False
    charger_efficiency_pct: Percent = 85.0
    fuel_l_per_kwh: LitresPerKilowattHour | None = None
    fuel_price: Number | None = Field(default=None, description="for a litre")
    quiet_from: MomentText | None = Field(default=None, description="it must not run from")
    quiet_until: MomentText | None = None
    transfer: Flag = Field(default=False, description="mains feeds the loads, not the battery")
    energy_price: Number | None = Field(default=None, description="for a kilowatt-hour")
    carried_wh: WattHours | None = Field(default=None, description="energy of one carried battery")
    trip_cost: Number = 0.0
    max_per_winter: Annotated[int, Field(strict=True, ge=0, le=1000)] | None = None


class Wiring(Section):
    """How far apart things are and how the cables run."""

    runs: dict[str, PositiveMetres] = Field(
        default_factory=dict, description="one-way length by run, or by the name of a load"
    )
    installation: Literal["clipped", "conduit", "buried", "free_air"] = "clipped"
    insulation: Literal["pvc", "xlpe"] = "pvc"
    ambient_c: Celsius = 30.0
    grouped: Count = Field(default=1, description="circuits lying side by side")
    sizes: Literal["mm2", "awg"] = "mm2"

    def run_m(self, run: str, load: Name | None = None) -> float:
        """One-way length of a run [m]; a load without its own entry takes that of ``loads``."""
        if load is not None and load in self.runs:
            return self.runs[load]
        return self.runs.get(run, DEFAULT_RUNS_M[run])

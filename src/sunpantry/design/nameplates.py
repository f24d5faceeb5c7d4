"""What is printed on the label of a part, typed and with units.

The same models read the shipped parts list and a part that a user describes in the
design document. A field that a label may lack has a stated default, or ``None`` where
the physics supplies a typical value and says so.
"""

from __future__ import annotations

from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator, model_validator

from sunpantry.design.keys import human_key
from sunpantry.design.label_figures import coefficients_in_percent, hours_of_rates
from sunpantry.units import (
    Amps,
    Celsius,
    Kilograms,
    Metres,
    MillivoltsPerKelvin,
    Ohms,
    Percent,
    PercentPerKelvin,
    PositiveAmpHours,
    PositiveAmps,
    PositiveVolts,
    PositiveWatts,
    Seconds,
    Watts,
    Years,
)

Chemistry = Literal["flooded", "agm", "gel", "lifepo4", "power_bank"]


class Nameplate(BaseModel):
    """What every part has: a name, and perhaps a price, a weight and a size."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        alias_generator=human_key,
        validate_by_name=True,
        validate_by_alias=True,
    )

    name: str = Field(min_length=1, max_length=120)
    price: float | None = Field(default=None, ge=0, description="price of one, in `currency`")
    currency: str = Field(default="EUR", pattern="^[A-Z]{3}$")
    price_year: int | None = Field(default=None, ge=1990, le=2100)
    note: str = ""
    weight_kg: Kilograms | None = None
    length_m: Metres | None = None
    width_m: Metres | None = None
    height_m: Metres | None = None

    def __hash__(self) -> int:
        # The name tells parts apart well enough, and is quick: parts are looked up often.
        return hash((type(self).__name__, self.name))


class PanelNameplate(Nameplate):
    """A photovoltaic panel, by the figures on its back at standard test conditions."""

    power_w: PositiveWatts
    voc_v: PositiveVolts
    isc_a: PositiveAmps
    vmp_v: PositiveVolts
    imp_a: PositiveAmps
    cells: int = Field(ge=1, le=400, description="cells in series (half-cut: of one half)")
    power_tolerance_pct: Percent = 5.0
    temp_coeff_voc_pct_per_k: PercentPerKelvin = -0.33
    temp_coeff_isc_pct_per_k: PercentPerKelvin = 0.05
    temp_coeff_power_pct_per_k: PercentPerKelvin = -0.45
    noct_c: Celsius = 45.0
    max_series_fuse_a: PositiveAmps | None = None
    max_system_voltage_v: PositiveVolts = 600.0
    regulated_output_v: PositiveVolts | None = Field(
        default=None, description="built-in regulator, as the 5 V socket of a travel panel"
    )
    regulated_max_a: PositiveAmps | None = None
    regulated_efficiency_pct: Percent = 85.0
    ageing_pct_per_year: Percent = 0.6

    @model_validator(mode="before")
    @classmethod
    def _in_percent(cls, raw: Any) -> Any:
        return coefficients_in_percent(raw)


class BatteryNameplate(Nameplate):
    """A battery (one block or box), by its label."""

    chemistry: Chemistry
    nominal_v: PositiveVolts = Field(description="3.2 V a cell for LiFePO4, 2 V for lead-acid")
    capacity_ah: PositiveAmpHours
    capacity_hours: float = Field(default=20.0, gt=0, le=240, description="rate of capacity_ah")
    other_capacities_ah: dict[str, PositiveAmpHours] = Field(
        default_factory=dict, description='capacities at other rates, by hours: {"10" = "90 Ah"}'
    )
    internal_resistance_ohm: Ohms | None = None
    max_charge_a: PositiveAmps | None = None
    max_discharge_a: PositiveAmps | None = None
    absorption_v: PositiveVolts | None = None
    float_v: PositiveVolts | None = None
    cycles: int | None = Field(default=None, gt=0, description="cycles to 80 % at cycle_depth_pct")
    cycle_depth_pct: Percent = 50.0
    calendar_life_years: Years | None = None
    self_discharge_pct_per_month: Percent | None = None
    min_charge_temperature_c: Celsius | None = None
    heater_w: Watts = 0.0
    usb_output_a: Amps = 0.0
    input_efficiency_pct: Percent = Field(default=100.0, description="converter of a power bank")
    output_efficiency_pct: Percent = Field(default=100.0, description="converter of a power bank")
    auto_off_a: Amps = Field(default=0.0, description="a power bank turns off below this current")
    worn_pct: Percent = Field(default=100.0, description="capacity left, if it is a used one")

    @field_validator("other_capacities_ah", mode="before")
    @classmethod
    def _by_hours(cls, raw: Any) -> Any:
        return hours_of_rates(raw)


class ControllerNameplate(Nameplate):
    """A solar charge controller, by its label and manual."""

    kind: Literal["pwm", "mppt"]
    rated_a: PositiveAmps = Field(description="charge current limit, battery side")
    bank_voltages: tuple[float, ...] = (12.0,)
    chemistries: tuple[Chemistry, ...] = ("flooded", "agm", "gel")
    max_pv_voc_v: PositiveVolts
    max_pv_isc_a: PositiveAmps | None = None
    max_pv_power_w_at_12v: PositiveWatts | None = Field(
        default=None, description="largest array the maker allows on a 12 V bank; scales with it"
    )
    start_headroom_v: float = Field(
        default=0.0, ge=0, description="MPPT: array volts above the battery it needs to work"
    )
    efficiency_pct: Percent = 97.0
    self_consumption_a: Amps = 0.010
    load_output_a: Amps = Field(default=0.0, description="0: no load terminals")
    disconnect_v: PositiveVolts = Field(default=11.1, description="for a 12 V bank, under load")
    reconnect_v: PositiveVolts = Field(default=12.6, description="for a 12 V bank")
    disconnect_delay_s: Seconds = Field(
        default=0.0, description="it waits so long; 3 s and more let any start pass"
    )
    absorption_v: PositiveVolts = Field(default=14.4, description="for a 12 V bank at 25 °C")
    absorption_h: float = Field(default=2.0, ge=0)
    float_v: PositiveVolts = Field(default=13.7, description="for a 12 V bank at 25 °C")
    equalise_v: PositiveVolts | None = None
    adjustable: bool = False
    temperature_sensor: bool = False
    temp_comp_mv_per_cell_k: MillivoltsPerKelvin = Field(
        default=-4.0, description="per 2 V cell; 0: none"
    )


class InverterNameplate(Nameplate):
    """A stand-alone inverter, by its label."""

    rated_w: PositiveWatts
    surge_w: PositiveWatts
    input_v: PositiveVolts = 12.0
    output_v: PositiveVolts = 230.0
    waveform: Literal["sine", "modified"] = "sine"
    idle_w: Watts
    search_w: Watts | None = Field(default=None, description="draw while waiting for a load")
    peak_efficiency_pct: Percent = 90.0
    rated_efficiency_pct: Percent = 85.0
    cutoff_v: PositiveVolts = Field(default=10.5, description="for a 12 V bank, under load")
    restart_v: PositiveVolts = Field(default=12.5, description="for a 12 V bank")


class ConverterNameplate(Nameplate):
    """A DC converter or USB adaptor."""

    input_min_v: PositiveVolts
    input_max_v: PositiveVolts
    output_v: PositiveVolts
    rated_w: PositiveWatts
    efficiency_pct: Percent = 88.0
    idle_w: Watts = 0.05
    plug: Literal["wired", "vehicle_socket"] = "wired"


AnyNameplate = (
    PanelNameplate | BatteryNameplate | ControllerNameplate | InverterNameplate | ConverterNameplate
)

"""A yard with one lamp and a few winters: a whole setting for the tests of this room."""

from __future__ import annotations

from functools import lru_cache
from typing import Any

from sunpantry.demand.demand import demand_of
from sunpantry.design.document import parse_design
from sunpantry.design.nameplates import (
    BatteryNameplate,
    Chemistry,
    ControllerNameplate,
    PanelNameplate,
)
from sunpantry.parts.system import Array, Bank, System
from sunpantry.simulate.setting import Setting
from sunpantry.sky.climate import climate_of
from sunpantry.sky.generator import weather_years
from sunpantry.sky.place import place_at

YEARS = 8
PANEL = PanelNameplate(
    name="20 W", power_w=20.0, voc_v=22.0, isc_a=1.23, vmp_v=18.0, imp_a=1.11, cells=36
)
CONTROLLER = ControllerNameplate(
    name="10 A", kind="pwm", rated_a=10.0, max_pv_voc_v=50.0, load_output_a=10.0,
    chemistries=("flooded", "agm", "gel", "lifepo4"), adjustable=True, temperature_sensor=True,
)  # fmt: skip
DESIGN = """
schema = 1
name = "Yard"
[site]
latitude = {latitude}
longitude = {longitude}
[[load]]
name = "Lamp"
power = "{load_w} W"
supply = "12 V"
hours_per_day = 24
importance = "must"
"""


@lru_cache(maxsize=4)
def yard(*, load_w: float = 0.8, latitude: float = 53.87, longitude: float = -9.33) -> Setting:
    """Eight winters, in the west of Ireland by default, with a lamp that always burns."""
    design = parse_design(DESIGN.format(load_w=load_w, latitude=latitude, longitude=longitude))
    place = place_at(latitude, longitude)
    climate = climate_of(place)
    weather = weather_years(climate, years=YEARS, seed=3)
    return Setting(climate, weather, demand_of(design, place, weather.grid))


def system_with(chemistry: Chemistry | None, *, housing: str = "house", **label: Any) -> System:
    """One panel, one controller, and a battery with this label, or none."""
    bank = None
    if chemistry is not None:
        volts = 12.8 if chemistry == "lifepo4" else 12.0
        label = {"calendar_life_years": label.pop("calendar_years", None), **label}
        battery = BatteryNameplate(name="battery", chemistry=chemistry, nominal_v=volts, **label)
        bank = Bank(battery, 1, 1, housing)
    array = Array(PANEL, 1, 1, (65.0,) * 12, 180.0)
    return System(12.0, (array,), bank, CONTROLLER)


def lead_system() -> System:
    """A battery that lives some three years and is too small in the darkest winters."""
    return system_with("agm", capacity_ah=14.0, cycles=500, cycle_depth_pct=50.0)

"""A small system at Carrowmoor, simulated for a few winters."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import pytest

from sunpantry.demand.demand import demand_of
from sunpantry.demand.series import Demand
from sunpantry.design.document import parse_design
from sunpantry.design.models import Design
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.system import Array, Bank, System
from sunpantry.simulate.proof import Proof, prove
from sunpantry.simulate.setting import Setting
from sunpantry.sky.from_site import SiteSky, sky_of

HUT = """
schema = 1
name = "Carrowmoor: lamp and radio"
winters = 4
[site]
latitude = 54.1
longitude = -9.2
[[load]]
name = "Lamp"
power = "8 W"
supply = "12 V"
from = "dusk"
until = "23:00"
importance = "must"
[[load]]
name = "Radio"
power = "15 W"
supply = "mains"
hours_per_day = 2
"""


@dataclass(frozen=True, eq=False)
class Told:
    """What an explanation reads of a plan."""

    design: Design
    sky: SiteSky
    demand: Demand
    system: System
    proof: Proof
    proof_new: Proof
    setting: Setting


@pytest.fixture(scope="session")
def hut() -> Told:
    """One panel of 100 W, 100 Ah of AGM, a PWM controller, a small inverter."""
    design = parse_design(HUT)
    sky = sky_of(design.site, years=design.winters, seed=1)
    demand = demand_of(design, sky.place, sky.weather.grid, library=())
    parts = shipped_catalogue()
    panel = next(one for one in parts.panels if one.power_w == 100.0 and one.vmp_v < 21.0)
    battery = next(
        one for one in parts.batteries if one.chemistry == "agm" and one.capacity_ah == 100.0
    )
    controller = next(one for one in parts.controllers if one.kind == "pwm" and one.rated_a == 10.0)
    inverter = next(one for one in parts.inverters if one.input_v == 12.0)
    setting = Setting(sky.climate, sky.weather, demand)
    system = System(
        12.0,
        (Array(panel, 1, 1, (65.0,) * 12, 180.0),),
        Bank(battery, 1, 1),
        controller,
        inverter,
    )
    promise = (0.0, 24.0, 200.0)
    worn = prove(setting, system, promise_h=promise, capacity_left=0.8)
    new = prove(setting, system, promise_h=promise)
    return Told(design, sky, demand, system, worn, new, setting)


@pytest.fixture(scope="session")
def with_system(hut: Told) -> Callable[[System], Told]:
    """The same hut with other parts; the proof stays that of the first."""

    def changed(system: System) -> Told:
        return replace(hut, system=system)

    return changed

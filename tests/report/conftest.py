"""Plans to show: a small hut with everything in it, one without a battery."""

from __future__ import annotations

import pytest

from sunpantry.demand.demand import demand_of
from sunpantry.design.document import parse_design
from sunpantry.design.models import Design
from sunpantry.figures import Figure, Given
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.resolve import resolve_kit
from sunpantry.parts.system import Array, Bank, System
from sunpantry.plan.parts_list import parts_of
from sunpantry.plan.types import Plan, SearchReport, Uncertain
from sunpantry.plan.wires import wiring_of
from sunpantry.simulate.proof import prove
from sunpantry.simulate.setting import Setting
from sunpantry.sizing.cost import Pricing
from sunpantry.sky.from_site import sky_of

HUT = """
schema = 1
name = "Carrowmoor: the hut with everything"
winters = 6
[site]
place = "Carrowmoor"
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
importance = "may"
"""
FAN = """
schema = 1
name = "Carrowmoor: a fan in the glasshouse"
winters = 6
[site]
place = "Carrowmoor"
latitude = 54.1
longitude = -9.2
[[load]]
name = "Fan"
power = "5 W"
supply = "12 V"
from = "10:00"
until = "16:00"
importance = "may"
"""


def plan_of(design: Design, setting: Setting, system: System, sky: object) -> Plan:
    """Put a plan together by hand, without the search."""
    from sunpantry.sky.from_site import SiteSky

    assert isinstance(sky, SiteSky)
    promise = (0.0, 24.0, 200.0)
    worn = prove(setting, system, promise_h=promise, capacity_left=0.8)
    new = prove(setting, system, promise_h=promise)
    kit = resolve_kit(design, shipped_catalogue(), south=False)
    life = None if new.life is None else new.life.years
    cost = Pricing.of(design, kit).cost(system, life_years=life)
    figure = Figure(
        "energy asked for each day", 59.3, "Wh", "sum of power × hours",
        (Given("Lamp", 29.3, "Wh"), Given("Radio", 30.0, "Wh")), "the design",
    )  # fmt: skip
    return Plan(
        design=design,
        sky=sky,
        demand=setting.demand,
        system=system,
        parts=parts_of(cost),
        verdict="No: two panels would do it.",
        verdict_if_darker="If your place is a tenth darker than the table, neither.",
        proof=worn,
        proof_new=new,
        proof_darker=worn,
        search=SearchReport(1, 1, False, False, False, "Every part was given."),
        frontier=(),
        cost=cost,
        findings=(),
        wiring=wiring_of(design, setting, system),
        workings=(figure,),
        uncertain=(Uncertain("Radio", 0.2, "Measure the radio first."),),
        notes=("The mean of a dark month is good to a tenth.",),
        seed=1,
        version="0.1.0",
        setting=setting,
    )


def _built(text: str, *, bank: bool) -> Plan:
    design = parse_design(text)
    sky = sky_of(design.site, years=design.winters, seed=1)
    demand = demand_of(design, sky.place, sky.weather.grid, library=())
    parts = shipped_catalogue()
    panel = next(one for one in parts.panels if one.power_w == 100.0 and one.vmp_v < 21.0)
    battery = next(
        one for one in parts.batteries if one.chemistry == "agm" and one.capacity_ah == 100.0
    )
    controller = next(one for one in parts.controllers if one.kind == "pwm" and one.rated_a == 10.0)
    inverter = next(one for one in parts.inverters if one.input_v == 12.0)
    system = System(
        12.0,
        (Array(panel, 1, 1, (65.0,) * 12, 180.0),),
        Bank(battery, 1, 1) if bank else None,
        controller if bank else None,
        inverter if bank else None,
    )
    setting = Setting(sky.climate, sky.weather, demand)
    return plan_of(design, setting, system, sky)


@pytest.fixture(scope="session")
def hut() -> Plan:
    """Panel, battery, controller, inverter; power is short in winter."""
    return _built(HUT, bank=True)


@pytest.fixture(scope="session")
def fan() -> Plan:
    """A fan that hangs on a panel."""
    return _built(FAN, bank=False)

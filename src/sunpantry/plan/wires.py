"""The inputs of the wiring, from what the plan knows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sunpantry.design.loads import IMPORTANCES
from sunpantry.design.models import Design
from sunpantry.parts.system import System
from sunpantry.simulate.bus import MAINS
from sunpantry.simulate.second_source import second_source_of
from sunpantry.simulate.setting import Setting
from sunpantry.wiring.inputs import LoadLine, WiringInputs

if TYPE_CHECKING:
    from sunpantry.wiring import WiringPlan

# Battery temperature that the winter set points are written for: what it stays above in
# all but the coldest twentieth of the hours of the dark half-year.
WINTER_SHARE = 0.05


def wiring_inputs(design: Design, setting: Setting, system: System) -> WiringInputs:
    """Everything the circuit is derived from.

    Parameters
    ----------
    design : Design
        Lengths of runs, mounting, prices.
    setting : Setting
        Temperatures and loads.
    system : System
        The parts.
    """
    housing = system.bank.housing if system.bank is not None else "shed"
    source = second_source_of(design.backup)
    charger_a = 0.0 if source is None else source.power_w / system.bank_v
    return WiringInputs(
        system=system,
        loads=tuple(
            LoadLine(
                name=load.name,
                supply=load.supply,
                power_w=load.peak_w,
                surge_w=load.surge_w if load.supply == MAINS else 0.0,
                importance=IMPORTANCES[load.importance],
                plug=load.plug,
                kind=load.kind,
            )
            for load in setting.demand.loads
        ),
        wiring=design.wiring,
        coldest_c=setting.climate.mean_annual_minimum_c,
        hottest_c=float(setting.weather.air_temperature_c.max()),
        winter_battery_c=float(np.quantile(setting.cells_c(housing), WINTER_SHARE)),
        energy_price=design.money.electricity_price,
        copper_years=design.money.years,
        currency=design.money.currency,
        mains_v=design.site.mains_v,
        charger_a=charger_a,
        on_roof=any(array.mounting == "roof" for array in design.arrays),
    )


def wiring_of(design: Design, setting: Setting, system: System) -> WiringPlan:
    """Wire a system; see :mod:`sunpantry.wiring`."""
    from sunpantry.wiring import wire

    return wire(wiring_inputs(design, setting, system))

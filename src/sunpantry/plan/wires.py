"""The inputs of the wiring, from what the plan knows."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sunpantry.design.loads import IMPORTANCES, SUPPLY_V
from sunpantry.design.models import Design
from sunpantry.parts.system import System
from sunpantry.simulate import layout as at
from sunpantry.simulate.proof import Proof
from sunpantry.simulate.second_source import second_source_of, standing_backup
from sunpantry.simulate.setting import Setting
from sunpantry.wiring.inputs import LoadLine, WiringInputs

if TYPE_CHECKING:
    from sunpantry.wiring import WiringPlan

# Battery temperature that the winter set points are written for: what it stays above in
# all but the coldest twentieth of the hours of the dark half-year.
WINTER_SHARE = 0.05


def wiring_inputs(
    design: Design, setting: Setting, system: System, *, proof: Proof | None = None
) -> WiringInputs:
    """Everything the circuit is derived from.

    Parameters
    ----------
    design : Design
        Lengths of runs, mounting, prices.
    setting : Setting
        Temperatures and loads.
    system : System
        The parts.
    proof : Proof, optional
        For the currents through the year; without it yearly losses are not told.
    """
    housing = system.bank.housing if system.bank is not None else "shed"
    backup = standing_backup(design)
    source = second_source_of(backup)
    charges = source is not None and not source.transfer
    charger_a = source.power_w / system.bank_v if source is not None and charges else 0.0
    return WiringInputs(
        system=system,
        loads=tuple(
            LoadLine(
                name=load.name,
                supply=load.supply,
                power_w=load.peak_w,
                surge_w=load.surge_w,
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
        mean_square_a2={} if proof is None else mean_squares(setting, system, proof),
        energy_price=design.money.electricity_price,
        copper_years=design.money.years,
        currency=design.money.currency,
        mains_v=design.site.mains_v,
        charger_a=charger_a,
        transfer_w=source.power_w if source is not None and source.transfer else 0.0,
        second_source=None if backup is None else backup.kind,
        inverter_fed_from="battery" if design.inverter is None else design.inverter.fed_from,
        vent_opening_cm2=None if design.battery is None else design.battery.vent_opening_cm2,
        on_roof=any(array.mounting == "roof" for array in design.arrays),
    )


def mean_squares(setting: Setting, system: System, proof: Proof) -> dict[str, float]:
    """Mean square of the current in each cable over the years [A²], by the cable's key.

    Parameters
    ----------
    setting : Setting
        Loads.
    system : System
        The parts.
    proof : Proof
        With its traces.
    """
    trace = proof.traces
    volts = np.maximum(trace[at.TR_VOLT], 0.5 * system.bank_v)
    found = {"main": float(np.mean(np.square(trace[at.TR_CURRENT])))}
    controllers = max(system.controller_count, 1)
    charged_a = trace[at.TR_PV] / volts / controllers
    for number in range(1, controllers + 1):
        found[f"controller {number}"] = float(np.mean(np.square(charged_a)))
    for number, array in enumerate(system.arrays, start=1):
        share = array.power_w / max(system.array_power_w, 1e-9)
        tracked = system.controller is None or system.controller.kind == "mppt"
        array_v = array.series * array.panel.vmp_v if tracked else volts
        found[f"array {number}"] = float(np.mean(np.square(trace[at.TR_PV] * share / array_v)))
    drawn_a = trace[at.TR_LOAD] / volts
    fed = "inverter" if system.inverter is not None else "board"
    found[fed] = float(np.mean(np.square(drawn_a)))
    for load in setting.demand.loads:
        supply_v = SUPPLY_V.get(load.supply)
        if supply_v is not None:
            found[f"load {load.name}"] = float(np.mean(np.square(load.power_w / supply_v)))
    return found


def wiring_of(
    design: Design, setting: Setting, system: System, *, proof: Proof | None = None
) -> WiringPlan:
    """Wire a system; see :mod:`sunpantry.wiring`."""
    from sunpantry.wiring import wire

    return wire(wiring_inputs(design, setting, system, proof=proof))

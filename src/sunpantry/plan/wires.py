"""The inputs of the wiring, from what the plan knows."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from sunpantry.demand.series import LoadSeries
from sunpantry.design.loads import IMPORTANCES, SUPPLY_V, Load
from sunpantry.design.models import Design
from sunpantry.match.finding import Finding
from sunpantry.parts.system import System
from sunpantry.simulate import layout as at
from sunpantry.simulate.proof import Proof
from sunpantry.simulate.second_source import second_source_of, standing_backup
from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import HOURS_PER_YEAR, FloatArray
from sunpantry.wiring.inputs import DirectLine, LoadLine, WiringInputs

if TYPE_CHECKING:
    from sunpantry.plan.direct_pump import DirectPump
    from sunpantry.wiring import WiringPlan

# A system of panels and pumps has no bank; where a voltage class is wanted all the same.
NO_BANK_V = 12.0

# Battery temperature that the winter set points are written for: what it stays above in
# all but the coldest twentieth of the hours of the dark half-year.
WINTER_SHARE = 0.05


def wiring_inputs(
    design: Design,
    setting: Setting,
    system: System,
    *,
    proof: Proof | None = None,
    direct: Sequence[DirectPump] = (),
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
    direct : sequence of DirectPump
        Pumps that hang straight on panels of their own.
    """
    housing = system.bank.housing if system.bank is not None else "shed"
    backup = standing_backup(design)
    source = second_source_of(backup)
    charges = source is not None and not source.transfer
    fences = {one.name for one in design.loads if _is_fence(one)}
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
                kind="fence" if load.name in fences else load.kind,
            )
            for load in setting.demand.loads
        ),
        wiring=design.wiring,
        direct=tuple(
            DirectLine(one.job.pump.name, one.array, one.job.pipe.power_w) for one in direct
        ),
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
        loads_fed_from="either" if design.controller is None else design.controller.loads_fed_from,
        vent_opening_cm2=None if design.battery is None else design.battery.vent_opening_cm2,
        on_roof=any(array.mounting == "roof" for array in design.arrays),
    )


def _is_fence(load: Load) -> bool:
    """Whether a load is a fence energiser, which is drawn as one."""
    return "fence" in f"{load.like or ''} {load.name}".casefold() and load.kind in (
        None,
        "electronics",
        "other",
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
    volts = np.maximum(trace[at.TR_VOLT], max(0.5 * system.bank_v, 1.0))
    main = float(np.mean(np.square(trace[at.TR_CURRENT])))
    found = {"main": main}
    if system.bank is not None:
        for number in range(1, system.bank.parallel + 1):
            found[f"battery {number}"] = main / system.bank.parallel**2
    controllers = max(system.controller_count, 1)
    tracked = system.controller is None or system.controller.kind == "mppt"
    array_v = max((one.series * one.panel.vmp_v for one in system.arrays), default=1.0)
    for number in range(1, controllers + 1):
        # Each controller takes an equal share of the panels.
        share_w = trace[at.TR_PV] / controllers
        found[f"controller {number}"] = _mean_square(share_w, volts)
        found[f"array {number}"] = _mean_square(share_w, array_v if tracked else volts)
    mains_share = _mains_share(setting, trace.shape[1])
    found["inverter"] = _mean_square(trace[at.TR_LOAD] * mains_share, volts)
    found["board"] = _mean_square(trace[at.TR_LOAD] * (1.0 - mains_share), volts)
    out_v = 230.0 if system.inverter is None else system.inverter.output_v
    found["mains"] = found["inverter out"] = _mean_square(trace[at.TR_LOAD] * mains_share, out_v)
    for load in setting.demand.loads:
        found[f"load {load.name}"] = _load_square(load, SUPPLY_V.get(load.supply, out_v))
    return found


def _mean_square(power_w: FloatArray, volts: FloatArray | float) -> float:
    return float(np.mean(np.square(power_w / volts)))


def _mains_share(setting: Setting, steps: int) -> FloatArray:
    """Share of what is asked for in each step that goes through the inverter [-]."""
    asked = np.zeros((2, setting.demand.grid.steps_per_year))
    waits = np.zeros(2)
    for load in setting.demand.loads:
        side = int(load.supply == "mains")
        asked[side] += load.power_w
        if load.flexible is not None:
            waits[side] += load.flexible.arrivals_wh.sum()
    # Where only jobs that wait can run, they are shared out as they arrive over the year.
    usual = waits[1] / waits.sum() if waits.sum() > 0.0 else 0.0
    both = asked.sum(axis=0)
    share = np.divide(asked[1], both, out=np.full_like(both, usual), where=both > 0.0)
    return np.resize(share, steps)


def _load_square(load: LoadSeries, supply_v: float) -> float:
    """Mean square of the current of one load [A²]: its full draw, for as long as it draws it."""
    grid = load.power_w
    yearly_wh = float(grid.sum()) * HOURS_PER_YEAR / grid.size
    peak_w = load.peak_w
    if load.flexible is not None:
        yearly_wh += float(load.flexible.arrivals_wh.sum())
        peak_w = max(peak_w, load.flexible.power_w)
    return yearly_wh / HOURS_PER_YEAR * peak_w / supply_v**2


def wiring_refusals(design: Design, setting: Setting, system: System) -> tuple[Finding, ...]:
    """Why the wiring forbids a system: cables and fuses that no size cures, loads left unfed.

    Parameters
    ----------
    design, setting, system
        The question and one answer to it.

    Returns
    -------
    tuple of Finding
        Empty for a system that may be proposed; see :func:`sunpantry.wiring.hard_findings`.
    """
    from sunpantry.wiring import hard_findings

    return hard_findings(wiring_inputs(design, setting, system))


def wiring_of(
    design: Design,
    setting: Setting,
    system: System,
    *,
    proof: Proof | None = None,
    direct: Sequence[DirectPump] = (),
) -> WiringPlan:
    """Wire a system, and the pumps beside it; see :mod:`sunpantry.wiring`."""
    from sunpantry.wiring import wire

    return wire(wiring_inputs(design, setting, system, proof=proof, direct=direct))


def wiring_of_pumps(design: Design, setting: Setting, direct: Sequence[DirectPump]) -> WiringPlan:
    """Wire pumps straight on panels, where there is nothing else."""
    return wiring_of(design, setting, System(NO_BANK_V, (), None, None), direct=direct)

"""Case and proof facts for the matching rules, and the inputs of the wiring."""

from __future__ import annotations

import numpy as np

from sunpantry.demand.series import Demand
from sunpantry.design.loads import IMPORTANCES
from sunpantry.design.models import Design
from sunpantry.match.case import Case, LoadFacts, ProofFacts, choices_of
from sunpantry.parts.system import System
from sunpantry.simulate import layout as at
from sunpantry.simulate.proof import Proof
from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import DAYS_PER_YEAR, MONTH_LENGTHS, FloatArray

# Cell over air at full sun on an open rack with a usual NOCT of 45 °C [K].
HOT_CELL_RISE_K = 31.0
FULL_CHARGE = 0.98
CHARGE_LEVELS = (0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0)


def load_facts(demand: Demand) -> tuple[LoadFacts, ...]:
    """Loads as the rules look at them."""
    days = np.array(MONTH_LENGTHS, dtype=np.float64)
    return tuple(
        LoadFacts(
            name=load.name,
            supply=load.supply,
            power_w=load.peak_w / load.quantity,
            surge_w=load.surge_w - load.peak_w * (load.quantity - 1) / load.quantity,
            kind=load.kind,
            plug=load.plug,
            importance=IMPORTANCES[load.importance],
            quantity=load.quantity,
            energy_wh_day=tuple((demand.monthly_wh(load) / days).tolist()),
        )
        for load in demand.loads
    )


def peaks_of(demand: Demand) -> tuple[tuple[str, float], ...]:
    """Highest power asked at once from each supply [W], without starting surges."""
    found = []
    for supply in demand.supplies():
        running = np.zeros(demand.grid.steps_per_year)
        for load in demand.loads:
            if load.supply == supply:
                running += load.running * load.peak_w
        found.append((supply, float(running.max())))
    return tuple(found)


def case_of(
    design: Design, setting: Setting, system: System, *, proof: Proof | None = None
) -> Case:
    """Everything the matching rules may look at."""
    climate = setting.climate
    return Case(
        system=system,
        coldest_c=climate.mean_annual_minimum_c,
        never_colder_c=climate.never_colder_c,
        hottest_cell_c=hottest_cell_c(setting),
        loads=load_facts(setting.demand),
        peaks_w=peaks_of(setting.demand),
        mains_v=design.site.mains_v,
        choices=choices_of(design),
        proof=None if proof is None else proof_facts(setting, system, proof),
    )


def hottest_cell_c(setting: Setting) -> float:
    """Cells at full sun in the hottest hour of all years [°C]."""
    return float(setting.weather.air_temperature_c.max()) + HOT_CELL_RISE_K


def proof_facts(setting: Setting, system: System, proof: Proof) -> ProofFacts:
    """What the rules want to know of the simulated winters."""
    if system.bank is None:
        return ProofFacts()
    charge = proof.traces[at.TR_SOC]
    cells = setting.cells_c(system.bank.housing)[: charge.size]
    audit = proof.audit
    offered = audit.gathered_wh + audit.spilled_wh
    drawn = audit.served_wh + audit.inverter_wh
    clipped, clipped_when_wanted = _clipped(setting, system, proof)
    return ProofFacts(
        lowest_soc=float(charge.min()),
        coldest_battery_c=float(cells.min()),
        coldest_below=_coldest_below(charge, cells),
        full_days_by_month=_full_days(charge, setting),
        hours_below_40_per_year=proof.low_hours_per_year,
        typical_depth=_typical_depth(charge, setting),
        refused_cold_h_per_year=proof.refused_cold_h_per_year,
        idle_share=_idle_share(setting, system, drawn),
        clipped_share=clipped,
        clipped_when_wanted=clipped_when_wanted,
        spilled_share=audit.spilled_wh / offered if offered > 0.0 else None,
    )


def _coldest_below(charge: FloatArray, cells: FloatArray) -> tuple[tuple[float, float], ...]:
    found = []
    for level in CHARGE_LEVELS:
        below = charge < level
        if below.any():
            found.append((level, float(cells[below].min())))
    return tuple(found)


def _by_day(charge: FloatArray, setting: Setting) -> FloatArray:
    """Charge as days, shape (years, 365, steps a day)."""
    return charge.reshape(setting.years, DAYS_PER_YEAR, -1)


def _full_days(charge: FloatArray, setting: Setting) -> tuple[float, ...]:
    full = (_by_day(charge, setting).max(axis=2) >= FULL_CHARGE).mean(axis=0)
    month = setting.month_of[:: setting.weather.grid.steps_per_day]
    return tuple(np.bincount(month, weights=full, minlength=12).tolist())


def _clipped(setting: Setting, system: System, proof: Proof) -> tuple[float | None, float | None]:
    """Share of the array's energy that an MPPT controller's limits cut off [-].

    Returns
    -------
    all_year, when_wanted : float or None
        Over all days, and over the days on which the bank did not get full.
    """
    controller = system.controller
    if controller is None or controller.kind != "mppt":
        return None, None
    trace, count = proof.traces, system.controller_count
    passed_w = controller.rated_a * count * trace[at.TR_VOLT]
    if controller.max_pv_power_w_at_12v is not None:
        most_w = controller.max_pv_power_w_at_12v * system.bank_v / 12.0 * count
        passed_w = np.minimum(passed_w, most_w)
    offered_w = trace[at.TR_OFFERED]
    cut_w = np.maximum(offered_w - passed_w / (controller.efficiency_pct / 100.0), 0.0)
    short = _by_day(trace[at.TR_SOC], setting).max(axis=2) < FULL_CHARGE
    offered, cut = (_by_day(each, setting).sum(axis=2) for each in (offered_w, cut_w))
    return _share(cut.sum(), offered.sum()), _share(cut[short].sum(), offered[short].sum())


def _share(part: float, whole: float) -> float:
    return float(part / whole) if whole > 0.0 else 0.0


def _typical_depth(charge: FloatArray, setting: Setting) -> float:
    days = _by_day(charge, setting)
    return float(np.median(days.max(axis=2) - days.min(axis=2)))


def _idle_share(setting: Setting, system: System, drawn_wh: float) -> float | None:
    inverter = system.inverter
    if inverter is None or drawn_wh <= 0.0:
        return None
    steps = setting.loads(system).steps
    ac = steps[:, at.L_AC : at.L_AC + 3].sum(axis=1)
    idle_h = float((steps[:, at.L_IDLE] * (ac <= 0.0)).sum()) * setting.step_h
    idle_w = inverter.idle_w if inverter.search_w is None else inverter.search_w
    return min(idle_h * idle_w / drawn_wh, 1.0)

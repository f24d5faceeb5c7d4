"""A plan of pumps straight on panels, told in the same terms as one with a battery.

The tank stands where the battery stands: its content is the state of charge, an hour
without water is an hour without power.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from sunpantry.design.loads import IMPORTANCES
from sunpantry.parts.system import System
from sunpantry.plan.direct_pump import DirectPump
from sunpantry.simulate import layout as at
from sunpantry.simulate.load_proof import LoadProof
from sunpantry.simulate.proof import (
    DARK_H,
    Audit,
    MonthProof,
    Proof,
    WinterProof,
)
from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import MONTH_LENGTHS, FloatArray


def system_of_pumps(pumps: Sequence[DirectPump]) -> System:
    """Panels alone: no bank, no controller."""
    return System(0.0, tuple(one.array for one in pumps), None, None)


def proof_of_pumps(
    setting: Setting, pumps: Sequence[DirectPump], promise_h: tuple[float, float, float]
) -> Proof:
    """Sum up all years of pumps straight on panels.

    Parameters
    ----------
    setting : Setting
        The sky.
    pumps : sequence of DirectPump
        With their runs.
    promise_h : tuple of float
        Acceptable hours a year for must, should, may [h].

    Returns
    -------
    Proof
        Energies are those at the pumps; water missing counts by the energy it would have
        taken at full power. The state of charge is the content of the emptiest tank.
    """
    years, step_h = setting.years, setting.step_h
    traces = _traces(pumps)
    asked = np.zeros((at.CLASSES, traces.shape[1]))
    missing = np.zeros_like(asked)
    for one in pumps:
        wh_per_l = one.job.pipe.wh_per_l
        asked[one.job.importance] += np.tile(one.job.tank.drawn_l, years) * wh_per_l
        missing[one.job.importance] += one.run.tank.missing_l * wh_per_l
    lost = np.divide(missing, asked, out=np.zeros_like(asked), where=asked > 0.0)
    traces[at.TR_MUST : at.TR_MUST + at.CLASSES] = 1.0 - lost
    traces[at.TR_UNSERVED] = missing.sum(axis=0) / step_h
    hours = lost.reshape(at.CLASSES, years, -1).sum(axis=2) * step_h
    worst = lost.max(axis=0)
    by_class = hours.mean(axis=1)
    whole = float(asked.sum())
    return Proof(
        winters=years,
        winters_without_shortfall=int((hours.max(axis=0) <= DARK_H).sum()),
        winters_kept=int((hours <= np.array(promise_h)[:, None] + DARK_H).all(axis=0).sum()),
        hours_without_power_per_year=float(worst.sum()) * step_h / years,
        hours_without_by_class=(float(by_class[0]), float(by_class[1]), float(by_class[2])),
        unserved_fraction=float(missing.sum()) / whole if whole else 0.0,
        longest_gap_h=_longest_gap_h(worst, asked.sum(axis=0), step_h),
        longest_must_gap_h=_longest_gap_h(lost[0], asked[0], step_h),
        capacity_left=1.0,
        months=_months(setting, traces, worst),
        winter_list=_winters(traces, worst, years, step_h),
        loads=tuple(_load_proof(one, years, step_h) for one in pumps),
        audit=_audit(traces, years, step_h),
        life=None,
        full_day_share=float(
            (traces[at.TR_SOC].reshape(years * 365, -1).max(axis=1) > 0.98).mean()
        ),
        low_hours_per_year=float((traces[at.TR_SOC] < 0.4).sum()) * step_h / years,
        gassing_ah_per_year=0.0,
        topping_up=None,
        refused_cold_h_per_year=0.0,
        disconnects_per_year=0.0,
        traces=traces,
    )


def _traces(pumps: Sequence[DirectPump]) -> FloatArray:
    steps = pumps[0].run.offered_w.size
    traces = np.zeros((at.TRACE_COLUMNS, steps))
    traces[at.TR_SOC] = np.min([one.run.tank.share for one in pumps], axis=0)
    traces[at.TR_OFFERED] = np.sum([one.run.offered_w for one in pumps], axis=0)
    traces[at.TR_PV] = traces[at.TR_LOAD] = np.sum([one.run.taken_w for one in pumps], axis=0)
    return traces


def _longest_gap_h(lost: FloatArray, asked: FloatArray, step_h: float) -> float:
    """Longest clock time from a shortage until full service."""
    longest, gap = 0, 0
    for short, wanted in zip((lost > 0.0).tolist(), (asked > 0.0).tolist(), strict=True):
        if short or (gap and not wanted):
            gap += 1
            longest = max(longest, gap)
        else:
            gap = 0
    return longest * step_h


def _months(setting: Setting, traces: FloatArray, worst: FloatArray) -> tuple[MonthProof, ...]:
    years, step_h = setting.years, setting.step_h
    month_of = np.tile(setting.month_of, years)
    found = []
    for number, length in enumerate(MONTH_LENGTHS):
        mine = month_of == number
        a_day = step_h / (length * years)
        found.append(
            MonthProof(
                month=number + 1,
                offered_wh=float(traces[at.TR_OFFERED, mine].sum()) * a_day,
                gathered_wh=float(traces[at.TR_PV, mine].sum()) * a_day,
                served_wh=float(traces[at.TR_LOAD, mine].sum()) * a_day,
                unserved_wh=float(traces[at.TR_UNSERVED, mine].sum()) * a_day,
                hours_without=float(worst[mine].sum()) * step_h / years,
                lowest_charge=float(traces[at.TR_SOC, mine].min()),
                mean_charge=float(traces[at.TR_SOC, mine].mean()),
            )
        )
    return tuple(found)


def _winters(
    traces: FloatArray, worst: FloatArray, years: int, step_h: float
) -> tuple[WinterProof, ...]:
    hours = worst.reshape(years, -1).sum(axis=1) * step_h
    missing = traces[at.TR_UNSERVED].reshape(years, -1).sum(axis=1) * step_h
    lowest = traces[at.TR_SOC].reshape(years, -1).min(axis=1)
    return tuple(
        WinterProof(
            number=year + 1,
            hours_without=float(hours[year]),
            unserved_wh=float(missing[year]),
            lowest_charge=float(lowest[year]),
            backup_h=0.0,
            backup_starts=0.0,
            backup_wh=0.0,
        )
        for year in range(years)
    )


def _load_proof(one: DirectPump, years: int, step_h: float) -> LoadProof:
    tank, wh_per_l = one.run.tank, one.job.pipe.wh_per_l
    taken_wh = float(one.run.taken_w.sum()) * step_h / years
    running = np.concatenate(([0.0], np.cumsum(tank.missing_l * wh_per_l)))
    week = round(7 * 24 / step_h)
    return LoadProof(
        name=one.job.pump.name,
        importance=IMPORTANCES[one.job.importance],
        energy_wh_per_year=tank.asked_l_per_year * wh_per_l,
        delivered_wh_per_year=taken_wh,
        drawn_wh_per_year=taken_wh,
        unserved_wh_per_year=tank.missing_l_per_year * wh_per_l,
        hours_without_per_year=tank.dry_hours_per_year,
        worst_week_wh=float((running[week:] - running[:-week]).max(initial=0.0)),
        uses_missed_per_year=None,
    )


def _audit(traces: FloatArray, years: int, step_h: float) -> Audit:
    taken = float(traces[at.TR_PV].sum()) * step_h / years
    offered = float(traces[at.TR_OFFERED].sum()) * step_h / years
    return Audit(
        gathered_wh=taken,
        brought_in_wh=0.0,
        conversion_wh=0.0,
        own_wh=0.0,
        served_wh=taken,
        inverter_wh=0.0,
        ohmic_wh=0.0,
        side_reactions_wh=0.0,
        gassing_wh=0.0,
        self_discharge_wh=0.0,
        stored_wh=0.0,
        residual_wh=0.0,
        spilled_wh=offered - taken,
    )

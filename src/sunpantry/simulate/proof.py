"""What the years showed of one system: the numbers a promise rests on."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sunpantry.parts.system import System
from sunpantry.physics.ageing import BatteryLife
from sunpantry.simulate import layout as at
from sunpantry.simulate.life import ToppingUp, life_of, topping_up
from sunpantry.simulate.load_proof import LoadProof, given_up, load_proofs
from sunpantry.simulate.run import Runs, run_systems
from sunpantry.simulate.second_source import SecondSource
from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import MONTH_LENGTHS, FloatArray

# A class with less than this share of a year's hours unserved in all winters kept its word.
DARK_H = 1e-6
WORST_WINTERS = 5


@dataclass(frozen=True)
class MonthProof:
    """One calendar month, mean over all years, energies a day.

    Parameters
    ----------
    month : int
        1…12.
    offered_wh, gathered_wh, served_wh, unserved_wh : float
        A day [Wh]: what the array could give, what was taken, delivered, missing.
    hours_without : float
        In the whole month [h].
    lowest_charge, mean_charge : float
        State of charge: lowest in any year, and mean [-].
    """

    month: int
    offered_wh: float
    gathered_wh: float
    served_wh: float
    unserved_wh: float
    hours_without: float
    lowest_charge: float
    mean_charge: float


@dataclass(frozen=True)
class WinterProof:
    """One year of the run, from midsummer to midsummer.

    Parameters
    ----------
    number : int
        1 for the first.
    hours_without : float
        Hours in which anything was short of power, weighted by the share missing [h].
    unserved_wh : float
        Energy asked for and not delivered [Wh].
    lowest_charge : float
        Lowest state of charge [-].
    backup_h, backup_starts, backup_wh : float
        Hours [h], starts and energy [Wh] of the second source.
    """

    number: int
    hours_without: float
    unserved_wh: float
    lowest_charge: float
    backup_h: float
    backup_starts: float
    backup_wh: float


@dataclass(frozen=True)
class Audit:
    """Where the energy went, mean of a year [Wh]; ``residual_wh`` is rounding.

    gathered + brought in = conversion + own + served + inverter + ohmic + side reactions
    + gassing + self-discharge + stored.
    """

    gathered_wh: float
    brought_in_wh: float
    conversion_wh: float
    own_wh: float
    served_wh: float
    inverter_wh: float
    ohmic_wh: float
    side_reactions_wh: float
    gassing_wh: float
    self_discharge_wh: float
    stored_wh: float
    residual_wh: float
    spilled_wh: float


@dataclass(frozen=True, eq=False)
class Proof:
    """What all the winters showed.

    Parameters
    ----------
    winters, winters_without_shortfall, winters_kept : int
        Run; without any shortfall; in which every class stayed within its promise.
    hours_without_power_per_year : float
        Mean over years, anything short [h].
    hours_without_by_class : tuple of float
        Must, should, may [h/year].
    unserved_fraction : float
        Energy missing over energy asked for [-].
    longest_gap_h, longest_must_gap_h : float
        Longest clock time until full service came back [h].
    capacity_left : float
        Of the battery during the run [-].
    months, winter_list, loads, audit, life
        See their classes; ``life`` is ``None`` without a bank.
    gassing_ah_per_year, topping_up
        Charge of the bank that made gas [Ah/year], and the water that this takes; ``None``
        where nothing can be topped up.
    full_days : tuple of float
        Share of days on which the bank got full, whole run [-] (one number).
    traces : numpy.ndarray, shape (TRACE_COLUMNS + 2 for each load that can wait, steps)
        Step by step, columns by :mod:`sunpantry.simulate.layout`.
    """

    winters: int
    winters_without_shortfall: int
    winters_kept: int
    hours_without_power_per_year: float
    hours_without_by_class: tuple[float, float, float]
    unserved_fraction: float
    longest_gap_h: float
    longest_must_gap_h: float
    capacity_left: float
    months: tuple[MonthProof, ...]
    winter_list: tuple[WinterProof, ...]
    loads: tuple[LoadProof, ...]
    audit: Audit
    life: BatteryLife | None
    full_day_share: float
    low_hours_per_year: float
    gassing_ah_per_year: float
    topping_up: ToppingUp | None
    refused_cold_h_per_year: float
    disconnects_per_year: float
    traces: FloatArray

    def without_traces(self) -> Proof:
        """Return the same without its steps, the largest thing in it."""
        # a copy: a view would keep the whole array
        return replace(self, traces=self.traces[:, :0].copy())

    @property
    def worst_winters(self) -> tuple[WinterProof, ...]:
        """Winters with most hours without power, then with the lowest charge, worst first."""
        ranked = sorted(
            self.winter_list, key=lambda one: (-one.hours_without, one.lowest_charge, one.number)
        )
        return tuple(ranked[:WORST_WINTERS])


def prove(
    setting: Setting,
    system: System,
    *,
    promise_h: tuple[float, float, float],
    capacity_left: float = 1.0,
    second_source: SecondSource | None = None,
) -> Proof:
    """Run one system through every year and sum up.

    Parameters
    ----------
    setting : Setting
        Sky and demand.
    system : System
        The system.
    promise_h : tuple of float
        Acceptable hours a year without power for must, should, may [h].
    capacity_left : float
        Of the battery: 1 new, 0.8 worn out [-].
    second_source : SecondSource, optional
        What helps out.

    Returns
    -------
    Proof
    """
    runs = run_systems(
        setting, [system], capacity_left=capacity_left, traced=(0,), second_source=second_source
    )
    return proof_of(setting, system, runs, promise_h=promise_h, capacity_left=capacity_left)


def proof_of(
    setting: Setting,
    system: System,
    runs: Runs,
    *,
    promise_h: tuple[float, float, float],
    capacity_left: float,
) -> Proof:
    """Sum up the traced run of one system; see :func:`prove`."""
    yearly, totals, years = runs.yearly[0], runs.totals[0], runs.years
    hours = yearly[:, at.Y_HOURS : at.Y_HOURS + 3]
    unserved = yearly[:, at.Y_UNSERVED : at.Y_UNSERVED + 3]
    asked = yearly[:, at.Y_ASKED : at.Y_ASKED + 3].sum()
    dark = hours.max(axis=1) > DARK_H
    kept = np.all(hours <= np.array(promise_h) + DARK_H, axis=1)
    by_class = hours.mean(axis=0)
    trace = runs.traces[0]
    bank, life = system.bank, None
    gassing_ah = float(totals[at.T_GAS_AH] / years)
    if bank is not None:
        cells_c = setting.cells_c(bank.housing)
        life = life_of(bank, totals, cells_c, years=years, capacity_left=capacity_left)
    return Proof(
        winters=years,
        winters_without_shortfall=int(years - dark.sum()),
        winters_kept=int(kept.sum()),
        hours_without_power_per_year=float(yearly[:, at.Y_ANY_HOURS].mean()),
        hours_without_by_class=(float(by_class[0]), float(by_class[1]), float(by_class[2])),
        unserved_fraction=float(unserved.sum() / asked) if asked > 0.0 else 0.0,
        longest_gap_h=float(totals[at.T_LONGEST_GAP]),
        longest_must_gap_h=float(totals[at.T_LONGEST_MUST_GAP]),
        capacity_left=capacity_left,
        months=_months(_with_queues(setting, system, runs.monthly[0], trace), years),
        winter_list=_winters(yearly),
        loads=load_proofs(setting.demand, system, trace, years),
        audit=audit_of(totals, years),
        life=life,
        full_day_share=float(yearly[:, at.Y_FULL_DAYS].mean() / 365.0),
        low_hours_per_year=float(totals[at.T_LOW_H] / years),
        gassing_ah_per_year=gassing_ah,
        topping_up=None if bank is None else topping_up(bank, gassing_ah),
        refused_cold_h_per_year=float(totals[at.T_FROZEN_H] / years),
        disconnects_per_year=float(totals[at.T_TRIPS] / years),
        traces=trace,
    )


def audit_of(totals: FloatArray, years: int) -> Audit:
    """Energy audit of one run, mean of a year; the residual is what rounding left over."""
    served = float(totals[at.T_SERVED : at.T_SERVED + 3].sum())
    stored = float(totals[at.T_STORED_LAST] - totals[at.T_STORED_FIRST])
    out = (
        totals[at.T_CONVERSION]
        + totals[at.T_OWN]
        + served
        + totals[at.T_INVERTER]
        + totals[at.T_OHMIC]
        + totals[at.T_COULOMBIC]
        + totals[at.T_GAS]
        + totals[at.T_LEAK]
        + stored
    )
    brought = totals[at.T_GATHERED] + totals[at.T_BACKUP]
    return Audit(
        gathered_wh=float(totals[at.T_GATHERED]) / years,
        brought_in_wh=float(totals[at.T_BACKUP]) / years,
        conversion_wh=float(totals[at.T_CONVERSION]) / years,
        own_wh=float(totals[at.T_OWN]) / years,
        served_wh=served / years,
        inverter_wh=float(totals[at.T_INVERTER]) / years,
        ohmic_wh=float(totals[at.T_OHMIC]) / years,
        side_reactions_wh=float(totals[at.T_COULOMBIC]) / years,
        gassing_wh=float(totals[at.T_GAS]) / years,
        self_discharge_wh=float(totals[at.T_LEAK]) / years,
        stored_wh=stored / years,
        residual_wh=float(brought - out) / years,
        spilled_wh=float(totals[at.T_OFFERED] - totals[at.T_GATHERED]) / years,
    )


def _months(monthly: FloatArray, years: int) -> tuple[MonthProof, ...]:
    found = []
    for number, (row, length) in enumerate(zip(monthly, MONTH_LENGTHS, strict=True)):
        days = length * years
        found.append(
            MonthProof(
                month=number + 1,
                offered_wh=float(row[at.M_OFFERED]) / days,
                gathered_wh=float(row[at.M_GATHERED]) / days,
                served_wh=float(row[at.M_SERVED]) / days,
                unserved_wh=float(row[at.M_UNSERVED]) / days,
                hours_without=float(row[at.M_HOURS]) / years,
                lowest_charge=float(row[at.M_LOWEST]),
                mean_charge=float(row[at.M_SOC] / max(row[at.M_STEPS], 1.0)),
            )
        )
    return tuple(found)


def _with_queues(
    setting: Setting, system: System, monthly: FloatArray, trace: FloatArray
) -> FloatArray:
    """Add what loads that can wait gave up to the months it happened in."""
    whole, years = monthly.copy(), trace.shape[1] // setting.month_of.size
    month_of = np.tile(setting.month_of, years)
    for lost_wh, lost_h in given_up(setting.demand, system, trace, years):
        whole[:, at.M_UNSERVED] += np.bincount(month_of, weights=lost_wh, minlength=12)
        whole[:, at.M_HOURS] += np.bincount(month_of, weights=lost_h, minlength=12)
    return whole


def _winters(yearly: FloatArray) -> tuple[WinterProof, ...]:
    return tuple(
        WinterProof(
            number=number + 1,
            hours_without=float(row[at.Y_ANY_HOURS]),
            unserved_wh=float(row[at.Y_UNSERVED : at.Y_UNSERVED + 3].sum()),
            lowest_charge=float(row[at.Y_LOWEST]),
            backup_h=float(row[at.Y_BACKUP_H]),
            backup_starts=float(row[at.Y_BACKUP_STARTS]),
            backup_wh=float(row[at.Y_BACKUP_WH]),
        )
        for number, row in enumerate(yearly)
    )

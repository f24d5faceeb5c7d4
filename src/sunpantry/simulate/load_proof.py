"""What the years showed of each load."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from sunpantry.demand.series import Demand, Flexible, LoadSeries
from sunpantry.design.loads import IMPORTANCES
from sunpantry.parts.system import System
from sunpantry.simulate import layout as at
from sunpantry.simulate.bus import supply_efficiency
from sunpantry.timegrid import FloatArray

USUALLY = 0.99


@dataclass(frozen=True)
class LoadProof:
    """One load over all years.

    Parameters
    ----------
    name, importance : str
        As in the document.
    energy_wh_per_year, delivered_wh_per_year : float
        Asked for and delivered at the load's own terminals [Wh/year].
    drawn_wh_per_year : float
        The same where it leaves the battery or the inverter, a converter's loss included;
        over all loads this is ``Audit.served_wh`` [Wh/year].
    unserved_wh_per_year, hours_without_per_year : float
        Missing [Wh/year], [h/year].
    worst_week_wh : float
        Most energy missing in any seven days [Wh].
    uses_missed_per_year : float or None
        Jobs not done by their deadline, for loads that can wait.
    uses_waiting : int or None
        Jobs that wait at once, all but one hour in a hundred: so many empty packs, or
        baskets of washing, stand about beside those in use.
    """

    name: str
    importance: str
    energy_wh_per_year: float
    delivered_wh_per_year: float
    drawn_wh_per_year: float
    unserved_wh_per_year: float
    hours_without_per_year: float
    worst_week_wh: float
    uses_missed_per_year: float | None
    uses_waiting: int | None = None


def load_proofs(
    demand: Demand, system: System, trace: FloatArray, years: int
) -> tuple[LoadProof, ...]:
    """What each load got, from the traces of a run.

    Parameters
    ----------
    demand : Demand
        What was asked.
    system : System
        Its ways of feeding the loads.
    trace : numpy.ndarray, shape (columns, steps)
        Columns by :mod:`sunpantry.simulate.layout`.
    years : int
        Years run.
    """
    found, column = [], at.TRACE_COLUMNS
    for load in demand.loads:
        queue = None
        if load.flexible is not None:
            queue = trace[column : column + at.TRACE_QUEUE_COLUMNS]
            column += at.TRACE_QUEUE_COLUMNS
        efficiency = supply_efficiency(load.supply, system)
        found.append(_load_proof(load, demand, trace, queue, efficiency=efficiency, years=years))
    return tuple(found)


def _load_proof(
    load: LoadSeries,
    demand: Demand,
    trace: FloatArray,
    queue: FloatArray | None,
    *,
    efficiency: float,
    years: int,
) -> LoadProof:
    """Loads of one class go short together; jobs that can wait are counted by deadline."""
    step_h = demand.grid.step_h
    served_share = trace[at.TR_MUST + load.importance].reshape(years, -1)
    missing_wh = ((1.0 - served_share) * (load.power_w * step_h)).reshape(-1)
    delivered_wh = float((served_share * (load.power_w * step_h)).sum())
    hours = float(((1.0 - served_share) * (load.power_w > 0.0)).sum()) * step_h
    missed, waiting = None, None
    jobs = load.flexible
    if jobs is not None and queue is not None:
        given_up_wh = queue[at.TR_GIVEN_UP] * efficiency
        missing_wh = missing_wh + given_up_wh
        delivered_wh += float(queue[at.TR_DONE].sum()) * step_h * efficiency
        hours += float(hours_given_up(jobs, given_up_wh, years, step_h).sum())
        if jobs.job_wh > 0.0:
            missed = float(given_up_wh.sum()) / jobs.job_wh / years
            done_wh = (queue[at.TR_DONE] * step_h * efficiency) + given_up_wh
            waiting_wh = np.cumsum(np.tile(jobs.arrivals_wh, years) - done_wh)
            usual = float(np.quantile(waiting_wh, USUALLY)) / jobs.job_wh
            waiting = math.ceil(usual * load.quantity - 1e-6)
    week = round(7 * 24 / step_h)
    running = np.concatenate(([0.0], np.cumsum(missing_wh)))
    return LoadProof(
        name=load.name,
        importance=IMPORTANCES[load.importance],
        energy_wh_per_year=demand.yearly_wh(load),
        delivered_wh_per_year=delivered_wh / years,
        drawn_wh_per_year=delivered_wh / efficiency / years,
        unserved_wh_per_year=float(missing_wh.sum()) / years,
        hours_without_per_year=hours / years,
        worst_week_wh=float((running[week:] - running[:-week]).max(initial=0.0)),
        uses_missed_per_year=missed,
        uses_waiting=waiting,
    )


def hours_given_up(
    jobs: Flexible, given_up_wh: FloatArray, years: int, step_h: float
) -> FloatArray:
    """Hours that stand for what a queue gave up, step by step [h].

    Hours of work for jobs, share of the draw that was missing for a store.
    """
    if jobs.holds_wh <= 0.0:
        return given_up_wh / jobs.power_w
    asked_wh = np.tile(jobs.arrivals_wh, years)
    lost = np.divide(given_up_wh, asked_wh, out=np.zeros_like(asked_wh), where=asked_wh > 0.0)
    return lost * step_h


def given_up(
    demand: Demand, system: System, trace: FloatArray, years: int
) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Energy at the bus [Wh] and hours [h] that each queue gave up, step by step."""
    column = at.TRACE_COLUMNS + at.TR_GIVEN_UP
    for load in demand.loads:
        if load.flexible is not None:
            lost_wh = trace[column]
            column += at.TRACE_QUEUE_COLUMNS
            terminal_wh = lost_wh * supply_efficiency(load.supply, system)
            yield lost_wh, hours_given_up(load.flexible, terminal_wh, years, demand.grid.step_h)

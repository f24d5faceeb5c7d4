"""From a design to what its loads ask for, step by step."""

from __future__ import annotations

import numpy as np

from sunpantry.demand.civil import CivilYear
from sunpantry.demand.habits import Spans, arrivals_of, mean_use_w, spans_of
from sunpantry.demand.library import LibraryLoad, complete_loads, for_latitude, load_library
from sunpantry.demand.series import BoolArray, Demand, Flexible, LoadSeries, OwnBattery
from sunpantry.demand.water_jobs import pump_jobs, pump_series
from sunpantry.design.loads import IMPORTANCES, Load
from sunpantry.design.models import Design
from sunpantry.design.moments import HOURS_PER_DAY, parse_moment
from sunpantry.errors import InputError, Problem
from sunpantry.phrases import phrase
from sunpantry.sky.place import Place
from sunpantry.timegrid import DAYS_PER_YEAR, FloatArray, TimeGrid


def demand_of(
    design: Design,
    place: Place,
    grid: TimeGrid,
    *,
    seed: int | None = None,
    library: tuple[LibraryLoad, ...] | None = None,
) -> Demand:
    """Lay every load of a design into the steps of the year.

    Parameters
    ----------
    design : Design
        The loads and their habits, in the civil time of the place.
    place : Place
        Where: its time zone, and the sun for dusk and dawn.
    grid : TimeGrid
        Steps of the year.
    seed : int, optional
        Seed of the random moments of bursts; that of the design by default.
    library : tuple of LibraryLoad, optional
        What ``like`` looks into; the shipped library by default.

    Returns
    -------
    Demand
        Energy exact in every step: a window that cuts a step gives its share.

    Raises
    ------
    InputError
        When a load, once completed from the library, contradicts itself, or its window
        never opens at this place.
    """
    northern = load_library() if library is None else library
    entries = for_latitude(northern, place.latitude)
    civil = CivilYear.of(place, grid)
    series, problems = [], []
    for position, (load, typical) in enumerate(complete_loads(design.loads, entries)):
        one = _series(load, civil, seed=design.seed if seed is None else seed, typical=typical)
        if not one.running.any() and one.flexible is None:
            problems.append(_never_works(load, position))
        series.append(one)
    if problems:
        raise InputError(problems)
    pumps = pump_jobs(design, civil)
    series += [pump_series(job, civil) for job in pumps if not job.is_direct]
    return Demand(grid, tuple(series), pumps)


def window_share(civil: CivilYear, from_: str, until: str) -> FloatArray:
    """Share of each step that lies in a daily window.

    Parameters
    ----------
    civil : CivilYear
        The year at the place.
    from_, until : str
        Moments as in the document.

    Returns
    -------
    ndarray, shape (steps_per_year,)
        0 to 1.
    """
    spans = civil.window(parse_moment(from_), parse_moment(until), civil.days())
    return np.minimum(civil.lay(*spans), 1.0)


def _series(load: Load, civil: CivilYear, *, seed: int, typical: tuple[str, ...]) -> LoadSeries:
    work_w = max(load.power_w or 0.0, mean_use_w(load))
    spans = spans_of(load, civil, seed=seed)
    flexible = _flexible(load, civil)
    if flexible is None:
        busy = civil.lay(spans.start_h, spans.end_h) * (work_w > 0.0)
        power_w = civil.lay(spans.start_h, spans.end_h, spans.power_w)
        running: BoolArray = busy > 0.0
    else:
        busy = power_w = np.zeros(civil.grid.steps_per_year)
        running = np.ones(civil.grid.steps_per_year, dtype=bool)
    power_w = power_w + _standby(load, civil, busy)
    if not running.any():
        work_w, running = load.standby_w or 0.0, power_w > 0.0
    return LoadSeries(
        name=load.name,
        supply=load.supply or "12 V",
        importance=IMPORTANCES.index(load.importance or "should"),
        power_w=power_w * load.quantity,
        running=running,
        peak_w=work_w * load.quantity,
        surge_w=work_w * (load.quantity - 1) + max(load.surge_w or 0.0, work_w),
        flexible=flexible,
        own_battery=_own_battery(load, civil, spans),
        typical=typical,
        kind=load.kind or "other",
        plug=load.plug,
        quantity=load.quantity,
    )


def _standby(load: Load, civil: CivilYear, busy: FloatArray) -> FloatArray:
    """Standby draw of one thing while it does nothing else, in the months it is plugged in."""
    if not load.standby_w:
        return np.zeros(civil.grid.steps_per_year)
    plugged = civil.lay(*civil.whole_days(civil.days(load.months)))
    return np.maximum(plugged - busy, 0.0) * load.standby_w


def _flexible(load: Load, civil: CivilYear) -> Flexible | None:
    if load.can_wait is None:
        return None
    at_h, energy_wh = arrivals_of(load, civil)
    step_h = civil.grid.step_h
    # A job arrives in one instant: the step it falls into takes the whole of it.
    start_h = np.floor(at_h / step_h + 1e-9) * step_h
    arrivals_wh = civil.lay(start_h, start_h + step_h, energy_wh * load.quantity)
    return Flexible(
        arrivals_wh=arrivals_wh,
        job_wh=float(energy_wh.max(initial=0.0)) * load.quantity,
        deadline_steps=max(round(load.can_wait.days * HOURS_PER_DAY / step_h), 1),
        power_w=mean_use_w(load) * load.quantity,
        battery_above=load.can_wait.battery_above,
    )


def _own_battery(load: Load, civil: CivilYear, spans: Spans) -> OwnBattery | None:
    if not load.own_battery_wh:
        return None
    energy_wh = spans.energy_wh if load.can_wait is None else arrivals_of(load, civil)[1]
    return OwnBattery(
        capacity_wh=load.own_battery_wh * load.quantity,
        charge_power_w=(load.power_w or mean_use_w(load)) * load.quantity,
        daily_use_wh=float(energy_wh.sum()) * load.quantity / DAYS_PER_YEAR,
    )


def _never_works(load: Load, position: int) -> Problem:
    return Problem(
        f"load[{position + 1}].from",
        f'"{load.from_ or "dusk"}" until "{load.until or "dawn"}"',
        phrase("a window that opens here on some day of its months"),
        phrase("change from or until, or the months"),
    )

"""The whole small system through all the years: compiled, designs in parallel.

Time is the inner loop of a small group of designs that go through it side by side, part by
part of a step: what one design works out waits for what it worked out before, that of two
does not, so that the processor works on one while the other waits. Everything is float64;
nothing is allocated inside; no design's numbers depend on its neighbours or on the number
of threads. ``layout`` names every column; ``kernel_step`` says how a step goes, ``step``
names its parts.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

import numpy as np
from numba import njit, prange

from sunpantry.physics.compiled import part, rare_part
from sunpantry.simulate import layout as at
from sunpantry.simulate.kernel_array import gather
from sunpantry.simulate.kernel_bank import flow, look
from sunpantry.simulate.kernel_book import (
    end_of_day,
    end_of_year,
    note_asked,
    promise_broken,
    stand_by,
)
from sunpantry.simulate.kernel_build import sources_fingerprint
from sunpantry.simulate.kernel_step import act, demand, keep_books
from sunpantry.timegrid import FloatArray, IndexArray, IntArray

# Designs that go through time side by side.
GROUP = 4


@rare_part
def start(designs: FloatArray, states: FloatArray, totals: FloatArray, n: int) -> None:
    """Begin with a full bank, everything switched on."""
    full = designs[n, at.FULL_WH]
    well = designs[n, at.AVAILABLE] * full
    states[n, :] = 0.0
    states[n, at.S_AVAILABLE] = well
    states[n, at.S_BOUND] = full - well
    states[n, at.S_CONNECTED] = 1.0
    states[n, at.S_DAY_LOW], states[n, at.S_DAY_HIGH] = 1.0, 1.0
    states[n, at.S_YEAR_LOW] = 1.0
    states[n, at.S_LAST_FULL] = -1.0
    totals[n, at.T_STORED_FIRST] = full


@rare_part
def get_ready(
    designs: FloatArray, states: FloatArray, points: IndexArray, n: int, step_h: float
) -> None:
    """Work out what a step needs again and again."""
    full = designs[n, at.FULL_WH]
    well = designs[n, at.AVAILABLE] * full
    states[n, at.D_WELL] = well
    states[n, at.D_PER_WELL] = 1.0 / well
    states[n, at.D_PER_FULL] = 1.0 / full
    states[n, at.D_PER_DRAW] = 1.0 / designs[n, at.DRAW_H]
    states[n, at.D_PER_CELLS] = 1.0 / designs[n, at.CELLS]
    states[n, at.D_PER_STEP] = 1.0 / step_h
    states[n, at.D_KEPT] = 1.0 - designs[n, at.LEAK_PER_H] * step_h
    if designs[n, at.NODE_STEP_V] > 0.0:
        states[n, at.D_PER_GAP] = 1.0 / designs[n, at.NODE_STEP_V]
    if designs[n, at.CONVERSION] > 0.0:
        states[n, at.D_PER_CONVERSION] = 1.0 / designs[n, at.CONVERSION]
    stand_by(designs, states, n)
    points[n, at.P_SOURCE] = int(designs[n, at.SOURCE])
    points[n, at.P_CURVE] = int(designs[n, at.CURVE])
    points[n, at.P_ENVIRONMENT] = int(designs[n, at.ENVIRONMENT])
    points[n, at.P_LOADS] = int(designs[n, at.LOADS])


@rare_part
def end_of_days(
    designs: FloatArray,
    states: FloatArray,
    totals: FloatArray,
    yearly: FloatArray,
    loads: FloatArray,
    allowed_h: FloatArray,
    points: IndexArray,
    first: int,
    last: int,
    y: int,
    i: int,
    per_day: int,
    step_h: float,
) -> int:
    """Close the day of a group; return how many of its designs go on."""
    going = 0
    for n in range(np.uint64(first), np.uint64(last)):
        if totals[n, at.T_STOPPED] == 0.0:
            note_asked(states, loads, points, n, i, per_day, step_h)
            end_of_day(designs, states, totals, yearly, n, y)
            if promise_broken(states, yearly, n, y, allowed_h):
                totals[n, at.T_STOPPED] = 1.0
                finish(designs, states, totals, yearly, n, y)
            else:
                going += 1
    return going


@rare_part
def finish(
    designs: FloatArray, states: FloatArray, totals: FloatArray, yearly: FloatArray, n: int, y: int
) -> None:
    """Close the books of a design."""
    end_of_year(designs, states, totals, yearly, n, y)
    totals[n, at.T_STORED_LAST] = states[n, at.S_AVAILABLE] + states[n, at.S_BOUND]


@part
def step(
    begin: np.uint64,
    end: np.uint64,
    designs: FloatArray,
    states: FloatArray,
    totals: FloatArray,
    yearly: FloatArray,
    monthly: FloatArray,
    traces: FloatArray,
    sun: FloatArray,
    curves: FloatArray,
    cells_c: FloatArray,
    loads: FloatArray,
    flexible: FloatArray,
    arrived: FloatArray,
    served: FloatArray,
    points: IndexArray,
    y: int,
    t: int,
    place: int,
    i: int,
    month: int,
    step_h: float,
) -> None:
    """Advance a group by one step, part by part, all its designs through each.

    Parameters
    ----------
    begin, end : numpy.uint64
        Its designs, the second not among them.
    y, t : int
        Year, step since the start.
    place : int
        Position among the lit steps, -1 in the dark.
    i : int
        Step in the load arrays.
    month : int
        0 = January.
    """
    for n in range(begin, end):
        look(designs, states, curves, cells_c, points, n, t)
    for n in range(begin, end):
        if totals[n, at.T_STOPPED] == 0.0:
            demand(designs, states, yearly, loads, points, n, y, i, step_h)
            gather(designs, states, sun, points, n, place)
    for n in range(begin, end):
        flow(designs, states, n)
    for n in range(begin, end):
        if totals[n, at.T_STOPPED] == 0.0:
            act(
                designs, states, totals, yearly, traces, loads, flexible, arrived, served,
                points, n, y, t, i, step_h,
            )  # fmt: skip
    for n in range(begin, end):
        if totals[n, at.T_STOPPED] == 0.0:
            keep_books(
                designs, states, totals, yearly, monthly, traces, loads, points, n, y, t, i,
                month, step_h,
            )  # fmt: skip


@rare_part
def run_group(
    first: int,
    last: int,
    designs: FloatArray,
    states: FloatArray,
    sun: FloatArray,
    sun_place: IntArray,
    month_of: IntArray,
    curves: FloatArray,
    cells_c: FloatArray,
    loads: FloatArray,
    flexible: FloatArray,
    arrived: FloatArray,
    served: FloatArray,
    allowed_h: FloatArray,
    step_h: float,
    from_year: int,
    until_year: int,
    totals: FloatArray,
    yearly: FloatArray,
    monthly: FloatArray,
    traces: FloatArray,
    points: IndexArray,
) -> None:
    """Run designs ``first`` to ``last``, without it, side by side.

    Parameters
    ----------
    first, last : int
        Which designs.
    designs : (n, DESIGN_COLUMNS)
        What each design is, by :mod:`sunpantry.simulate.layout`.
    states : (n, STATE_COLUMNS)
        How each design stands at the end; at the beginning too, where the run goes on
        from a year before.
    sun : (sources, 3, years * lit steps), float32 or float64
        MPPT: power and voltage of one string at its maximum power, and its voltage at
        no load [W, V, V]. PWM: current of one string at three battery voltages [A].
    sun_place : (steps per year,)
        Position of a step among the lit steps of a year, -1 in the dark.
    month_of : (steps per year,)
        0 = January.
    curves : (batteries, points)
        Open-circuit voltage against head [V].
    cells_c : (environments, years * steps per year)
        Battery temperature [°C].
    loads : (load sets, one or more whole years of steps, LOAD_COLUMNS)
        What is asked.
    flexible : (load sets, queues, FLEX_COLUMNS)
        Loads that can wait.
    arrived : (load sets, queues, years * steps per year)
        Energy asked for by each queue since the start [Wh], cumulative.
    served : (n, 3 queues)
        For each queue the energy of jobs done or given up, on entry less what waits
        already; then for each queue the energy of jobs given up, and for each what it
        did today, zeros on entry [Wh].
    allowed_h : (3,)
        Hours without power that each class may have over all years; negative: no
        limit. A design that has used up an allowance is given up (``T_STOPPED``).
    step_h : float
        Length of a step [h].
    from_year, until_year : int
        Years to run now, the second not among them; from 0 the run begins anew.
    totals, yearly, monthly, traces
        Results, zeros on entry (``M_LOWEST`` one): (n, TOTAL_COLUMNS),
        (n, years, YEAR_COLUMNS), (traced, 12, MONTH_COLUMNS),
        (traced, TRACE_COLUMNS + TRACE_QUEUE_COLUMNS for each queue, steps).
    points : (n, POINT_COLUMNS)
        Written here: rows of the shared arrays that each design uses.
    """
    # An index without a sign is spared the look for one that counts from the end.
    begin, end = np.uint64(first), np.uint64(last)
    for n in range(begin, end):
        if from_year == 0:
            start(designs, states, totals, n)
        get_ready(designs, states, points, n, step_h)
    steps = sun_place.shape[0]
    lit = sun.shape[2] // yearly.shape[1]
    per_day = round(24.0 / step_h)
    at_load = from_year * steps % loads.shape[1]
    for y in range(from_year, until_year):
        today = 0
        for i in range(steps):
            t = y * steps + i
            here = sun_place[i]
            place = here + y * lit if here >= 0 else -1
            step(
                begin, end, designs, states, totals, yearly, monthly, traces, sun, curves,
                cells_c, loads, flexible, arrived, served, points, y, t, place, at_load,
                month_of[i], step_h,
            )  # fmt: skip
            at_load = at_load + 1 if at_load + 1 < loads.shape[1] else 0
            today += 1
            if today == per_day:
                today = 0
                if not end_of_days(
                    designs, states, totals, yearly, loads, allowed_h, points, first, last,
                    y, at_load, per_day, step_h,
                ):  # fmt: skip
                    return
        for n in range(begin, end):
            if totals[n, at.T_STOPPED] == 0.0:
                note_asked(states, loads, points, n, at_load, today, step_h)
                finish(designs, states, totals, yearly, n, y)


def _entry(fingerprint: int) -> Callable[..., int]:
    """Compile the entry point, or find it on disk; see :func:`sources_fingerprint`."""

    @njit(cache=True, parallel=True, error_model="numpy")
    def run_designs(
        designs: FloatArray,
        states: FloatArray,
        sun: FloatArray,
        sun_place: IntArray,
        month_of: IntArray,
        curves: FloatArray,
        cells_c: FloatArray,
        loads: FloatArray,
        flexible: FloatArray,
        arrived: FloatArray,
        served: FloatArray,
        allowed_h: FloatArray,
        step_h: float,
        from_year: int,
        until_year: int,
        totals: FloatArray,
        yearly: FloatArray,
        monthly: FloatArray,
        traces: FloatArray,
    ) -> int:
        """Run every design through the years; arrays as for :func:`run_group`."""
        groups = (designs.shape[0] + GROUP - 1) // GROUP
        points = np.zeros((designs.shape[0], at.POINT_COLUMNS), dtype=np.uint64)
        for g in prange(groups):
            run_group(
                g * GROUP, min((g + 1) * GROUP, designs.shape[0]),
                designs, states, sun, sun_place, month_of, curves, cells_c, loads, flexible,
                arrived, served, allowed_h, step_h, from_year, until_year,
                totals, yearly, monthly, traces, points,
            )  # fmt: skip
        return fingerprint

    return cast("Callable[..., int]", run_designs)


run_designs = _entry(sources_fingerprint())

"""A pump straight on a panel, and its tank, hour by hour."""

from __future__ import annotations

import numpy as np
from numba import njit

from sunpantry.timegrid import FloatArray, IntArray

PUMPED, MISSING, RUNNING, TAKEN = 0, 1, 2, 3
KEPT_ROWS = 4


@njit(cache=True, error_model="numpy")
def fill_tank(
    power_w: FloatArray,
    factor: float,
    sun_place: IntArray,
    table_w: FloatArray,
    table_l_h: FloatArray,
    drawn_l: FloatArray,
    volume_l: float,
    start_l: float,
    most_l_per_day: float,
    allowed_h: float,
    years: int,
    step_h: float,
    kept: FloatArray,
) -> float:
    """Pump, fill and draw through all years.

    Parameters
    ----------
    power_w : (years * lit steps,)
        What one panel gives [W]; times ``factor``.
    sun_place : (steps per year,)
        Position of a step among the lit steps, -1 in the dark.
    table_w, table_l_h : (n,)
        Flow against power, rising [W], [L/h]; below the first power nothing comes, above
        the last no more is taken.
    drawn_l : (steps per year,)
        Asked of the tank in each step [L].
    volume_l, start_l : float
        The tank, and what is in it at first [L].
    most_l_per_day : float
        What the well gives in a day [L]; 0: no limit.
    allowed_h : float
        Hours without water after which the run is given up; negative: never [h].
    kept : (KEPT_ROWS, years * steps per year), or without columns
        Results step by step: water pumped and water missing [L], hours of pumping [h],
        mean power taken [W]; zeros on entry.

    Returns
    -------
    float
        Hours without water, weighted by the share missing, all years [h].
    """
    steps = sun_place.shape[0]
    lit = power_w.shape[0] // years
    per_day = round(24.0 / step_h)
    last = table_w.shape[0] - 1
    level, dry_h, today_l = start_l, 0.0, 0.0
    for year in range(years):
        for i in range(steps):
            if i % per_day == 0:
                today_l = 0.0
            given = power_w[year * lit + sun_place[i]] * factor if sun_place[i] >= 0 else 0.0
            into, flow, used = 0.0, 0.0, 0.0
            if given >= table_w[0] and table_l_h[last] > 0.0:
                if given >= table_w[last]:
                    flow, used = table_l_h[last], table_w[last]
                else:
                    k = np.searchsorted(table_w, given)
                    k = min(max(k, 1), last)
                    share = (given - table_w[k - 1]) / (table_w[k] - table_w[k - 1])
                    flow = table_l_h[k - 1] + share * (table_l_h[k] - table_l_h[k - 1])
                    used = given
                into = min(flow * step_h, volume_l - level + drawn_l[i])
                if most_l_per_day > 0.0:
                    into = min(into, most_l_per_day - today_l)
                into = max(into, 0.0)
                today_l += into
            short = max(drawn_l[i] - level - into, 0.0)
            level = min(max(level + into - drawn_l[i], 0.0), volume_l)
            if short > 1e-9 * drawn_l[i]:
                dry_h += short / drawn_l[i] * step_h
                if 0.0 <= allowed_h < dry_h:
                    return float(dry_h)
            if kept.shape[1] > 0:
                t = year * steps + i
                kept[PUMPED, t], kept[MISSING, t] = into, short
                if flow > 0.0:
                    kept[RUNNING, t] = into / flow
                    kept[TAKEN, t] = used * kept[RUNNING, t] / step_h
    return float(dry_h)

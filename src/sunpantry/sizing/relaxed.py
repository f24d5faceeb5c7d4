"""A store that no real bank beats: what the search may rule out without simulating.

The ideal store has no resistance, no rate effect, no voltage, no hysteresis. It takes
everything up to its limits, serves whenever it can, and is as large as the part of the
real bank that lies above the point where the loads are surely switched off. Whatever a
real system does, it leaves at least as much energy unserved as this store does with the
same sun and loads. So a system whose ideal twin breaks the promise breaks it as well.

Why that is so. Let ``x`` be the content of the ideal store and ``y`` that of the real
one, ``D`` the energy the ideal one has served more than the real one. Then in every step
``x + D >= y`` and ``D >= 0``, by induction: the net flow ``f(s) = eta s`` for a surplus,
``s`` for a deficit, rises by at most one watt for each watt less served, and where the
ideal store serves less than the real one, it is because it holds less, by an amount that
``D`` has already put to its credit. The rule that switches the less important loads off
below a state of charge is kept, with one step's load of room; loads that must never fail
are drawn even from an empty store, which only helps what is served besides.

Three stores run side by side: the most important class alone; with the second; with the
third. Unserved energy over the largest power of its classes bounds the hours from below.
"""

from __future__ import annotations

import numpy as np
from numba import njit, prange

from sunpantry.timegrid import FloatArray, IntArray

# --- columns of `cases[case, ...]` ---------------------------------------------------------
C_FULL = 0  # usable content [Wh]
C_ETA = 1  # charge efficiency [-]
C_CONVERSION = 2
C_CLIP_W = 3  # most the controller passes [W]
C_OWN_W = 4  # drawn by controller and converters all the time [W]
C_MOST_IN_W = 5  # most the bank takes [W]
C_COLD_IN_W = 6  # the same within ten kelvin of its lowest charging temperature [W]
C_MIN_C = 7  # lowest charging temperature [°C]
C_HEATED = 8
C_LOADS = 9  # row of the loads
C_HOUSING = 10  # row of the battery temperatures
C_SHOULD_ABOVE = 11  # content above which the second class may be served [Wh]
C_MAY_ABOVE = 12
C_FIRM = 13  # 1: the most important class must never fail
C_BUDGET = 14  # + store: energy that may stay unserved [Wh]
C_EXTRA_W = 17  # second source [W]
C_ASKS = 18  # + store: 1 where that class asks for anything
C_COLUMNS = 21

STORES = 3
# The bisection looks at so many of the darkest years, to this relative width, and not below
# this power [W].
YEARS_BISECTED = 3
BISECTED_TO = 0.03
LEAST_POWER_W = 0.5
# Its first step away from the guess; each further step is the square of the one before.
FIRST_STRIDE = 1.15


@njit(cache=True, error_model="numpy")
def _fill_net(
    case: FloatArray,
    strings: FloatArray,
    rows: IntArray,
    factor: float,
    power: FloatArray,
    sun_place: IntArray,
    spans: IntArray,
    year: int,
    years: int,
    net_w: FloatArray,
) -> None:
    """Sun of one year less everything that is always drawn, in each step of the spans [W]."""
    lit = power.shape[1] // years
    always = case[C_EXTRA_W] - case[C_OWN_W]
    whole = factor * case[C_CONVERSION]
    for span in range(spans.shape[0]):
        for i in range(spans[span, 0], spans[span, 1]):
            sun = 0.0
            if sun_place[i] >= 0:
                here = sun_place[i] + year * lit
                for part in range(rows.shape[0]):
                    sun += power[rows[part], here] * strings[part]
                sun = min(sun * whole, case[C_CLIP_W])
            net_w[i] = sun + always


@njit(cache=True, error_model="numpy")
def _fill_taken(
    case: FloatArray, cells_c: FloatArray, first: int, spans: IntArray, taken_w: FloatArray
) -> None:
    """Most that the bank takes in each step of the spans of one year [W]."""
    min_c = case[C_MIN_C]
    cold_w = min(case[C_MOST_IN_W], case[C_COLD_IN_W])
    frozen_w = case[C_COLD_IN_W] if case[C_HEATED] > 0.0 else 0.0
    for span in range(spans.shape[0]):
        for i in range(spans[span, 0], spans[span, 1]):
            cell_c = cells_c[first + i]
            taken_w[i] = case[C_MOST_IN_W]
            if cell_c < min_c:
                taken_w[i] = frozen_w
            elif cell_c < min_c + 10.0:
                taken_w[i] = cold_w


@njit(cache=True, error_model="numpy")
def _short_together(
    case: FloatArray,
    net_w: FloatArray,
    taken_w: FloatArray,
    load: FloatArray,
    classes: int,
    spans: IntArray,
    step_h: float,
) -> float:
    """Energy unserved by a store that serves the first classes alike, whenever it can [Wh]."""
    full, eta = case[C_FULL], case[C_ETA]
    short = 0.0
    for span in range(spans.shape[0]):
        x = full
        for i in range(spans[span, 0], spans[span, 1]):
            asked = load[0, i]
            for kind in range(1, classes):
                asked += load[kind, i]
            flow = net_w[i] - asked
            if flow >= 0.0:
                x = min(x + min(flow * eta, taken_w[i]) * step_h, full)
            else:
                x += flow * step_h
                if x < 0.0:
                    short += min(-x, asked * step_h)
                    x = 0.0
    return short


@njit(cache=True, error_model="numpy")
def _short_beside(
    case: FloatArray,
    net_w: FloatArray,
    taken_w: FloatArray,
    load: FloatArray,
    classes: int,
    spans: IntArray,
    step_h: float,
) -> float:
    """Energy of the less important classes unserved when the first is always served [Wh]."""
    full, eta = case[C_FULL], case[C_ETA]
    first_above, second_above = case[C_SHOULD_ABOVE], case[C_MAY_ABOVE]
    short = 0.0
    for span in range(spans.shape[0]):
        x = full
        for i in range(spans[span, 0], spans[span, 1]):
            # an empty bank feeds its own controller no more
            rest = (net_w[i] if x > 0.0 else max(net_w[i], 0.0)) - load[0, i]
            first = load[1, i]
            asked = first + (load[2, i] if classes > 2 else 0.0)
            flow = rest - asked
            if flow >= 0.0:
                x = min(x + min(flow * eta, taken_w[i]) * step_h, full)
                continue
            direct = min(max(rest, 0.0), asked)
            left = max(x / step_h + min(rest, 0.0), 0.0)
            drawn = 0.0
            if x >= second_above:
                drawn = min(asked - direct, left)
            elif x >= first_above:
                drawn = min(first, asked - direct, left)
            short += (asked - direct - drawn) * step_h
            x += (rest - direct - drawn) * step_h
    return short


@njit(cache=True, error_model="numpy")
def _breaks(
    case: FloatArray,
    strings: FloatArray,
    rows: IntArray,
    factor: float,
    power: FloatArray,
    sun_place: IntArray,
    cells_c: FloatArray,
    loads: FloatArray,
    spans: IntArray,
    years: int,
    looked_at: int,
    step_h: float,
    net_w: FloatArray,
    taken_w: FloatArray,
    filled: IntArray,
) -> bool:
    """Whether even the ideal store breaks the promise.

    ``net_w``, shape (steps,), is written over. ``taken_w``, shape (looked_at, steps), and
    ``filled``, its rows known so far, keep what the bank takes for the next try with the same
    case; ``filled`` is zero before the first.
    """
    steps = sun_place.shape[0]
    load = loads[int(case[C_LOADS])]
    temperature = cells_c[int(case[C_HOUSING])]
    short = np.zeros(STORES)
    for year in range(looked_at):
        _fill_net(case, strings, rows, factor, power, sun_place, spans, year, years, net_w)
        if year >= filled[0]:
            _fill_taken(case, temperature, year * steps, spans, taken_w[year])
            filled[0] = year + 1
        for store in range(STORES):
            if case[C_ASKS + store] == 0.0:
                continue  # as short as the store before it
            if store == 0 or case[C_FIRM] == 0.0:
                short[store] += _short_together(
                    case, net_w, taken_w[year], load, store + 1, spans, step_h
                )
            else:
                short[store] += _short_beside(
                    case, net_w, taken_w[year], load, store + 1, spans, step_h
                )
            if short[store] > case[C_BUDGET + store]:
                return True
    return False


@njit(cache=True, parallel=True, error_model="numpy")
def breaking(
    cases: FloatArray,
    strings: FloatArray,
    rows: IntArray,
    power: FloatArray,
    sun_place: IntArray,
    cells_c: FloatArray,
    loads: FloatArray,
    spans: IntArray,
    years: int,
    step_h: float,
    broken: FloatArray,
) -> None:
    """Find the cases that even an ideal store cannot save.

    Parameters
    ----------
    cases : (n, C_COLUMNS)
        See the columns above.
    strings, rows : (n, parts)
        How many of which power row each case has.
    power : (rows, years * lit steps), float32
        Most that one string gives [W].
    sun_place : (steps per year,)
        Position of a step among the lit steps of a year, -1 in the dark.
    cells_c : (housings, years * steps per year)
        Battery temperature [°C].
    loads : (load rows, 3, steps per year)
        Least power drawn from the bus for each class [W].
    spans : (n, 2)
        First step and end of each part of the year that is looked at.
    years : int
        Years; each span is begun with a full store.
    step_h : float
        Length of a step [h].
    broken : (n,)
        Result: 1 where the promise is broken.
    """
    steps = sun_place.shape[0]
    for n in prange(cases.shape[0]):
        if _breaks(
            cases[n], strings[n], rows[n], 1.0, power, sun_place, cells_c, loads, spans,
            years, years, step_h, np.empty(steps), np.empty((years, steps)),
            np.zeros(1, dtype=np.int64),
        ):  # fmt: skip
            broken[n] = 1.0


@njit(cache=True, error_model="numpy")
def _bisect(
    case: FloatArray,
    rows: IntArray,
    low: float,
    tried: float,
    most_w: float,
    power: FloatArray,
    sun_place: IntArray,
    cells_c: FloatArray,
    loads: FloatArray,
    spans: IntArray,
    years: int,
    looked_at: int,
    step_h: float,
    net_w: FloatArray,
    taken_w: FloatArray,
    filled: IntArray,
) -> tuple[float, float]:
    """Power that surely breaks the promise, infinite where ``most_w`` does, and one that may not.

    ``low`` is known to break it; ``tried`` is where to begin [W]: near the answer, if it is a
    good guess, so that steps away from it begin small and grow.
    """
    one = np.ones(1)
    high, stride = most_w, FIRST_STRIDE
    above, below = False, low > 0.0  # whether the answer is known to lie between two tries
    while high - low > BISECTED_TO * high and high >= LEAST_POWER_W:
        if _breaks(
            case, one, rows, tried, power, sun_place, cells_c, loads, spans, years, looked_at,
            step_h, net_w, taken_w, filled,
        ):  # fmt: skip
            low, below = tried, True
            if tried >= most_w:
                return np.inf, np.inf
        else:
            high, above = tried, True
        if above and below:
            tried = np.sqrt(low * high)
        elif below:
            tried = min(stride * low, high)
        else:
            tried = high / stride
        stride *= stride
    return low, high


@njit(cache=True, parallel=True, error_model="numpy")
def least_power(
    cases: FloatArray,
    row: int,
    guess_w: FloatArray,
    most_w: FloatArray,
    power: FloatArray,
    sun_place: IntArray,
    cells_c: FloatArray,
    loads: FloatArray,
    spans: IntArray,
    years: int,
    step_h: float,
    found_w: FloatArray,
) -> None:
    """Bisect for the rated array power below which no ideal store keeps the promise.

    Parameters
    ----------
    row : int
        Row of ``power`` that holds the best light for each rated watt.
    guess_w : (n,)
        Where to begin [W].
    most_w : (n,)
        Largest power there is [W].
    found_w : (n,)
        Result [W]: at or below this the promise is surely broken; infinite where even
        ``most_w`` breaks it.

    The other parameters are those of :func:`breaking`. The first years alone are looked at
    as long as they decide, then all of them.
    """
    few = min(years, YEARS_BISECTED)
    steps = sun_place.shape[0]
    rows = np.full(1, row)
    for n in prange(cases.shape[0]):
        net_w, taken_w = np.empty(steps), np.empty((years, steps))
        filled = np.zeros(1, dtype=np.int64)
        low, high = _bisect(
            cases[n], rows, 0.0, min(guess_w[n], most_w[n]), most_w[n], power, sun_place, cells_c,
            loads, spans, years, few, step_h, net_w, taken_w, filled,
        )  # fmt: skip
        if few < years and high < np.inf and _breaks(
            cases[n], np.ones(1), rows, high, power, sun_place, cells_c, loads, spans,
            years, years, step_h, net_w, taken_w, filled,
        ):  # fmt: skip
            low = np.inf
            if high < most_w[n]:
                low, _ = _bisect(
                    cases[n], rows, high, min(FIRST_STRIDE * high, most_w[n]), most_w[n], power,
                    sun_place, cells_c, loads, spans, years, years, step_h, net_w, taken_w,
                    filled,
                )  # fmt: skip
        found_w[n] = low

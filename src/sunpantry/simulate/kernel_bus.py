"""Parts of a step at the battery bus: what is switched on, and who goes short."""

from __future__ import annotations

import math

from sunpantry.physics.compiled import part, rare_part
from sunpantry.simulate import layout as at
from sunpantry.timegrid import FloatArray

# A BMS does not trip over rounding.
WITHIN_LIMIT = 1e-9
# Must, should, may.
Classes = tuple[float, float, float]


@part
def surge_trips(
    designs: FloatArray, n: int, running_w: float, surge_w: float, open_v: float, drained: float
) -> bool:
    """Whether the start of the largest load pulls the inverter's input below its cut-off.

    Parameters
    ----------
    running_w : float
        Drawn from the bank by everything else meanwhile [W].
    surge_w : float
        Added by the start [W].
    drained : float
        Factor on the bank's resistance on discharge [-].
    """
    ohm = designs[n, at.SURGE_OHM] * drained
    peak_w = running_w + surge_w * (1.0 + designs[n, at.INVERTER_K1])
    under = open_v * open_v - 4.0 * ohm * peak_w
    if under <= 0.0:
        return True
    return bool(0.5 * (open_v + math.sqrt(under)) < designs[n, at.INVERTER_CUT_V])


@part
def inverter_load(
    designs: FloatArray,
    n: int,
    asked: tuple[float, float, float],
    surge_w: float,
    dc_w: float,
    open_v: float,
    drained: float,
) -> tuple[float, float, float]:
    """What the inverter carries: an overloaded one leaves the least important out [W].

    Parameters
    ----------
    asked : tuple of float
        By each class on the AC side [W].
    surge_w : float
        Starting surge above the mean power [W].
    dc_w : float
        Taken by the loads on the DC side [W].

    Returns
    -------
    must, should, may : float
        Carried [W].
    """
    rated = designs[n, at.INVERTER_W]
    must, should, may = asked
    if must + should + may > rated:
        may = 0.0
        if must + should > rated:
            should = 0.0
            if must > rated:
                must = 0.0
    carried = must + should + may
    if (
        surge_w > 0.0
        and carried > 0.0
        and surge_trips(designs, n, carried + dc_w, surge_w, open_v, drained)
    ):
        return 0.0, 0.0, 0.0
    return must, should, may


@rare_part
def within_terminals(
    designs: FloatArray,
    loads: FloatArray,
    n: int,
    row: int,
    i: int,
    open_v: float,
    dc: Classes,
    ac: Classes,
) -> tuple[Classes, Classes]:
    """Leave classes out, the least important first, until the load terminals carry the rest.

    Only what hangs on them is left out. The hardest start counts: their protection is quick.

    Returns
    -------
    dc, ac : tuple of float
        Wanted by the classes that stay [W].
    """
    must, should, may = dc
    ac_must, ac_should, ac_may = ac
    limit = designs[n, at.OUTPUT_A] * open_v * (1.0 + WITHIN_LIMIT)
    for left_out in range(at.CLASSES + 1):
        if left_out > 0 and designs[n, at.OUTPUT_DC] > 0.0:
            may = 0.0
            should = should if left_out < 2 else 0.0
            must = must if left_out < at.CLASSES else 0.0
        if left_out > 0 and designs[n, at.OUTPUT_AC] > 0.0:
            ac_may = 0.0
            ac_should = ac_should if left_out < 2 else 0.0
            ac_must = ac_must if left_out < at.CLASSES else 0.0
        through = 0.0
        if must + should + may > 0.0:
            surge = loads[row, i, at.L_DC_SURGE + at.MAY - left_out]
            through += designs[n, at.OUTPUT_DC] * (must + should + may + surge)
        through += designs[n, at.OUTPUT_AC] * input_w(designs, n, ac_must + ac_should + ac_may)
        if through <= limit:
            break
    return (must, should, may), (ac_must, ac_should, ac_may)


@part
def input_w(designs: FloatArray, n: int, carried: float) -> float:
    """What an inverter draws to carry so much; nothing without a load [W]."""
    if carried <= 0.0:
        return 0.0
    square = designs[n, at.INVERTER_K2] * carried * carried
    return float(designs[n, at.INVERTER_P0] + carried * (1.0 + designs[n, at.INVERTER_K1]) + square)


@part
def switched_on(
    designs: FloatArray,
    states: FloatArray,
    loads: FloatArray,
    n: int,
    row: int,
    i: int,
    open_v: float,
    drained: float,
) -> tuple[Classes, Classes, float]:
    """Loads that are switched on, on the DC and on the AC side, and the inverter's overhead [W]."""
    on, on_should, on_may = states[n, at.D_ON], states[n, at.D_ON + 1], states[n, at.D_ON + 2]
    ac_on = states[n, at.D_AC_ON]
    must = loads[row, i, at.L_DC] * on
    should = loads[row, i, at.L_DC + 1] * on_should
    may = loads[row, i, at.L_DC + 2] * on_may
    ac = (
        loads[row, i, at.L_AC] * on * ac_on,
        loads[row, i, at.L_AC + 1] * on_should * ac_on,
        loads[row, i, at.L_AC + 2] * on_may * ac_on,
    )
    if ac[0] + ac[1] + ac[2] > 0.0:
        surge_w = loads[row, i, at.L_SURGE]
        ac = inverter_load(designs, n, ac, surge_w, must + should + may, open_v, drained)
    if designs[n, at.OUTPUT_A] > 0.0:
        dc, ac = within_terminals(designs, loads, n, row, i, open_v, (must, should, may), ac)
        must, should, may = dc
    carried = ac[0] + ac[1] + ac[2]
    if carried > 0.0:
        overhead = designs[n, at.INVERTER_P0] + designs[n, at.INVERTER_K2] * carried * carried
    else:
        overhead = designs[n, at.INVERTER_IDLE_W] * loads[row, i, at.L_IDLE] * on * ac_on
    if designs[n, at.OUTPUT_W_MIN] > 0.0:
        wanted = must + should + may + carried * (1.0 + designs[n, at.INVERTER_K1]) + overhead
        # what it sees while they run, not their mean
        wanted += loads[row, i, at.L_DC_SURGE + at.MAY]
        if wanted < designs[n, at.OUTPUT_W_MIN]:
            return (0.0, 0.0, 0.0), (0.0, 0.0, 0.0), 0.0
    return (must, should, may), ac, overhead


@rare_part
def within_limit(
    designs: FloatArray, n: int, left_w: float, overhead: float, dc: Classes, ac: Classes
) -> tuple[float, Classes, Classes]:
    """Leave classes out, the least important first, until the BMS lets the rest through.

    Parameters
    ----------
    left_w : float
        What sun and bank give at the current limit, beside own draw and jobs [W].
    overhead : float
        Of the inverter with all the loads [W].

    Returns
    -------
    overhead : float
        With the loads that stay [W].
    dc, ac : tuple of float
        Wanted by the classes that stay [W].
    """
    must, should, may = dc
    ac_must, ac_should, ac_may = ac
    standing = overhead if ac_must + ac_should + ac_may == 0.0 else 0.0
    for left_out in range(at.CLASSES + 1):
        if left_out == 1:
            may = ac_may = 0.0
        elif left_out == 2:
            should = ac_should = 0.0
        elif left_out == at.CLASSES:
            must = ac_must = 0.0
        carried = ac_must + ac_should + ac_may
        overhead = standing
        if carried > 0.0:
            overhead = designs[n, at.INVERTER_P0] + designs[n, at.INVERTER_K2] * carried * carried
        wanted = must + should + may + carried * (1.0 + designs[n, at.INVERTER_K1]) + overhead
        if wanted <= left_w * (1.0 + WITHIN_LIMIT):
            break
    return overhead, (must, should, may), (ac_must, ac_should, ac_may)


@rare_part
def share_out(
    power_w: float, overhead: float, must: float, should: float, may: float
) -> tuple[float, float, float, float]:
    """Give a limited power to the overhead, then to the classes in order of importance.

    Returns
    -------
    overhead, must, should, may : float
        What each gets [W].
    """
    left = max(power_w, 0.0)
    got_overhead = min(left, overhead)
    left -= got_overhead
    got_must = min(left, must)
    left -= got_must
    got_should = min(left, should)
    left -= got_should
    return got_overhead, got_must, got_should, min(left, may)


@rare_part
def transferred(
    designs: FloatArray,
    totals: FloatArray,
    yearly: FloatArray,
    loads: FloatArray,
    n: int,
    y: int,
    row: int,
    i: int,
    got: Classes,
    step_h: float,
) -> Classes:
    """Take from the second source what the AC loads are short of, however that came.

    Returns
    -------
    got : tuple of float
        Delivered to each class [W].
    """
    left = designs[n, at.BACKUP_W]
    must = min(loads[row, i, at.L_DC] + loads[row, i, at.L_AC] - got[0], loads[row, i, at.L_AC])
    must = max(min(must, left), 0.0)
    left -= must
    should = loads[row, i, at.L_DC + 1] + loads[row, i, at.L_AC + 1] - got[1]
    should = max(min(should, loads[row, i, at.L_AC + 1], left), 0.0)
    left -= should
    may = loads[row, i, at.L_DC + 2] + loads[row, i, at.L_AC + 2] - got[2]
    may = max(min(may, loads[row, i, at.L_AC + 2], left), 0.0)
    brought = must + should + may
    if brought > 0.0:
        totals[n, at.T_BACKUP] += brought * step_h
        yearly[n, y, at.Y_BACKUP_H] += step_h
    return got[0] + must, got[1] + should, got[2] + may


@part
def note_gathered(
    states: FloatArray,
    totals: FloatArray,
    n: int,
    battery_side_w: float,
    backup_w: float,
    used_w: float,
    step_h: float,
) -> float:
    """Count what was taken from the array; return it [W].

    Array first, second source for the rest; what neither needs is left on the roof.
    """
    if battery_side_w + backup_w <= 0.0:
        return 0.0
    backup_used = min(backup_w, max(used_w - battery_side_w, 0.0))
    from_array = max(min(battery_side_w, used_w - backup_used), 0.0)
    gathered = from_array * states[n, at.D_PER_CONVERSION]
    totals[n, at.T_GATHERED] += gathered * step_h
    totals[n, at.T_CONVERSION] += (gathered - from_array) * step_h
    totals[n, at.T_BACKUP] += backup_used * step_h
    return float(gathered)

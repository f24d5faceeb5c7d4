"""The whole small system, step by step: compiled, designs in parallel, time in the inner loop.

One pass over the years for each design. Everything is float64; nothing is allocated
inside; the order of operations within a design does not depend on the number of
threads, so neither does any result. ``layout`` names every column.

How a step goes: the bank's voltage follows from its wells; the loads that are switched
on are added up at the battery bus; the array gives what its controller can take there;
what is left over charges the bank, held back by its voltage limit, its own limits and
the cold; what is missing comes out of the bank, least important loads going short
first; then the low-voltage disconnect looks at the voltage.
"""

from __future__ import annotations

import numpy as np
from numba import njit, prange

from sunpantry.physics.battery_step import (
    capacity_out_of_reach,
    charge_current,
    charge_resistance,
    cold_resistance,
    discharge_current,
    gassing_current,
    open_circuit,
)
from sunpantry.simulate import layout as at
from sunpantry.timegrid import FloatArray, IntArray

EQUALISE_EVERY_DAYS = 28
LOW_CHARGE = 0.40
FULL_CHARGE = 0.98
UNFILLED_AFTER_H = 14 * 24.0
# A step counts as short of power when more than this share of what was asked is missing.
SHORT_SHARE = 1e-9


@njit(cache=True, error_model="numpy", inline="always")
def _request(
    design: FloatArray, state: FloatArray, loads: FloatArray, open_v: float
) -> tuple[float, float, float, float, float, float, float, float]:
    """Power wanted at the battery bus: each class, and the inverter's overhead.

    Returns
    -------
    bus_must, bus_should, bus_may, overhead : float
        At the battery bus [W].
    out_must, out_should, out_may : float
        The same at the loads' own supply, without the inverter's losses [W].
    tripped : float
        1 when the inverter tripped and serves no AC, else 0.
    """
    if state[at.S_CONNECTED] == 0.0:
        return 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    on_should = 1.0 - state[at.S_SHED_SHOULD]
    on_may = 1.0 - state[at.S_SHED_MAY]
    ac_must = loads[at.L_AC]
    ac_should, ac_may = loads[at.L_AC + 1] * on_should, loads[at.L_AC + 2] * on_may
    rated = design[at.INVERTER_W]
    tripped = 0.0
    wanted = ac_must + ac_should + ac_may
    if wanted > rated:
        ac_may = 0.0
        if ac_must + ac_should > rated:
            ac_should = 0.0
            if ac_must > rated:
                ac_must = 0.0
                tripped = 1.0
    if loads[at.L_SURGE] > 0.0 and wanted > 0.0:
        amps = (ac_must + ac_should + ac_may + loads[at.L_SURGE]) / open_v
        if open_v - amps * design[at.SURGE_OHM] < design[at.INVERTER_CUT_V]:
            ac_must, ac_should, ac_may = 0.0, 0.0, 0.0
            tripped = 1.0
    ac = ac_must + ac_should + ac_may
    overhead = 0.0
    if ac > 0.0:
        overhead = design[at.INVERTER_P0] + design[at.INVERTER_K2] * ac * ac
    else:
        overhead = design[at.INVERTER_IDLE_W] * loads[at.L_IDLE]
    extra = design[at.INVERTER_K1]
    out_must = loads[at.L_DC] + ac_must
    out_should = loads[at.L_DC + 1] * on_should + ac_should
    out_may = loads[at.L_DC + 2] * on_may + ac_may
    bus = (out_must + ac_must * extra, out_should + ac_should * extra, out_may + ac_may * extra)
    return bus[0], bus[1], bus[2], overhead, out_must, out_should, out_may, tripped


@njit(cache=True, error_model="numpy", inline="always")
def _charge_target(design: FloatArray, state: FloatArray, cell_c: float, day: int) -> float:
    """Voltage the controller holds at most: absorption, float or equalising [V]."""
    if state[at.S_FLOATING] > 0.0:
        target = design[at.FLOAT_V]
    else:
        target = design[at.ABSORB_V]
        if design[at.EQUALISE_V] > 0.0 and day % EQUALISE_EVERY_DAYS == 0:
            target = design[at.EQUALISE_V]
    return float(target + design[at.COMP_V_PER_K] * (cell_c - 25.0))


@njit(cache=True, error_model="numpy", inline="always")
def _offer(
    design: FloatArray,
    sun: FloatArray,
    place: int,
    open_v: float,
    ohm: float,
    loaded_w: float,
    target_v: float,
) -> tuple[float, float]:
    """What the array can give at the battery side of the controller, and at its own terminals.

    Returns
    -------
    battery_side_w, array_side_w : float
        [W]; the second is the power offered by the sun at the array's operating point.
    """
    source = int(design[at.SOURCE])
    strings = design[at.STRINGS]
    first = np.float64(sun[source, 0, place])
    if first <= 0.0:
        return 0.0, 0.0
    if design[at.IS_MPPT] > 0.0:
        offered = first * strings
        if np.float64(sun[source, 1, place]) < open_v + design[at.HEADROOM_V]:
            return 0.0, offered
        useful = offered * design[at.CONVERSION]
        volts = min(open_v + ohm * max(useful - loaded_w, 0.0) / open_v, target_v)
        useful = min(useful, design[at.RATED_A] * max(volts, open_v))
        if design[at.PANEL_LIMIT_W] > 0.0:
            useful = min(useful, design[at.PANEL_LIMIT_W])
        return useful, offered
    second, third = np.float64(sun[source, 1, place]), np.float64(sun[source, 2, place])
    low, gap = design[at.NODE_LOW_V], design[at.NODE_STEP_V]
    volts = open_v
    amps = 0.0
    for _ in range(2):
        x = (volts - low) / gap
        amps = first + x * ((second - first) + 0.5 * (x - 1.0) * (third - 2.0 * second + first))
        amps = min(max(amps, 0.0) * strings, design[at.RATED_A])
        net = amps - loaded_w / open_v
        volts = min(open_v + ohm * net, max(target_v, open_v))
    return volts * amps * design[at.CONVERSION], volts * amps


@njit(cache=True, error_model="numpy", inline="always")
def _charge_limit_a(design: FloatArray, cell_c: float) -> float:
    """Largest charge current the battery takes at this temperature [A]."""
    if cell_c < design[at.MIN_CHARGE_C]:
        return 0.0
    limit = design[at.MAX_CHARGE_A]
    if design[at.COLD_CHARGE_A] < limit and cell_c < design[at.MIN_CHARGE_C] + 10.0:
        return float(design[at.COLD_CHARGE_A])
    return float(limit)


@njit(cache=True, error_model="numpy", inline="always")
def _charge(
    design: FloatArray,
    surplus_w: float,
    room_w: float,
    open_v: float,
    ohm_factor: float,
    filled: float,
    target_v: float,
    limit_a: float,
    cell_c: float,
    step_h: float,
) -> tuple[float, float, float, float, float, float, float]:
    """Let the bank take what it accepts of a surplus.

    Returns
    -------
    taken, stored, ohmic, side, gas : float
        Terminal power taken, and where it went [W].
    volts : float
        Terminal voltage [V].
    limited : float
        1 when the voltage limit held it back.
    """
    reach = design[at.TAPER_REACH]
    base = design[at.CHARGE_OHM] * ohm_factor
    ohm = charge_resistance(base, filled=filled, taper=design[at.TAPER], reach=reach)
    amps = min(charge_current(surplus_w, open_v=open_v, ohm=ohm), limit_a)
    volts = open_v + amps * ohm
    limited = 0.0
    if volts >= target_v:
        limited = 1.0
        volts = max(target_v, open_v)
        first = (volts - open_v) / ohm
        middle = min(filled + 0.5 * first * open_v * step_h / design[at.FULL_WH], 0.9995)
        ohm = charge_resistance(base, filled=middle, taper=design[at.TAPER], reach=reach)
        amps = min((volts - open_v) / ohm, amps)
    gas_a = 0.0
    if design[at.GAS_A] > 0.0:
        gas_a = gassing_current(design[at.GAS_A], cell_v=volts / design[at.CELLS], cell_c=cell_c)
        if limited > 0.0:
            # gassing comes on top of the tapering current, as far as the sun reaches
            spare = surplus_w / volts - amps
            if gas_a > spare:
                shift = gas_a - max(spare, 0.0)
                amps = max(amps - shift, 0.0)
                gas_a = min(gas_a, surplus_w / volts - amps)
        else:
            gas_a = min(gas_a, amps)
            amps -= gas_a
    stored = open_v * amps * design[at.COULOMBIC]
    if stored > room_w:
        amps *= max(room_w, 0.0) / stored
        stored = open_v * amps * design[at.COULOMBIC]
    side = open_v * amps * (1.0 - design[at.COULOMBIC])
    ohmic = (volts - open_v) * amps
    gas = volts * gas_a
    return stored + side + ohmic + gas, stored, ohmic, side, gas, volts, limited


@njit(cache=True, error_model="numpy", inline="always")
def _share_out(
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


@njit(cache=True, error_model="numpy", inline="always")
def _run_flexible(
    design: FloatArray,
    flexible: FloatArray,
    arrived: FloatArray,
    served: FloatArray,
    totals: FloatArray,
    year: FloatArray,
    t: int,
    filled: float,
    surplus_w: float,
    spare_w: float,
    step_h: float,
) -> float:
    """Run what can wait, if its rule lets it, and drop jobs whose deadline has passed.

    Parameters
    ----------
    surplus_w : float
        Sun left over when every other load is served [W].
    spare_w : float
        Surplus and what the bank could add [W]; 0 while the loads are disconnected.

    Returns
    -------
    float
        Power at the battery bus [W].
    """
    bus = 0.0
    for q in range(flexible.shape[0]):
        job_w = flexible[q, at.FLEX_W]
        if job_w <= 0.0:
            continue
        kind = int(flexible[q, at.FLEX_CLASS])
        before = arrived[q, t - 1] if t > 0 else 0.0
        year[at.Y_ASKED + kind] += arrived[q, t] - before
        late = t - int(flexible[q, at.FLEX_DEADLINE])
        if late >= 0 and arrived[q, late] - served[q] > 1e-9 * job_w:
            overdue = arrived[q, late] - served[q]
            served[q] += overdue
            served[flexible.shape[0] + at.CLASSES + q] += overdue
            year[at.Y_UNSERVED + kind] += overdue
            year[at.Y_HOURS + kind] += overdue / job_w
            year[at.Y_ANY_HOURS] += overdue / job_w
        backlog = arrived[q, t] - served[q]
        if backlog <= 1e-9 * job_w:
            continue
        level = flexible[q, at.FLEX_LEVEL]
        ceiling = (surplus_w if level > 1.0 else spare_w) - bus
        if ceiling <= 0.0 or (level <= 1.0 and filled < level):
            continue
        grow = 1.0 + design[at.INVERTER_K1] if flexible[q, at.FLEX_IS_AC] > 0.0 else 1.0
        power = min(job_w, backlog / step_h, ceiling / grow)
        if power < min(flexible[q, at.FLEX_LEAST_W], backlog / step_h):
            continue
        served[q] += power * step_h
        totals[at.T_SERVED + kind] += power * step_h
        totals[at.T_INVERTER] += power * (grow - 1.0) * step_h
        bus += power * grow
    return bus


@njit(cache=True, error_model="numpy", inline="always")
def _note_class(
    totals: FloatArray, year: FloatArray, kind: int, want: float, got: float, step_h: float
) -> float:
    """Count what one class asked for and did not get; return the share missing [-]."""
    if want <= 0.0:
        return 0.0
    year[at.Y_ASKED + kind] += want * step_h
    totals[at.T_SERVED + kind] += got * step_h
    missing = want - got
    if missing <= SHORT_SHARE * want:
        return 0.0
    year[at.Y_UNSERVED + kind] += missing * step_h
    year[at.Y_HOURS + kind] += missing / want * step_h
    return missing / want


@njit(cache=True, error_model="numpy", inline="always")
def _note_gaps(
    state: FloatArray,
    totals: FloatArray,
    year: FloatArray,
    worst: float,
    must_share: float,
    asked: float,
    asked_must: float,
    step_h: float,
) -> None:
    """Keep the running gaps: clock time from a shortage to the next full service."""
    if worst > 0.0:
        year[at.Y_ANY_HOURS] += worst * step_h
        state[at.S_GAP_H] += step_h
    elif state[at.S_GAP_H] > 0.0:
        state[at.S_GAP_H] = 0.0 if asked > 0.0 else state[at.S_GAP_H] + step_h
    totals[at.T_LONGEST_GAP] = max(totals[at.T_LONGEST_GAP], state[at.S_GAP_H])
    if must_share > 0.0:
        state[at.S_MUST_GAP_H] += step_h
    elif state[at.S_MUST_GAP_H] > 0.0:
        state[at.S_MUST_GAP_H] = 0.0 if asked_must > 0.0 else state[at.S_MUST_GAP_H] + step_h
    totals[at.T_LONGEST_MUST_GAP] = max(totals[at.T_LONGEST_MUST_GAP], state[at.S_MUST_GAP_H])


@njit(cache=True, error_model="numpy", inline="always")
def _switch(
    design: FloatArray,
    state: FloatArray,
    totals: FloatArray,
    year: FloatArray,
    volts: float,
    filled: float,
) -> None:
    """Low-voltage disconnect and reconnect, shedding by importance, second source."""
    if state[at.S_CONNECTED] > 0.0:
        if volts < design[at.DISCONNECT_V]:
            state[at.S_CONNECTED] = 0.0
            totals[at.T_TRIPS] += 1.0
    elif volts > design[at.RECONNECT_V]:
        state[at.S_CONNECTED] = 1.0
    for column, shed in ((at.SHED_SHOULD, at.S_SHED_SHOULD), (at.SHED_MAY, at.S_SHED_MAY)):
        level = design[column]
        if state[shed] > 0.0:
            if filled > level + at.SHED_HYSTERESIS:
                state[shed] = 0.0
        elif filled < level:
            state[shed] = 1.0
    if design[at.BACKUP_W] > 0.0:
        if state[at.S_BACKUP] > 0.0:
            if filled > design[at.BACKUP_OFF]:
                state[at.S_BACKUP] = 0.0
        elif filled < design[at.BACKUP_ON]:
            state[at.S_BACKUP] = 1.0
            year[at.Y_BACKUP_STARTS] += 1.0


@njit(cache=True, error_model="numpy", inline="always")
def _end_of_day(
    design: FloatArray, state: FloatArray, totals: FloatArray, year: FloatArray, filled: float
) -> None:
    """Wear of the day's cycle; a new day starts a new charge."""
    depth = state[at.S_DAY_HIGH] - state[at.S_DAY_LOW]
    if depth > 0.0:
        totals[at.T_WEAR] += design[at.WEAR_PER_CYCLE] * depth ** design[at.WEAR_EXPONENT]
    if state[at.S_DAY_HIGH] >= FULL_CHARGE:
        year[at.Y_FULL_DAYS] += 1.0
    state[at.S_DAY_HIGH] = filled
    state[at.S_DAY_LOW] = filled
    state[at.S_FLOATING] = 0.0
    state[at.S_ABSORBED_H] = 0.0


@njit(cache=True, error_model="numpy", inline="always")
def _after_step(state: FloatArray, totals: FloatArray, filled: float, step_h: float) -> None:
    """Keep the day's and the year's extremes and the hours spent low or unfilled."""
    state[at.S_DAY_HIGH] = max(state[at.S_DAY_HIGH], filled)
    state[at.S_DAY_LOW] = min(state[at.S_DAY_LOW], filled)
    state[at.S_YEAR_HIGH] = max(state[at.S_YEAR_HIGH], filled)
    state[at.S_YEAR_LOW] = min(state[at.S_YEAR_LOW], filled)
    if filled < LOW_CHARGE:
        totals[at.T_LOW_H] += step_h
    if filled >= FULL_CHARGE:
        state[at.S_SINCE_FULL_H] = 0.0
    else:
        state[at.S_SINCE_FULL_H] += step_h
        if state[at.S_SINCE_FULL_H] > UNFILLED_AFTER_H:
            totals[at.T_UNFILLED_H] += step_h


@njit(cache=True, error_model="numpy", inline="always")
def _step(
    design: FloatArray,
    state: FloatArray,
    totals: FloatArray,
    year: FloatArray,
    sun: FloatArray,
    place: int,
    curves: FloatArray,
    cell_c: float,
    loads: FloatArray,
    flexible: FloatArray,
    arrived: FloatArray,
    served: FloatArray,
    t: int,
    day: int,
    step_h: float,
) -> tuple[float, float, float, float, float, float, float, float]:
    """Advance one design by one step.

    Returns
    -------
    gathered, offered, delivered, volts, amps : float
        Means over the step [W, V, A].
    less_must, less_should, less_may : float
        Share of each class that was asked for and not delivered [-].
    """
    full = design[at.FULL_WH]
    curve = int(design[at.CURVE])
    share = design[at.AVAILABLE]
    w1, w0 = state[at.S_AVAILABLE], state[at.S_AVAILABLE] + state[at.S_BOUND]
    filled = w0 / full
    # The cold keeps part of the available well back; its edge is where the voltage gives way.
    kept_back = capacity_out_of_reach(design[at.COLD_CAPACITY], cell_c)
    open_v = open_circuit(curves, curve, (w1 / (share * full) - kept_back) / (1.0 - kept_back))
    ohm_factor = cold_resistance(design[at.COLD_RESISTANCE], cell_c)
    ohm_out = design[at.DISCHARGE_OHM] * ohm_factor

    bus_must, bus_should, bus_may, overhead, out_must, out_should, out_may, _ = _request(
        design, state, loads, open_v
    )
    wanted = bus_must + bus_should + bus_may + overhead
    if design[at.OUTPUT_A_MIN] > 0.0 and wanted < design[at.OUTPUT_A_MIN] * open_v:
        bus_must, bus_should, bus_may, overhead, wanted = 0.0, 0.0, 0.0, 0.0, 0.0
        out_must, out_should, out_may = 0.0, 0.0, 0.0
    own_w = design[at.OWN_A] * open_v
    target_v = _charge_target(design, state, cell_c, day)

    battery_side, offered, backup_w = 0.0, 0.0, 0.0
    if place >= 0:
        ohm_in = charge_resistance(
            design[at.CHARGE_OHM] * ohm_factor,
            filled=filled,
            taper=design[at.TAPER],
            reach=design[at.TAPER_REACH],
        )
        battery_side, offered = _offer(design, sun, place, open_v, ohm_in, wanted + own_w, target_v)
    if state[at.S_BACKUP] > 0.0 and loads[at.L_BACKUP] > 0.0:
        backup_w = design[at.BACKUP_W]
        year[at.Y_BACKUP_H] += step_h

    # What the wells can give, before the cold floor and the current limit are reached.
    settled = design[at.KEEP] * w1 + design[at.REFILL] * w0
    inner_out = max((settled - kept_back * share * full) / design[at.DRAW_H], 0.0)
    inner_out = min(inner_out, w0 / step_h, design[at.MAX_DISCHARGE_A] * open_v)
    amps_out = min(inner_out / open_v, 0.5 * open_v / ohm_out)
    bank_w = amps_out * (open_v - amps_out * ohm_out)

    supply = battery_side + backup_w
    flexible_w = 0.0
    if flexible.shape[0] > 0:
        connected = state[at.S_CONNECTED]
        flexible_w = _run_flexible(
            design, flexible, arrived, served, totals, year, t, filled,
            (supply - wanted - own_w) * connected,
            (supply + bank_w - wanted - own_w) * connected,
            step_h,
        )  # fmt: skip

    own_w = min(own_w, supply + bank_w)
    got_overhead, got_must, got_should, got_may = overhead, bus_must, bus_should, bus_may
    short = supply + bank_w < wanted + own_w + flexible_w
    if short:
        got_overhead, got_must, got_should, got_may = _share_out(
            supply + bank_w - own_w - flexible_w, overhead, bus_must, bus_should, bus_may
        )
        out_must *= got_must / bus_must if bus_must > 0.0 else 0.0
        out_should *= got_should / bus_should if bus_should > 0.0 else 0.0
        out_may *= got_may / bus_may if bus_may > 0.0 else 0.0
    used = own_w + flexible_w + got_overhead + got_must + got_should + got_may

    stored, volts, amps = 0.0, open_v, 0.0
    taken, lost_ohmic, lost_side, lost_gas, inner = 0.0, 0.0, 0.0, 0.0, 0.0
    if supply > used:
        limit_a = _charge_limit_a(design, cell_c)
        surplus = supply - used
        if limit_a <= 0.0:
            totals[at.T_FROZEN_H] += step_h
            if design[at.HEATER_W] > 0.0 and surplus > design[at.HEATER_W]:
                own_w += design[at.HEATER_W]
                used += design[at.HEATER_W]
                surplus -= design[at.HEATER_W]
                limit_a = design[at.COLD_CHARGE_A]
        if limit_a > 0.0:
            room = (share * full - settled) / design[at.DRAW_H]
            room = min(room, (full - w0) / step_h)
            taken, stored, lost_ohmic, lost_side, lost_gas, volts, limited = _charge(
                design, surplus, room, open_v, ohm_factor, filled, target_v, limit_a,
                cell_c, step_h,
            )  # fmt: skip
            amps = taken / volts
            if limited > 0.0 and state[at.S_FLOATING] == 0.0:
                state[at.S_ABSORBED_H] += step_h
                if state[at.S_ABSORBED_H] >= design[at.ABSORB_H]:
                    state[at.S_FLOATING] = 1.0
        inner = -stored
    else:
        drawn = min(used - supply, bank_w)
        amps = -discharge_current(drawn, open_v=open_v, ohm=ohm_out)
        lost_ohmic = amps * amps * ohm_out
        inner = drawn + lost_ohmic
        volts = open_v + amps * ohm_out
        totals[at.T_THROUGHPUT] += inner * step_h

    gathered = 0.0
    if supply > 0.0:
        # Array first, second source for the rest; what neither needs is left on the roof.
        backup_used = min(backup_w, max(used + taken - battery_side, 0.0))
        from_array = max(min(battery_side, used + taken - backup_used), 0.0)
        gathered = from_array / design[at.CONVERSION]
        totals[at.T_GATHERED] += gathered * step_h
        totals[at.T_CONVERSION] += (gathered - from_array) * step_h
        totals[at.T_BACKUP] += backup_used * step_h
        totals[at.T_COULOMBIC] += lost_side * step_h
        totals[at.T_GAS] += lost_gas * step_h
        totals[at.T_GAS_AH] += lost_gas / volts * step_h
    totals[at.T_OFFERED] += offered * step_h
    totals[at.T_OWN] += own_w * step_h
    totals[at.T_OHMIC] += lost_ohmic * step_h
    totals[at.T_INVERTER] += (
        got_overhead + got_must - out_must + got_should - out_should + got_may - out_may
    ) * step_h

    new_available = settled - design[at.DRAW_H] * inner
    new_bound = max(w0 - inner * step_h - new_available, 0.0)
    new_available = max(new_available, 0.0)
    leak = design[at.LEAK_PER_H] * step_h
    totals[at.T_LEAK] += leak * (new_available + new_bound)
    new_available *= 1.0 - leak
    new_bound *= 1.0 - leak
    state[at.S_AVAILABLE] = new_available
    state[at.S_BOUND] = new_bound

    ask_must = loads[at.L_DC] + loads[at.L_AC]
    ask_should = loads[at.L_DC + 1] + loads[at.L_AC + 1]
    ask_may = loads[at.L_DC + 2] + loads[at.L_AC + 2]
    less_must = _note_class(totals, year, at.MUST, ask_must, out_must, step_h)
    less_should = _note_class(totals, year, at.SHOULD, ask_should, out_should, step_h)
    less_may = _note_class(totals, year, at.MAY, ask_may, out_may, step_h)
    worst = max(less_must, less_should, less_may)
    if worst > 0.0 or state[at.S_GAP_H] > 0.0:
        asked = ask_must + ask_should + ask_may
        _note_gaps(state, totals, year, worst, less_must, asked, ask_must, step_h)

    filled = (new_available + new_bound) / full
    _switch(design, state, totals, year, volts, filled)
    _after_step(state, totals, filled, step_h)
    delivered = out_must + out_should + out_may + flexible_w
    return gathered, offered, delivered, volts, amps, less_must, less_should, less_may


@njit(cache=True, error_model="numpy", inline="always")
def _start(design: FloatArray, state: FloatArray, totals: FloatArray) -> None:
    """Begin with a full bank, everything switched on."""
    full = design[at.FULL_WH]
    state[:] = 0.0
    state[at.S_AVAILABLE] = design[at.AVAILABLE] * full
    state[at.S_BOUND] = full - state[at.S_AVAILABLE]
    state[at.S_CONNECTED] = 1.0
    state[at.S_DAY_LOW], state[at.S_DAY_HIGH] = 1.0, 1.0
    totals[at.T_STORED_FIRST] = full


@njit(cache=True, error_model="numpy", inline="always")
def _promise_broken(year: FloatArray, spent: FloatArray, allowed_h: FloatArray) -> bool:
    """Whether the hours without power so far already exceed what all the years may have."""
    for kind in range(at.CLASSES):
        if allowed_h[kind] >= 0.0 and spent[kind] + year[at.Y_HOURS + kind] > allowed_h[kind]:
            return True
    return False


@njit(cache=True, error_model="numpy", inline="always")
def _note_month(
    month: FloatArray, trace: FloatArray, t: int, state: FloatArray, full: float,
    flow: tuple[float, float, float, float, float, float, float, float],
    loads: FloatArray, step_h: float,
) -> None:  # fmt: skip
    """Write one step of a design that is looked at in detail."""
    gathered, offered, delivered, volts, amps, less_must, less_should, less_may = flow
    filled = (state[at.S_AVAILABLE] + state[at.S_BOUND]) / full
    missing = (
        less_must * (loads[at.L_DC] + loads[at.L_AC])
        + less_should * (loads[at.L_DC + 1] + loads[at.L_AC + 1])
        + less_may * (loads[at.L_DC + 2] + loads[at.L_AC + 2])
    )
    month[at.M_OFFERED] += offered * step_h
    month[at.M_GATHERED] += gathered * step_h
    month[at.M_SERVED] += delivered * step_h
    month[at.M_UNSERVED] += missing * step_h
    month[at.M_HOURS] += max(less_must, less_should, less_may) * step_h
    month[at.M_LOWEST] = min(month[at.M_LOWEST], filled)
    month[at.M_SOC] += filled
    month[at.M_STEPS] += 1.0
    trace[at.TR_SOC, t] = filled
    trace[at.TR_VOLT, t] = volts
    trace[at.TR_PV, t] = gathered
    trace[at.TR_OFFERED, t] = offered
    trace[at.TR_LOAD, t] = delivered
    trace[at.TR_UNSERVED, t] = missing
    trace[at.TR_CURRENT, t] = amps
    trace[at.TR_MUST, t] = 1.0 - less_must
    trace[at.TR_SHOULD, t] = 1.0 - less_should
    trace[at.TR_MAY, t] = 1.0 - less_may


@njit(cache=True, error_model="numpy")
def run_one(
    design: FloatArray,
    state: FloatArray,
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
    totals: FloatArray,
    yearly: FloatArray,
    monthly: FloatArray,
    traces: FloatArray,
) -> None:
    """Run one design through all years; see :func:`run_designs` for the arrays."""
    _start(design, state, totals)
    temperature = cells_c[int(design[at.ENVIRONMENT])]
    load = loads[int(design[at.LOADS])]
    steps = sun_place.shape[0]
    lit = sun.shape[2] // yearly.shape[0]
    per_day = round(24.0 / step_h)
    trace = int(design[at.TRACE])
    full = design[at.FULL_WH]
    spent = served[flexible.shape[0] : flexible.shape[0] + at.CLASSES]
    at_load = 0
    for y in range(yearly.shape[0]):
        year = yearly[y]
        state[at.S_YEAR_LOW], state[at.S_YEAR_HIGH] = 1.0, 0.0
        left_today = per_day
        day = 0
        for i in range(steps):
            t = y * steps + i
            here = sun_place[i]
            row = load[at_load]
            flow = _step(
                design, state, totals, year, sun, here + y * lit if here >= 0 else -1, curves,
                temperature[t], row, flexible, arrived, served, t, day, step_h,
            )  # fmt: skip
            at_load += 1
            if at_load == load.shape[0]:
                at_load = 0
            if trace >= 0:
                _note_month(monthly[month_of[i]], traces[trace], t, state, full, flow, row, step_h)
            left_today -= 1
            if left_today == 0:
                left_today = per_day
                day += 1
                filled = (state[at.S_AVAILABLE] + state[at.S_BOUND]) / full
                _end_of_day(design, state, totals, year, filled)
                if _promise_broken(year, spent, allowed_h):
                    totals[at.T_STOPPED] = 1.0
                    return
        year[at.Y_LOWEST] = state[at.S_YEAR_LOW]
        depth = state[at.S_YEAR_HIGH] - state[at.S_YEAR_LOW]
        totals[at.T_WEAR] += design[at.WEAR_PER_CYCLE] * depth ** design[at.WEAR_EXPONENT]
        for kind in range(at.CLASSES):
            spent[kind] += year[at.Y_HOURS + kind]
    totals[at.T_STORED_LAST] = state[at.S_AVAILABLE] + state[at.S_BOUND]


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
    totals: FloatArray,
    yearly: FloatArray,
    monthly: FloatArray,
    traces: FloatArray,
) -> None:
    """Run every design through every year, in parallel over designs.

    Parameters
    ----------
    designs : (n, DESIGN_COLUMNS)
        What each design is, by :mod:`sunpantry.simulate.layout`.
    states : (n, STATE_COLUMNS)
        Scratch space.
    sun : (sources, 3, years * lit steps), float32 or float64
        MPPT: power and voltage of one string at its maximum power [W, V]. PWM: current of
        one string at three battery voltages [A].
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
    served : (n, 2 queues + 3)
        Zeros on entry. For each queue the energy of jobs done or given up, then scratch,
        then for each queue the energy of jobs given up [Wh].
    allowed_h : (3,)
        Hours without power that each class may have over all years; negative: no limit.
        A design that has used up an allowance is given up (``T_STOPPED``).
    step_h : float
        Length of a step [h].
    totals, yearly, monthly, traces
        Results, zeros on entry (``M_LOWEST`` one): (n, TOTAL_COLUMNS),
        (n, years, YEAR_COLUMNS), (n or 1, 12, MONTH_COLUMNS), (traced, TRACE_COLUMNS, steps).
    """
    for n in prange(designs.shape[0]):
        row = int(designs[n, at.LOADS])
        trace = int(designs[n, at.TRACE])
        run_one(
            designs[n], states[n], sun, sun_place, month_of, curves, cells_c, loads,
            flexible[row], arrived[row], served[n], allowed_h, step_h,
            totals[n], yearly[n], monthly[max(trace, 0)], traces,
        )  # fmt: skip

"""Parts of a step in the bank: how it stands, what it gives, how its wells move."""

from __future__ import annotations

import math

from sunpantry.physics.battery_step import (
    capacity_out_of_reach,
    cold_resistance,
    discharge_current,
    discharge_growth,
    open_circuit,
)
from sunpantry.physics.compiled import part, rare_part
from sunpantry.simulate import layout as at
from sunpantry.simulate.kernel_bus import Classes, share_out, within_limit
from sunpantry.timegrid import FloatArray, IndexArray


@part
def look(
    designs: FloatArray,
    states: FloatArray,
    curves: FloatArray,
    cells_c: FloatArray,
    points: IndexArray,
    n: int,
    t: int,
) -> None:
    """See how the bank stands at the start of a step: content, voltage, resistance."""
    cell_c = cells_c[points[n, at.P_ENVIRONMENT], t]
    available = states[n, at.S_AVAILABLE]
    whole = available + states[n, at.S_BOUND]
    # The cold keeps part of the available well back; its edge is where the voltage gives way.
    kept = capacity_out_of_reach(designs[n, at.COLD_CAPACITY], cell_c)
    head = (available * states[n, at.D_PER_WELL] - kept) / (1.0 - kept)
    cold = cold_resistance(designs[n, at.COLD_CHARGE_RESISTANCE], cell_c)
    drained = cold_resistance(designs[n, at.COLD_RESISTANCE], cell_c) * discharge_growth(
        whole * states[n, at.D_PER_FULL], designs[n, at.DRAIN], designs[n, at.DRAIN_REACH]
    )
    states[n, at.N_OPEN_V] = open_circuit(curves, points[n, at.P_CURVE], head)
    states[n, at.N_CELL_C] = cell_c
    states[n, at.N_WHOLE] = whole
    kept_wh = kept * states[n, at.D_WELL]
    if cell_c < designs[n, at.MIN_DISCHARGE_C]:
        kept_wh = states[n, at.D_WELL]  # its electronics open
    states[n, at.N_KEPT_WH] = kept_wh
    states[n, at.N_COLD] = cold
    states[n, at.N_DRAINED] = drained


@part
def most_inner_w(
    designs: FloatArray, states: FloatArray, n: int, settled: float, kept_wh: float, open_v: float
) -> float:
    """Most that the wells give before the cold's edge or the current limit is reached [W]."""
    most = max((settled - kept_wh) * states[n, at.D_PER_DRAW], 0.0)
    return float(min(most, designs[n, at.MAX_DISCHARGE_A] * open_v))


@part
def flow(designs: FloatArray, states: FloatArray, n: int) -> None:
    """Current that would serve all, or take all of a surplus, if the bank had no limits."""
    open_v = states[n, at.N_OPEN_V]
    short_w = states[n, at.N_USED] - (states[n, at.N_ROOF_W] + states[n, at.N_BACKUP_W])
    ohm = designs[n, at.DISCHARGE_OHM] * states[n, at.N_DRAINED]
    if short_w < 0.0:
        ohm = states[n, at.N_CHARGE_OHM]
    under = max(open_v * open_v - 4.0 * ohm * short_w, 0.0)
    states[n, at.N_DRAWN_A] = 2.0 * short_w / (open_v + math.sqrt(under))


@rare_part
def dipped_v(
    designs: FloatArray,
    states: FloatArray,
    loads: FloatArray,
    n: int,
    row: int,
    i: int,
    job_start_w: float,
    volts: float,
    amps: float,
    open_v: float,
    drained: float,
) -> float:
    """The rare part of :func:`lowest_v`."""
    kind = at.MAY
    if states[n, at.S_SHED_SHOULD] > 0.0:
        kind = at.MUST
    elif states[n, at.S_SHED_MAY] > 0.0:
        kind = at.SHOULD
    surge_w = max(loads[row, i, at.L_DC_SURGE + kind], job_start_w)
    if designs[n, at.RIDES_STARTS] > 0.0:
        surge_w = loads[row, i, at.L_DC_PEAK + kind]
    from_v = volts
    if amps > 0.0:
        surge_w -= amps * volts
        from_v = open_v
    if surge_w <= 0.0 or states[n, at.S_CONNECTED] == 0.0:
        return volts
    under = from_v * from_v - 4.0 * designs[n, at.SURGE_OHM] * drained * surge_w
    return 0.5 * (from_v + math.sqrt(under)) if under > 0.0 else 0.0


@part
def lowest_v(
    designs: FloatArray,
    states: FloatArray,
    loads: FloatArray,
    n: int,
    row: int,
    i: int,
    job_start_w: float,
    volts: float,
    amps: float,
    open_v: float,
    drained: float,
) -> float:
    """Voltage to which the hardest start on the DC side pulls the bank in a step [V].

    Where the disconnect waits longer than a start lasts, everything running at its full power.

    Parameters
    ----------
    job_start_w : float
        Of jobs at work, above their power [W].
    volts, amps : float
        At the bank, means of the step [V, A]; a charge current is given up first.
    open_v : float
        Open-circuit voltage [V].
    drained : float
        Factor on the resistance on discharge [-].
    """
    if loads[row, i, at.L_DC_SURGE + at.MAY] + job_start_w <= 0.0:
        return volts
    return dipped_v(designs, states, loads, n, row, i, job_start_w, volts, amps, open_v, drained)


@rare_part
def go_short(
    designs: FloatArray,
    n: int,
    supply_w: float,
    most_w: float,
    open_v: float,
    ohm: float,
    own_w: float,
    flexible_w: float,
    overhead: float,
    dc: Classes,
    ac: Classes,
) -> tuple[float, float, float, Classes]:
    """Share out what sun and bank can give when it is not enough.

    Of what would exceed the current limit of a bank with a BMS whole classes go without.

    Parameters
    ----------
    most_w : float
        Most that the wells give [W].
    dc, ac : tuple of float
        Wanted by the classes on each side [W].

    Returns
    -------
    amps : float
        Drawn from the bank [A].
    own_w, inverter_w : float
        Controller's own, and lost in the inverter [W].
    got : tuple of float
        Delivered to each class [W].
    """
    grow = 1.0 + designs[n, at.INVERTER_K1]
    amps = min(most_w / open_v, 0.5 * open_v / ohm)
    bank_w = amps * (open_v - amps * ohm)
    own_w = min(own_w, supply_w + bank_w)
    left_w = supply_w + bank_w - own_w - flexible_w
    if designs[n, at.BMS] > 0.0:
        limit_a = min(designs[n, at.MAX_DISCHARGE_A], 0.5 * open_v / ohm)
        more_w = limit_a * (open_v - limit_a * ohm) - bank_w
        overhead, dc, ac = within_limit(designs, n, left_w + more_w, overhead, dc, ac)
    bus = (dc[0] + ac[0] * grow, dc[1] + ac[1] * grow, dc[2] + ac[2] * grow)
    got_overhead, got_must, got_should, got_may = share_out(
        left_w, overhead, bus[0], bus[1], bus[2]
    )
    must = (dc[0] + ac[0]) * (got_must / bus[0] if bus[0] > 0.0 else 0.0)
    should = (dc[1] + ac[1]) * (got_should / bus[1] if bus[1] > 0.0 else 0.0)
    may = (dc[2] + ac[2]) * (got_may / bus[2] if bus[2] > 0.0 else 0.0)
    got = got_overhead + got_must + got_should + got_may
    drawn = min(max(own_w + flexible_w + got - supply_w, 0.0), bank_w)
    amps = discharge_current(drawn, open_v, ohm)
    return amps, own_w, got - must - should - may, (must, should, may)


@part
def drawn(
    designs: FloatArray,
    states: FloatArray,
    totals: FloatArray,
    n: int,
    supply_w: float,
    need_w: float,
    amps: float,
    most_w: float,
    open_v: float,
    ohm: float,
    flexible_w: float,
    own_w: float,
    overhead: float,
    dc: Classes,
    ac: Classes,
    step_h: float,
) -> tuple[float, float, float, Classes]:
    """Take what is missing out of the bank, as far as it can give.

    Parameters
    ----------
    need_w : float
        Missing at the terminals [W].
    amps : float
        Current that would bring it [A].
    most_w : float
        Most that the wells give [W].

    Returns
    -------
    amps, own_w, inverter_w : float
        Drawn from the bank [A]; controller's own, and lost in the inverter [W].
    got : tuple of float
        Delivered to each class [W].
    """
    inverter_w = overhead + designs[n, at.INVERTER_K1] * (ac[0] + ac[1] + ac[2])
    got = (dc[0] + ac[0], dc[1] + ac[1], dc[2] + ac[2])
    if open_v * amps > most_w or 4.0 * ohm * need_w >= open_v * open_v:
        states[n, at.N_LESS] = 1.0
        amps, own_w, inverter_w, got = go_short(
            designs, n, supply_w, most_w, open_v, ohm, own_w, flexible_w, overhead, dc, ac
        )
    totals[n, at.T_THROUGHPUT] += amps * open_v * step_h
    totals[n, at.T_OHMIC] += amps * amps * ohm * step_h
    return amps, own_w, inverter_w, got


@part
def settle(
    designs: FloatArray,
    states: FloatArray,
    totals: FloatArray,
    n: int,
    settled: float,
    whole: float,
    inner_w: float,
    step_h: float,
) -> float:
    """Move the wells to the end of the step; return the state of charge there [-].

    Parameters
    ----------
    settled, whole : float
        Available well at the end of the step at rest, and both wells at its start [Wh].
    inner_w : float
        Flow out of the wells [W].
    """
    # What a charge would heap upon a full available well goes on into the bound one: how
    # fast a bank fills is a matter of its charge resistance.
    available = min(settled - designs[n, at.DRAW_H] * inner_w, states[n, at.D_WELL])
    bound = max(whole - inner_w * step_h - available, 0.0)
    available = max(available, 0.0)
    kept = states[n, at.D_KEPT]
    totals[n, at.T_LEAK] += (1.0 - kept) * (available + bound)
    available *= kept
    bound *= kept
    states[n, at.S_AVAILABLE] = available
    states[n, at.S_BOUND] = bound
    return float((available + bound) * states[n, at.D_PER_FULL])

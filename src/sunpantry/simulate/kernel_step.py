"""One step of one design: sun, loads and bank brought together.

The bank's voltage follows from its wells; the loads that are switched on are added up
at the battery bus; the array gives what its controller can take there; what is left
over charges the bank, held back by its voltage limit, its own limits and the cold; what
is missing comes out of the bank, least important loads going short first; then the
low-voltage disconnect looks at the voltage.
"""

from __future__ import annotations

from sunpantry.physics.compiled import part, rare_part
from sunpantry.simulate import layout as at
from sunpantry.simulate.kernel_array import supplied
from sunpantry.simulate.kernel_bank import bank_now, drawn, lowest_v, most_inner_w, settle
from sunpantry.simulate.kernel_book import (
    note_details,
    note_level,
    note_service,
    switch,
)
from sunpantry.simulate.kernel_bus import Classes, input_w, note_gathered, switched_on, transferred
from sunpantry.simulate.kernel_charge import charge
from sunpantry.simulate.kernel_flexible import run_flexible
from sunpantry.timegrid import FloatArray

NO_LIMIT_W = 1e30


@rare_part
def asked_to_wait(
    designs: FloatArray,
    states: FloatArray,
    flexible: FloatArray,
    arrived: FloatArray,
    served: FloatArray,
    totals: FloatArray,
    yearly: FloatArray,
    traces: FloatArray,
    n: int,
    y: int,
    row: int,
    t: int,
    filled: float,
    surplus_w: float,
    settled: float,
    kept_wh: float,
    open_v: float,
    drained: float,
    dc: Classes,
    ac: Classes,
    overhead: float,
    step_h: float,
) -> tuple[float, float, float]:
    """Run the loads that can wait, from the surplus and what the bank could add.

    Returns
    -------
    bus_w, delivered_w : float
        At the battery bus, and at the loads' own supply [W].
    start_w : float
        Hardest start among those on the DC side, above its power [W].
    """
    most_w = most_inner_w(designs, states, n, settled, kept_wh, open_v)
    ohm = designs[n, at.DISCHARGE_OHM] * drained
    amps = min(most_w / open_v, 0.5 * open_v / ohm)
    bank_w = amps * (open_v - amps * ohm)
    on = states[n, at.S_CONNECTED]
    carried_w, dc_w = ac[0] + ac[1] + ac[2], dc[0] + dc[1] + dc[2]
    room_w, output_w = 0.0, NO_LIMIT_W
    if designs[n, at.OUTPUT_A] > 0.0:
        output_w = designs[n, at.OUTPUT_A] * open_v - designs[n, at.OUTPUT_DC] * dc_w
        output_w -= designs[n, at.OUTPUT_AC] * input_w(designs, n, carried_w)
    on_mains = states[n, at.S_BACKUP] * designs[n, at.TRANSFER]
    if states[n, at.S_INVERTER_OUT] + on_mains == 0.0:
        room_w = designs[n, at.INVERTER_W] - carried_w
    return run_flexible(
        designs, flexible, arrived, served, totals, yearly, traces, n, y, row, t, filled,
        surplus_w * on, (surplus_w + bank_w) * on,
        (carried_w, room_w, overhead, output_w, dc_w, open_v, drained), step_h,
    )  # fmt: skip


@part
def exchange(
    designs: FloatArray,
    states: FloatArray,
    totals: FloatArray,
    n: int,
    supply: float,
    used: float,
    flexible_w: float,
    own_w: float,
    overhead: float,
    dc: Classes,
    ac: Classes,
    whole: float,
    settled: float,
    kept_wh: float,
    open_v: float,
    cold: float,
    drained: float,
    target_v: float,
    ohm_in: float,
    cell_c: float,
    step_h: float,
) -> tuple[float, float, float, float, float, float, float, Classes]:
    """Put a surplus into the bank, or take out of it what is missing.

    Returns
    -------
    taken : float
        Taken by the bank at its terminals [W].
    inner : float
        Flow out of the wells, negative on charge [W].
    used, own_w, inverter_w : float
        All that is used, the controller's and the inverter's part of it [W].
    volts, amps : float
        At the bank, positive on charge [V, A].
    got : tuple of float
        Delivered to each class [W].
    """
    if supply > used:
        room = (designs[n, at.FULL_WH] - whole) / step_h
        taken, stored, heater_w, volts, amps = charge(
            designs, states, totals, n, supply - used, room, open_v, cold, ohm_in,
            whole * states[n, at.D_PER_FULL], target_v, cell_c, step_h,
        )  # fmt: skip
        inverter_w = overhead + designs[n, at.INVERTER_K1] * (ac[0] + ac[1] + ac[2])
        got = (dc[0] + ac[0], dc[1] + ac[1], dc[2] + ac[2])
        return taken, -stored, used + heater_w, own_w + heater_w, inverter_w, volts, amps, got
    most = most_inner_w(designs, states, n, settled, kept_wh, open_v)
    ohm = designs[n, at.DISCHARGE_OHM] * drained
    amps, own_w, inverter_w, got = drawn(
        designs, totals, n, supply, used - supply, most, open_v, ohm, flexible_w,
        own_w, overhead, dc, ac, step_h,
    )  # fmt: skip
    used = own_w + flexible_w + inverter_w + got[0] + got[1] + got[2]
    return 0.0, amps * open_v, used, own_w, inverter_w, open_v - amps * ohm, -amps, got


@part
def second_source(
    designs: FloatArray,
    states: FloatArray,
    yearly: FloatArray,
    loads: FloatArray,
    n: int,
    y: int,
    row: int,
    i: int,
    step_h: float,
) -> float:
    """Power that the second source brings [W]."""
    if (
        states[n, at.S_BACKUP] == 0.0
        or loads[row, i, at.L_BACKUP] == 0.0
        or designs[n, at.TRANSFER] > 0.0
    ):
        return 0.0
    yearly[n, y, at.Y_BACKUP_H] += step_h
    return float(designs[n, at.BACKUP_W])


@part
def keep_books(
    designs: FloatArray,
    states: FloatArray,
    totals: FloatArray,
    yearly: FloatArray,
    monthly: FloatArray,
    traces: FloatArray,
    loads: FloatArray,
    n: int,
    y: int,
    t: int,
    row: int,
    i: int,
    month: int,
    filled: float,
    got: Classes,
    flow: tuple[float, float, float, float, float],
    lowest: float,
    step_h: float,
) -> None:
    """Look at the end of a step: shortages, switches, extremes, and details where wanted.

    Parameters
    ----------
    filled : float
        State of charge at the end [-].
    got : tuple of float
        Delivered to each class [W].
    flow : tuple of float
        Gathered, offered, delivered [W], volts [V], amps [A].
    lowest : float
        Voltage when the hardest start falls in the step [V].
    """
    asked = (
        loads[row, i, at.L_DC] + loads[row, i, at.L_AC],
        loads[row, i, at.L_DC + 1] + loads[row, i, at.L_AC + 1],
        loads[row, i, at.L_DC + 2] + loads[row, i, at.L_AC + 2],
    )
    less = note_service(states, totals, yearly, n, y, asked, got, step_h)
    if (
        states[n, at.S_CALM] == 0.0
        or filled < states[n, at.D_CALM_ABOVE]
        or lowest < states[n, at.D_CALM_V]
    ):
        switch(designs, states, totals, yearly, n, y, flow[3], lowest, filled)
    note_level(states, totals, n, t, filled, step_h)
    if designs[n, at.TRACE] >= 0.0:
        note_details(
            monthly, traces, int(designs[n, at.TRACE]), month, t, filled, flow, less, asked, step_h
        )


@part
def step(
    designs: FloatArray,
    states: FloatArray,
    totals: FloatArray,
    yearly: FloatArray,
    monthly: FloatArray,
    traces: FloatArray,
    sun: FloatArray,
    curves: FloatArray,
    loads: FloatArray,
    flexible: FloatArray,
    arrived: FloatArray,
    served: FloatArray,
    n: int,
    y: int,
    t: int,
    place: int,
    i: int,
    month: int,
    cell_c: float,
    step_h: float,
) -> None:
    """Advance one design by one step.

    Parameters
    ----------
    n, y, t : int
        Design, year, step since the start.
    place : int
        Position among the lit steps, -1 in the dark.
    i : int
        Step in the load arrays.
    month : int
        0 = January.
    cell_c : float
        Battery temperature [°C].
    """
    row = int(designs[n, at.LOADS])
    available, whole, kept_wh, open_v, cold, drained = bank_now(designs, states, curves, n, cell_c)
    filled = whole * states[n, at.D_PER_FULL]
    dc, ac, overhead = switched_on(designs, states, loads, n, row, i, open_v, drained)
    own_w = designs[n, at.OWN_A] * open_v
    grow = 1.0 + designs[n, at.INVERTER_K1]
    used = dc[0] + dc[1] + dc[2] + (ac[0] + ac[1] + ac[2]) * grow + overhead + own_w
    supply, offered, target_v, ohm_in = supplied(
        designs, states, sun, n, place, open_v, cold, drained, filled, used, cell_c
    )
    battery_side = supply
    supply += second_source(designs, states, yearly, loads, n, y, row, i, step_h)
    settled = designs[n, at.KEEP] * available + designs[n, at.REFILL] * whole
    flexible_w, waited_w, start_w = 0.0, 0.0, 0.0
    if flexible.shape[1] > 0:
        flexible_w, waited_w, start_w = asked_to_wait(
            designs, states, flexible, arrived, served, totals, yearly, traces, n, y, row, t,
            filled, supply - used, settled, kept_wh, open_v, drained, dc, ac, overhead, step_h,
        )  # fmt: skip
    used += flexible_w
    taken, inner, used, own_w, inverter_w, volts, amps, got = exchange(
        designs, states, totals, n, supply, used, flexible_w, own_w, overhead, dc, ac,
        whole, settled, kept_wh, open_v, cold, drained, target_v, ohm_in, cell_c, step_h,
    )  # fmt: skip
    if designs[n, at.TRANSFER] > 0.0:
        got = transferred(designs, totals, yearly, loads, n, y, row, i, got, step_h)
    brought = supply - battery_side
    gathered = note_gathered(states, totals, n, battery_side, brought, used + taken, step_h)
    totals[n, at.T_OFFERED] += offered * step_h
    totals[n, at.T_OWN] += own_w * step_h
    totals[n, at.T_INVERTER] += inverter_w * step_h
    filled = settle(designs, states, totals, n, settled, whole, inner, step_h)
    lowest = lowest_v(designs, states, loads, n, row, i, start_w, volts, amps, open_v, drained)
    flow = (gathered, offered, got[0] + got[1] + got[2] + waited_w, volts, amps)
    keep_books(
        designs, states, totals, yearly, monthly, traces, loads, n, y, t, row, i, month,
        filled, got, flow, lowest, step_h,
    )  # fmt: skip

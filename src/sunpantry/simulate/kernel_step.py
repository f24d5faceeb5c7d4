"""One step of one design, in parts: demand, sun and bank brought together, books.

The bank's voltage follows from its wells; the loads that are switched on are added up
at the battery bus; the array gives what its controller can take there; what is left
over charges the bank, held back by its voltage limit, its own limits and the cold; what
is missing comes out of the bank, least important loads going short first; then the
low-voltage disconnect looks at the voltage. What one part hands to the next stands in the
``N_`` columns of the states.
"""

from __future__ import annotations

from sunpantry.physics.compiled import part, rare_part
from sunpantry.simulate import layout as at
from sunpantry.simulate.kernel_bank import drawn, flow, lowest_v, most_inner_w, settle
from sunpantry.simulate.kernel_book import (
    note_details,
    note_level,
    note_service,
    switch,
)
from sunpantry.simulate.kernel_bus import Classes, input_w, note_gathered, switched_on, transferred
from sunpantry.simulate.kernel_charge import charge
from sunpantry.simulate.kernel_flexible import run_flexible
from sunpantry.timegrid import FloatArray, IndexArray

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
    drawn_a: float,
    flexible_w: float,
    own_w: float,
    overhead: float,
    dc: Classes,
    ac: Classes,
    settled: float,
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
    whole, open_v = states[n, at.N_WHOLE], states[n, at.N_OPEN_V]
    if supply > used:
        room = (designs[n, at.FULL_WH] - whole) * states[n, at.D_PER_STEP]
        taken, stored, heater_w, volts, amps = charge(
            designs, states, totals, n, supply - used, -drawn_a, room, open_v, states[n, at.N_COLD],
            states[n, at.N_CHARGE_OHM], whole * states[n, at.D_PER_FULL],
            states[n, at.N_TARGET_V], states[n, at.N_CELL_C], step_h,
        )  # fmt: skip
        inverter_w = overhead + designs[n, at.INVERTER_K1] * (ac[0] + ac[1] + ac[2])
        got = (dc[0] + ac[0], dc[1] + ac[1], dc[2] + ac[2])
        return taken, -stored, used + heater_w, own_w + heater_w, inverter_w, volts, amps, got
    most = most_inner_w(designs, states, n, settled, states[n, at.N_KEPT_WH], open_v)
    ohm = designs[n, at.DISCHARGE_OHM] * states[n, at.N_DRAINED]
    amps, own_w, inverter_w, got = drawn(
        designs, states, totals, n, supply, used - supply, drawn_a, most, open_v, ohm, flexible_w,
        own_w, overhead, dc, ac, step_h,
    )  # fmt: skip
    used = own_w + flexible_w + inverter_w + got[0] + got[1] + got[2]
    return 0.0, amps * open_v, used, own_w, inverter_w, open_v - amps * ohm, -amps, got


@rare_part
def second_source(
    designs: FloatArray,
    yearly: FloatArray,
    loads: FloatArray,
    n: int,
    y: int,
    row: int,
    i: int,
    step_h: float,
) -> float:
    """Power that a running second source brings [W]."""
    if loads[row, i, at.L_BACKUP] == 0.0 or designs[n, at.TRANSFER] > 0.0:
        return 0.0
    yearly[n, y, at.Y_BACKUP_H] += step_h
    return float(designs[n, at.BACKUP_W])


@part
def asked_of(loads: FloatArray, row: int, i: int) -> Classes:
    """Asked for by each class in a step, on both sides of the inverter [W]."""
    return (
        loads[row, i, at.L_DC] + loads[row, i, at.L_AC],
        loads[row, i, at.L_DC + 1] + loads[row, i, at.L_AC + 1],
        loads[row, i, at.L_DC + 2] + loads[row, i, at.L_AC + 2],
    )


@part
def keep_books(
    designs: FloatArray,
    states: FloatArray,
    totals: FloatArray,
    yearly: FloatArray,
    monthly: FloatArray,
    traces: FloatArray,
    loads: FloatArray,
    points: IndexArray,
    n: int,
    y: int,
    t: int,
    i: int,
    month: int,
    step_h: float,
) -> None:
    """Look at the end of a step: shortages, switches, extremes, and details where wanted.

    Parameters
    ----------
    n, y, t : int
        Design, year, step since the start.
    i : int
        Step in the load arrays.
    month : int
        0 = January.
    """
    row = points[n, at.P_LOADS]
    volts, filled = states[n, at.N_VOLTS], states[n, at.N_FILLED]
    less = (0.0, 0.0, 0.0)
    if states[n, at.N_LESS] > 0.0 or states[n, at.S_GAP_H] > 0.0:
        got = (states[n, at.N_GOT], states[n, at.N_GOT + 1], states[n, at.N_GOT + 2])
        asked = asked_of(loads, row, i)
        less = note_service(states, totals, yearly, n, y, asked, got, step_h)
    lowest = lowest_v(
        designs, states, loads, n, row, i, states[n, at.N_START_W], volts, states[n, at.N_AMPS],
        states[n, at.N_OPEN_V], states[n, at.N_DRAINED],
    )  # fmt: skip
    if (
        filled < states[n, at.D_LEAST_FILLED]
        or filled > states[n, at.D_MOST_FILLED]
        or lowest < states[n, at.D_LEAST_V]
        or volts > states[n, at.D_MOST_V]
    ):
        switch(designs, states, totals, yearly, n, y, volts, lowest, filled)
    note_level(states, totals, n, t, filled, step_h)
    if designs[n, at.TRACE] >= 0.0:
        asked = asked_of(loads, row, i)
        row_kept = int(designs[n, at.TRACE])
        note_details(states, monthly, traces, n, row_kept, month, t, less, asked, step_h)


@part
def demand(
    designs: FloatArray,
    states: FloatArray,
    yearly: FloatArray,
    loads: FloatArray,
    points: IndexArray,
    n: int,
    y: int,
    i: int,
    step_h: float,
) -> None:
    """See what is switched on, and whether the second source helps.

    Parameters
    ----------
    n, y : int
        Design, year.
    i : int
        Step in the load arrays.
    """
    row = points[n, at.P_LOADS]
    open_v = states[n, at.N_OPEN_V]
    dc, ac, overhead = switched_on(
        designs, states, loads, n, row, i, open_v, states[n, at.N_DRAINED]
    )
    grow = 1.0 + designs[n, at.INVERTER_K1]
    own_w = designs[n, at.OWN_A] * open_v
    used = dc[0] + dc[1] + dc[2] + (ac[0] + ac[1] + ac[2]) * grow + overhead + own_w
    for kind in range(at.CLASSES):
        states[n, at.N_DC + kind] = dc[kind]
        states[n, at.N_AC + kind] = ac[kind]
    states[n, at.N_OVERHEAD] = overhead
    states[n, at.N_USED] = used
    must, should, may = asked_of(loads, row, i)
    less = dc[0] + ac[0] < must or dc[1] + ac[1] < should or dc[2] + ac[2] < may
    states[n, at.N_LESS] = 1.0 if less else 0.0
    brought = 0.0
    if states[n, at.S_BACKUP] > 0.0:
        brought = second_source(designs, yearly, loads, n, y, row, i, step_h)
    states[n, at.N_BACKUP_W] = brought


@part
def act(
    designs: FloatArray,
    states: FloatArray,
    totals: FloatArray,
    yearly: FloatArray,
    traces: FloatArray,
    loads: FloatArray,
    flexible: FloatArray,
    arrived: FloatArray,
    served: FloatArray,
    points: IndexArray,
    n: int,
    y: int,
    t: int,
    i: int,
    step_h: float,
) -> None:
    """Bring sun, loads and bank together, and move on to the end of the step.

    Parameters
    ----------
    n, y, t : int
        Design, year, step since the start.
    i : int
        Step in the load arrays.
    """
    row = points[n, at.P_LOADS]
    whole, open_v = states[n, at.N_WHOLE], states[n, at.N_OPEN_V]
    kept_wh, drained = states[n, at.N_KEPT_WH], states[n, at.N_DRAINED]
    dc = (states[n, at.N_DC], states[n, at.N_DC + 1], states[n, at.N_DC + 2])
    ac = (states[n, at.N_AC], states[n, at.N_AC + 1], states[n, at.N_AC + 2])
    overhead, used = states[n, at.N_OVERHEAD], states[n, at.N_USED]
    roof_w, brought = states[n, at.N_ROOF_W], states[n, at.N_BACKUP_W]
    supply, offered = roof_w + brought, states[n, at.N_OFFERED]
    own_w = designs[n, at.OWN_A] * open_v
    settled = designs[n, at.KEEP] * states[n, at.S_AVAILABLE] + designs[n, at.REFILL] * whole
    flexible_w, waited_w, start_w = 0.0, 0.0, 0.0
    drawn_a = states[n, at.N_DRAWN_A]
    if flexible.shape[1] > 0:
        filled = whole * states[n, at.D_PER_FULL]
        flexible_w, waited_w, start_w = asked_to_wait(
            designs, states, flexible, arrived, served, totals, yearly, traces, n, y, row, t,
            filled, supply - used, settled, kept_wh, open_v, drained, dc, ac, overhead, step_h,
        )  # fmt: skip
        used += flexible_w
        states[n, at.N_USED] = used
        flow(designs, states, n)
        drawn_a = states[n, at.N_DRAWN_A]
    taken, inner, used, own_w, inverter_w, volts, amps, got = exchange(
        designs, states, totals, n, supply, used, drawn_a, flexible_w, own_w, overhead, dc, ac,
        settled, step_h,
    )  # fmt: skip
    if designs[n, at.TRANSFER] > 0.0:
        got = transferred(designs, totals, yearly, loads, n, y, row, i, got, step_h)
    gathered = note_gathered(states, totals, n, roof_w, brought, used + taken, step_h)
    totals[n, at.T_OFFERED] += offered * step_h
    totals[n, at.T_OWN] += own_w * step_h
    totals[n, at.T_INVERTER] += inverter_w * step_h
    states[n, at.N_FILLED] = settle(designs, states, totals, n, settled, whole, inner, step_h)
    for kind in range(at.CLASSES):
        states[n, at.N_GOT + kind] = got[kind]
    states[n, at.N_WAITED] = waited_w
    states[n, at.N_START_W] = start_w
    states[n, at.N_GATHERED] = gathered
    states[n, at.N_VOLTS] = volts
    states[n, at.N_AMPS] = amps

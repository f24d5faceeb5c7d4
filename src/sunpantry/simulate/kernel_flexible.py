"""The part of a step that runs loads which can wait."""

from __future__ import annotations

import math

from sunpantry.physics.compiled import rare_part
from sunpantry.simulate import layout as at
from sunpantry.simulate.kernel_bus import surge_trips
from sunpantry.timegrid import FloatArray

# Of a job's power: a backlog smaller than this is none [h].
LEAST_BACKLOG_H = 1e-9
# Carried by the inverter already, what it could carry besides, its own loss without the jobs,
# all but ``K1`` [W]; what the controller's load terminals carry besides [W]; taken by the other
# loads on the DC side [W]; open-circuit voltage [V]; factor on the bank's resistance on discharge.
Room = tuple[float, float, float, float, float, float, float]


@rare_part
def give_up(
    designs: FloatArray,
    flexible: FloatArray,
    served: FloatArray,
    totals: FloatArray,
    yearly: FloatArray,
    traces: FloatArray,
    n: int,
    y: int,
    row: int,
    q: int,
    t: int,
    energy_wh: float,
    hours: float,
    step_h: float,
) -> float:
    """Give up what could not be done, or leave it to the mains where there is a transfer.

    Returns
    -------
    float
        What the mains did in this step [W].
    """
    kind = int(flexible[row, q, at.FLEX_CLASS])
    served[n, q] += energy_wh
    if designs[n, at.TRANSFER] > 0.0 and flexible[row, q, at.FLEX_IS_AC] > 0.0:
        totals[n, at.T_BACKUP] += energy_wh
        totals[n, at.T_SERVED + kind] += energy_wh
        note_queue(designs, traces, n, q, t, energy_wh / step_h, 0.0)
        return energy_wh / step_h
    served[n, flexible.shape[1] + q] += energy_wh
    yearly[n, y, at.Y_UNSERVED + kind] += energy_wh
    yearly[n, y, at.Y_HOURS + kind] += hours
    yearly[n, y, at.Y_ANY_HOURS] += hours
    note_queue(designs, traces, n, q, t, 0.0, energy_wh)
    return 0.0


@rare_part
def note_queue(
    designs: FloatArray,
    traces: FloatArray,
    n: int,
    q: int,
    t: int,
    done_w: float,
    given_up_wh: float,
) -> None:
    """Keep what a queue does in a step, of a design that is looked at in detail."""
    column = at.TRACE_COLUMNS + at.TRACE_QUEUE_COLUMNS * q
    if designs[n, at.TRACE] >= 0.0 and column < traces.shape[1]:
        kept = int(designs[n, at.TRACE])
        traces[kept, column + at.TR_DONE, t] += done_w
        traces[kept, column + at.TR_GIVEN_UP, t] += given_up_wh


@rare_part
def overdue_wh(
    flexible: FloatArray,
    arrived: FloatArray,
    served: FloatArray,
    n: int,
    row: int,
    q: int,
    t: int,
) -> float:
    """Energy of jobs whose deadline has passed; a store has no deadline [Wh]."""
    late = t - int(flexible[row, q, at.FLEX_DEADLINE])
    if flexible[row, q, at.FLEX_HOLDS] > 0.0 or late < 0:
        return 0.0
    return float(arrived[row, q, late] - served[n, q])


@rare_part
def drop_overdue(
    designs: FloatArray,
    flexible: FloatArray,
    arrived: FloatArray,
    served: FloatArray,
    totals: FloatArray,
    yearly: FloatArray,
    traces: FloatArray,
    n: int,
    y: int,
    row: int,
    q: int,
    t: int,
    step_h: float,
) -> float:
    """Begin a queue's step: a new day, and jobs whose deadline has passed.

    Returns
    -------
    float
        What the mains did of them [W].
    """
    if flexible[row, q, at.FLEX_DAY] > 0.0 and t % round(24.0 / step_h) == 0:
        served[n, 2 * flexible.shape[1] + q] = 0.0
    job_w = flexible[row, q, at.FLEX_W]
    overdue = overdue_wh(flexible, arrived, served, n, row, q, t)
    if overdue > LEAST_BACKLOG_H * job_w:
        return give_up(
            designs, flexible, served, totals, yearly, traces, n, y, row, q, t,
            overdue, overdue / job_w, step_h,
        )  # fmt: skip
    return 0.0


@rare_part
def missing_wh(
    flexible: FloatArray,
    arrived: FloatArray,
    served: FloatArray,
    n: int,
    row: int,
    q: int,
    t: int,
) -> float:
    """Energy of what was drawn from an empty store [Wh]."""
    holds_wh = flexible[row, q, at.FLEX_HOLDS]
    return float(arrived[row, q, t] - served[n, q] - holds_wh) if holds_wh > 0.0 else 0.0


@rare_part
def power_now(
    flexible: FloatArray,
    served: FloatArray,
    n: int,
    row: int,
    q: int,
    backlog_wh: float,
    filled: float,
    ceiling_w: float,
    step_h: float,
) -> float:
    """What a queue works with in a step, if its rule lets it [W].

    Parameters
    ----------
    ceiling_w : float
        What there is for it [W].
    """
    job_w = flexible[row, q, at.FLEX_W]
    level = flexible[row, q, at.FLEX_LEVEL]
    if ceiling_w <= 0.0 or (level <= 1.0 and filled < level):
        return 0.0
    if backlog_wh <= LEAST_BACKLOG_H * job_w:
        return 0.0
    power = min(job_w, backlog_wh / step_h, ceiling_w)
    most_wh = flexible[row, q, at.FLEX_DAY]
    if most_wh > 0.0:
        power = min(power, (most_wh - served[n, 2 * flexible.shape[1] + q]) / step_h)
    if power < min(flexible[row, q, at.FLEX_LEAST_W], backlog_wh / step_h):
        return 0.0
    return float(max(power, 0.0))


@rare_part
def note_work(
    flexible: FloatArray,
    served: FloatArray,
    totals: FloatArray,
    n: int,
    row: int,
    q: int,
    power: float,
    lost: float,
    step_h: float,
) -> None:
    """Count what a queue does in a step, and what the inverter loses by it."""
    served[n, q] += power * step_h
    if flexible[row, q, at.FLEX_DAY] > 0.0:
        served[n, 2 * flexible.shape[1] + q] += power * step_h
    totals[n, at.T_SERVED + int(flexible[row, q, at.FLEX_CLASS])] += power * step_h
    totals[n, at.T_INVERTER] += lost * step_h


@rare_part
def switching_on_w(designs: FloatArray, n: int, carried_w: float, overhead: float) -> float:
    """What the inverter's own draw grows by when a job is all that it carries [W]."""
    return 0.0 if carried_w > 0.0 else max(designs[n, at.INVERTER_P0] - overhead, 0.0)


@rare_part
def added_loss_w(
    designs: FloatArray, n: int, power: float, carried_w: float, overhead: float
) -> float:
    """What a job adds to the loss of the inverter [W].

    Parameters
    ----------
    power, carried_w : float
        Of the job, and carried already [W].
    overhead : float
        Loss of the inverter before any job, all but ``K1`` [W].
    """
    square = designs[n, at.INVERTER_K2] * power * (2.0 * carried_w + power)
    begun = switching_on_w(designs, n, carried_w, overhead)
    return float(begun + designs[n, at.INVERTER_K1] * power + square)


@rare_part
def within_bus_w(
    designs: FloatArray, n: int, bus_w: float, carried_w: float, overhead: float
) -> float:
    """Power of a job on the AC side that takes no more than this from the bus [W]."""
    left = bus_w - switching_on_w(designs, n, carried_w, overhead)
    if left <= 0.0:
        return 0.0
    square = designs[n, at.INVERTER_K2]
    linear = 1.0 + designs[n, at.INVERTER_K1] + 2.0 * square * carried_w
    return float(2.0 * left / (linear + math.sqrt(linear * linear + 4.0 * square * left)))


@rare_part
def ceiling_w(
    designs: FloatArray,
    flexible: FloatArray,
    n: int,
    row: int,
    q: int,
    left_w: float,
    carried_w: float,
    room_w: float,
    overhead: float,
    output_w: float,
    dc_w: float,
    open_v: float,
    drained: float,
) -> float:
    """What there is for a queue: at the bus, in the inverter, at the load terminals [W].

    Nothing where its start would pull the battery below the inverter's cut-off.
    """
    start_w = flexible[row, q, at.FLEX_SURGE_W]
    if flexible[row, q, at.FLEX_IS_AC] == 0.0:
        if designs[n, at.OUTPUT_DC] > 0.0:
            return float(min(left_w, output_w - start_w))
        return left_w
    running_w = carried_w + flexible[row, q, at.FLEX_W] + dc_w
    if start_w > 0.0 and surge_trips(designs, n, running_w, start_w, open_v, drained):
        return 0.0
    if designs[n, at.OUTPUT_AC] > 0.0:
        left_w = min(left_w, output_w)
    return float(min(room_w, within_bus_w(designs, n, left_w, carried_w, overhead)))


@rare_part
def run_flexible(
    designs: FloatArray,
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
    spare_w: float,
    room: Room,
    step_h: float,
) -> tuple[float, float, float]:
    """Run what can wait, if its rule lets it, and drop jobs whose deadline has passed.

    A queue with a store is a tank: what waits is the room in it, and a draw that finds it
    empty is lost at once.

    Parameters
    ----------
    surplus_w : float
        Sun left over when every other load is served [W].
    spare_w : float
        Surplus and what the bank could add [W]; 0 while the loads are disconnected.
    room : tuple of float
        What stands in the way of jobs, see :data:`Room`.

    Returns
    -------
    bus_w, delivered_w : float
        At the battery bus; at the loads' own supply, with what the mains does [W].
    start_w : float
        Hardest start among those that run on the DC side, above its power [W].
    """
    carried_w, room_w, overhead, output_w, dc_w, open_v, drained = room
    bus, delivered, start_w = 0.0, 0.0, 0.0
    for q in range(flexible.shape[1]):
        job_w = flexible[row, q, at.FLEX_W]
        if job_w <= 0.0:
            continue
        kind = int(flexible[row, q, at.FLEX_CLASS])
        new_wh = arrived[row, q, t] - (arrived[row, q, t - 1] if t > 0 else 0.0)
        yearly[n, y, at.Y_ASKED + kind] += new_wh
        delivered += drop_overdue(
            designs, flexible, arrived, served, totals, yearly, traces, n, y, row, q, t, step_h
        )
        left_w = (surplus_w if flexible[row, q, at.FLEX_LEVEL] > 1.0 else spare_w) - bus
        ceiling = ceiling_w(
            designs, flexible, n, row, q, left_w, carried_w, room_w, overhead, output_w,
            dc_w, open_v, drained,
        )  # fmt: skip
        backlog_wh = arrived[row, q, t] - served[n, q]
        power = power_now(flexible, served, n, row, q, backlog_wh, filled, ceiling, step_h)
        if power > 0.0:
            lost = 0.0
            if flexible[row, q, at.FLEX_IS_AC] > 0.0:
                lost = added_loss_w(designs, n, power, carried_w, overhead)
                room_w -= power
                carried_w += power
                output_w -= designs[n, at.OUTPUT_AC] * (power + lost)
            else:
                output_w -= designs[n, at.OUTPUT_DC] * power
                start_w = max(start_w, flexible[row, q, at.FLEX_SURGE_W])
            note_work(flexible, served, totals, n, row, q, power, lost, step_h)
            bus += power + lost
            delivered += power
            note_queue(designs, traces, n, q, t, power, 0.0)
        over = missing_wh(flexible, arrived, served, n, row, q, t)
        if over > LEAST_BACKLOG_H * job_w and new_wh > 0.0:
            delivered += give_up(
                designs, flexible, served, totals, yearly, traces, n, y, row, q, t,
                over, min(over / new_wh, 1.0) * step_h, step_h,
            )  # fmt: skip
    return bus, delivered, start_w

"""The part of a step that runs loads which can wait."""

from __future__ import annotations

from sunpantry.physics.compiled import rare_part
from sunpantry.simulate import layout as at
from sunpantry.timegrid import FloatArray

# Of a job's power: a backlog smaller than this is none [h].
LEAST_BACKLOG_H = 1e-9


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
) -> None:
    """Give up what could not be done, or leave it to the mains where there is a transfer."""
    kind = int(flexible[row, q, at.FLEX_CLASS])
    served[n, q] += energy_wh
    if designs[n, at.TRANSFER] > 0.0 and flexible[row, q, at.FLEX_IS_AC] > 0.0:
        totals[n, at.T_BACKUP] += energy_wh
        totals[n, at.T_SERVED + kind] += energy_wh
        note_queue(designs, traces, n, q, t, energy_wh / step_h, 0.0)
        return
    served[n, flexible.shape[1] + q] += energy_wh
    yearly[n, y, at.Y_UNSERVED + kind] += energy_wh
    yearly[n, y, at.Y_HOURS + kind] += hours
    yearly[n, y, at.Y_ANY_HOURS] += hours
    note_queue(designs, traces, n, q, t, 0.0, energy_wh)


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
    inverter_w: float,
    step_h: float,
) -> tuple[float, float]:
    """Run what can wait, if its rule lets it, and drop jobs whose deadline has passed.

    A queue with a store is a tank: what waits is the room in it, and a draw that finds it
    empty is lost at once.

    Parameters
    ----------
    surplus_w : float
        Sun left over when every other load is served [W].
    spare_w : float
        Surplus and what the bank could add [W]; 0 while the loads are disconnected.
    inverter_w : float
        What the inverter could carry besides the other loads [W].

    Returns
    -------
    bus_w, delivered_w : float
        At the battery bus, and at the loads' own supply [W].
    """
    bus, delivered = 0.0, 0.0
    for q in range(flexible.shape[1]):
        job_w = flexible[row, q, at.FLEX_W]
        if job_w <= 0.0:
            continue
        kind = int(flexible[row, q, at.FLEX_CLASS])
        new_wh = arrived[row, q, t] - (arrived[row, q, t - 1] if t > 0 else 0.0)
        yearly[n, y, at.Y_ASKED + kind] += new_wh
        daily = flexible[row, q, at.FLEX_DAY] > 0.0
        if daily and t % round(24.0 / step_h) == 0:
            served[n, 2 * flexible.shape[1] + q] = 0.0
        overdue = overdue_wh(flexible, arrived, served, n, row, q, t)
        if overdue > LEAST_BACKLOG_H * job_w:
            give_up(
                designs, flexible, served, totals, yearly, traces, n, y, row, q, t,
                overdue, overdue / job_w, step_h,
            )  # fmt: skip
        ceiling = (surplus_w if flexible[row, q, at.FLEX_LEVEL] > 1.0 else spare_w) - bus
        grow = 1.0
        on_ac = flexible[row, q, at.FLEX_IS_AC] > 0.0
        if on_ac:
            grow += designs[n, at.INVERTER_K1]
            ceiling = min(inverter_w, ceiling / grow)
        backlog_wh = arrived[row, q, t] - served[n, q]
        power = power_now(flexible, served, n, row, q, backlog_wh, filled, ceiling, step_h)
        if power > 0.0:
            inverter_w -= power if on_ac else 0.0
            served[n, q] += power * step_h
            if daily:
                served[n, 2 * flexible.shape[1] + q] += power * step_h
            totals[n, at.T_SERVED + kind] += power * step_h
            totals[n, at.T_INVERTER] += power * (grow - 1.0) * step_h
            bus += power * grow
            delivered += power
            note_queue(designs, traces, n, q, t, power, 0.0)
        over = missing_wh(flexible, arrived, served, n, row, q, t)
        if over > LEAST_BACKLOG_H * job_w and new_wh > 0.0:
            give_up(
                designs, flexible, served, totals, yearly, traces, n, y, row, q, t,
                over, min(over / new_wh, 1.0) * step_h, step_h,
            )  # fmt: skip
    return bus, delivered

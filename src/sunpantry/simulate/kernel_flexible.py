"""The part of a step that runs loads which can wait."""

from __future__ import annotations

from sunpantry.physics.compiled import rare_part
from sunpantry.simulate import layout as at
from sunpantry.timegrid import FloatArray

# Of a job's power: a backlog smaller than this is none [h].
LEAST_BACKLOG_H = 1e-9


@rare_part
def give_up_late_jobs(
    flexible: FloatArray,
    arrived: FloatArray,
    served: FloatArray,
    yearly: FloatArray,
    n: int,
    y: int,
    row: int,
    q: int,
    t: int,
) -> None:
    """Note what arrives in a queue, and drop the jobs whose deadline has passed."""
    kind = int(flexible[row, q, at.FLEX_CLASS])
    job_w = flexible[row, q, at.FLEX_W]
    before = arrived[row, q, t - 1] if t > 0 else 0.0
    yearly[n, y, at.Y_ASKED + kind] += arrived[row, q, t] - before
    late = t - int(flexible[row, q, at.FLEX_DEADLINE])
    if late < 0 or arrived[row, q, late] - served[n, q] <= LEAST_BACKLOG_H * job_w:
        return
    overdue = arrived[row, q, late] - served[n, q]
    served[n, q] += overdue
    served[n, flexible.shape[1] + q] += overdue
    yearly[n, y, at.Y_UNSERVED + kind] += overdue
    yearly[n, y, at.Y_HOURS + kind] += overdue / job_w
    yearly[n, y, at.Y_ANY_HOURS] += overdue / job_w


@rare_part
def run_flexible(
    designs: FloatArray,
    flexible: FloatArray,
    arrived: FloatArray,
    served: FloatArray,
    totals: FloatArray,
    yearly: FloatArray,
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
        give_up_late_jobs(flexible, arrived, served, yearly, n, y, row, q, t)
        backlog = arrived[row, q, t] - served[n, q]
        if backlog <= LEAST_BACKLOG_H * job_w:
            continue
        level = flexible[row, q, at.FLEX_LEVEL]
        ceiling = (surplus_w if level > 1.0 else spare_w) - bus
        if ceiling <= 0.0 or (level <= 1.0 and filled < level):
            continue
        grow = 1.0
        power = min(job_w, backlog / step_h)
        on_ac = flexible[row, q, at.FLEX_IS_AC] > 0.0
        if on_ac:
            grow += designs[n, at.INVERTER_K1]
            power = min(power, inverter_w)
        power = min(power, ceiling / grow)
        if power <= 0.0 or power < min(flexible[row, q, at.FLEX_LEAST_W], backlog / step_h):
            continue
        inverter_w -= power if on_ac else 0.0
        served[n, q] += power * step_h
        kind = int(flexible[row, q, at.FLEX_CLASS])
        totals[n, at.T_SERVED + kind] += power * step_h
        totals[n, at.T_INVERTER] += power * (grow - 1.0) * step_h
        bus += power * grow
        delivered += power
    return bus, delivered

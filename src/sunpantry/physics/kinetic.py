"""Two-well kinetic battery: why a fast discharge gets less out, and rest gives some back.

Charge sits in two wells of equal depth joined by a pipe: the available well, a share
``c`` of the whole, feeds the terminals at once; the bound well refills it at a rate
``k``. A fast discharge empties the available well while the bound one is still full.

    dw1/dt = −P + k'·W·(h2 − h1)     w1 = c·h1·W     w2 = (1 − c)·h2·W     k = k' / (c (1 − c))

Validity: discharges of an hour to some days; fitted from the capacities on the label. Departures
from the source: the wells of the simulation hold energy, not charge (``physics.battery``), and a
charge that would overfill the available well goes on into the bound one; faster than in an hour
the two wells give up to a fifth more than catalogues print.

References
----------
J. F. Manwell and J. G. McGowan, "Lead acid battery storage model for hybrid energy
systems", Solar Energy 50 (1993) 399-405.
M. R. Jongerden and B. R. Haverkort, "Which battery model to use?", IET Software 3
(2009) 445-457 (check values).
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sunpantry.timegrid import FloatArray


@dataclass(frozen=True, slots=True)
class Wells:
    """The kinetic constants of a battery.

    Parameters
    ----------
    available_fraction : float
        Share of the capacity in the available well [-], ``c``; 1 means one well only.
    rate_per_h : float
        Exchange rate between the wells [1/h], ``k``.
    slow_capacity_ah : float
        Capacity at a vanishing current [Ah], ``qmax``.
    """

    available_fraction: float
    rate_per_h: float
    slow_capacity_ah: float


def capacity_at(wells: Wells, hours: float) -> float:
    """Charge delivered at the constant current that empties the battery in ``hours`` [Ah].

    Parameters
    ----------
    wells : Wells
        Kinetic constants.
    hours : float
        Discharge time [h], above zero.
    """
    c, kt = wells.available_fraction, wells.rate_per_h * hours
    gone = math.exp(-kt)
    return wells.slow_capacity_ah * kt * c / (1 - gone + c * (kt - 1 + gone))


@dataclass(frozen=True, slots=True)
class StepCoefficients:
    """Constants of one step of fixed length: ``w1' = keep*w1 + refill*w0 - draw*flow``.

    ``w0`` is the content of both wells and ``flow`` the outflow during the step
    (negative: charging), in the same unit per hour.
    """

    keep: float
    refill: float
    draw_h: float


def step_coefficients(wells: Wells, step_h: float) -> StepCoefficients:
    """Coefficients of the exact solution for a constant flow during ``step_h`` hours."""
    c, k = wells.available_fraction, wells.rate_per_h
    gone = math.exp(-k * step_h)
    draw = ((1 - gone) + c * (k * step_h - 1 + gone)) / k
    return StepCoefficients(keep=gone, refill=c * (1 - gone), draw_h=draw)


def fit_wells(capacities_ah: Mapping[float, float]) -> Wells:
    """Fit the wells to the capacities printed on a label.

    Parameters
    ----------
    capacities_ah : mapping of float to float
        Discharge time [h] to capacity [Ah]; three or more are fitted by least squares,
        two are met exactly with the rate held at 0.5 / h.

    Returns
    -------
    Wells
        With ``0.05 <= c <= 0.99`` and ``0.02 <= k <= 5``.

    Raises
    ------
    ValueError
        With fewer than two capacities, or a capacity that falls as the discharge slows.
    """
    from scipy.optimize import least_squares

    hours = np.array(sorted(capacities_ah), dtype=np.float64)
    wanted = np.array([capacities_ah[h] for h in hours], dtype=np.float64)
    if hours.size < 2:
        raise ValueError("two capacities at different rates are needed")
    if np.any(np.diff(wanted) < 0):
        raise ValueError("the capacity must not fall when the discharge is slower")

    def shape(c: float, k: float) -> FloatArray:
        unit = Wells(c, k, 1.0)
        return np.array([capacity_at(unit, h) for h in hours])

    def misfit(point: FloatArray) -> FloatArray:
        curve = shape(float(point[0]), float(point[1]) if hours.size > 2 else 0.5)
        best = wanted @ curve / (curve @ curve)
        return np.asarray((best * curve - wanted) / wanted)

    start = [0.5, 0.3] if hours.size > 2 else [0.5]
    low, high = ([0.05, 0.02], [0.99, 5.0]) if hours.size > 2 else ([0.05], [0.99])
    found = least_squares(misfit, start, bounds=(low, high), xtol=1e-12, ftol=1e-12)
    c = float(found.x[0])
    k = float(found.x[1]) if hours.size > 2 else 0.5
    curve = shape(c, k)
    return Wells(c, k, float(wanted @ curve / (curve @ curve)))


def peukert_capacity_ah(
    rated_ah: float, *, rated_hours: float, exponent: float, hours: float
) -> float:
    """Capacity for a discharge lasting ``hours``, by Peukert's law referred to the rated time.

    Parameters
    ----------
    rated_ah : float
        Capacity at ``rated_hours`` [Ah].
    rated_hours, hours : float
        Rated and wanted discharge time [h].
    exponent : float
        Peukert exponent [-], 1.05-1.15 AGM, 1.1-1.25 gel, 1.2-1.3 flooded.

    References
    ----------
    W. Peukert, Elektrotechnische Zeitschrift 20 (1897) 287-288.
    """
    return float(rated_ah * (hours / rated_hours) ** ((exponent - 1) / exponent))

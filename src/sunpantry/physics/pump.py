"""A pump on its pipe: how much it lifts at full power, and at what a panel gives.

The curve of head and power against flow is that at full speed. At another speed s the
affinity laws hold: flow in step with s, head with s², power with s³ [1]_. A pump fed
straight from a panel turns at the speed whose power is the power there is; below some
speed it cannot reach the outlet and gives nothing. For pumps with a piston or a membrane
the same laws are used with their (steep) curve, which is fair near the rating and
pessimistic at low power.

References
----------
.. [1] F. M. White, "Fluid Mechanics", McGraw-Hill, similarity rules for pumps.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sunpantry.errors import InputError
from sunpantry.physics.water import Pipe, hydraulic_power_w

FloatArray = NDArray[np.float64]

_SPEEDS = 200
_CURVE_POINTS = 41
# Shut-off head of a pump known by one point only, as a multiple of its rated head: the
# usual shape of small centrifugal pumps (common practice, no source).
SHUT_OFF = 4.0 / 3.0


@dataclass(frozen=True)
class PumpCurve:
    """Head and electric power against flow at full speed, flow rising from 0.

    Parameters
    ----------
    flow_l_min, head_m, power_w : tuple of float
        Points of the curve [L/min], [m], [W].
    """

    flow_l_min: tuple[float, ...]
    head_m: tuple[float, ...]
    power_w: tuple[float, ...]

    def head(self, flow_l_min: float) -> float:
        """Head at a flow [m], linear between points; falls on beyond the last."""
        last = self.flow_l_min[-1]
        if flow_l_min > last:
            slope = (self.head_m[-1] - self.head_m[-2]) / (last - self.flow_l_min[-2])
            return self.head_m[-1] + min(slope, -1e-9) * (flow_l_min - last)
        return float(np.interp(flow_l_min, self.flow_l_min, self.head_m))

    def power(self, flow_l_min: float) -> float:
        """Electric power at a flow [W], linear between points."""
        return float(np.interp(flow_l_min, self.flow_l_min, self.power_w))


@dataclass(frozen=True)
class PumpTable:
    """Flow of a pump on its pipe against the electric power it is given.

    Parameters
    ----------
    power_w : ndarray
        Power [W], rising.
    flow_l_min : ndarray
        Flow [L/min], rising from 0.
    full_power_w, full_flow_l_min, full_head_m : float
        Operating point at full speed [W], [L/min], [m]; zero flow when it cannot reach
        the outlet.
    """

    power_w: FloatArray
    flow_l_min: FloatArray
    full_power_w: float
    full_flow_l_min: float
    full_head_m: float

    @property
    def start_power_w(self) -> float:
        """Least power at which water comes [W]."""
        return float(self.power_w[0])

    def pumped_l_min(self, power_w: ArrayLike) -> FloatArray:
        """Flow at given powers; more than the full power is not taken.

        Parameters
        ----------
        power_w : array_like
            Electric power there is [W].

        Returns
        -------
        ndarray
            Flow [L/min].
        """
        given = np.asarray(power_w, dtype=np.float64)
        flow = np.interp(given, self.power_w, self.flow_l_min)
        return np.asarray(np.where(given < self.power_w[0], 0.0, flow))


def curve_from_points(points: Sequence[Sequence[float]], *, efficiency: float = 0.35) -> PumpCurve:
    """Curve of a pump from a table of the maker.

    Parameters
    ----------
    points : sequence of (flow, head) or (flow, head, power)
        Points [L/min], [m], [W], in any order, at least two.
    efficiency : float
        Best efficiency from wire to water, where the points have no power [-].

    Returns
    -------
    PumpCurve
        The curve, from no flow.

    Raises
    ------
    InputError
        When two points share a flow, or the head rises with the flow.

    References
    ----------
    Without powers: a steady share of a third of the largest power, the rest in step with
    the flow (common practice, no source).
    """
    ordered = sorted(tuple(map(float, point)) for point in points)
    flow = [point[0] for point in ordered]
    head = [point[1] for point in ordered]
    falls = all(b < a for a, b in pairwise(head))
    if len(ordered) < 2 or len(set(flow)) < len(flow) or not falls:
        raise InputError.one(
            "curve", str([list(point) for point in ordered]),
            "at least two points whose head falls as the flow rises",
            "read the points again from the maker's curve",
        )  # fmt: skip
    if len(ordered[0]) == 3:
        power = [point[2] for point in ordered]
    else:
        best = max(
            hydraulic_power_w(flow_l_min=q, head_m=h) for q, h in zip(flow, head, strict=True)
        )
        full = best / efficiency
        power = [full * (1.0 / 3.0 + 2.0 / 3.0 * q / flow[-1]) for q in flow]
    if flow[0] > 0.0:
        slope = (head[1] - head[0]) / (flow[1] - flow[0])
        flow, head, power = [0.0, *flow], [head[0] - slope * flow[0], *head], [power[0], *power]
    return PumpCurve(tuple(flow), tuple(head), tuple(power))


def curve_from_rating(*, flow_l_min: float, head_m: float, power_w: float) -> PumpCurve:
    """Curve of a pump known by one rated point.

    Parameters
    ----------
    flow_l_min : float
        Rated flow [L/min].
    head_m : float
        Head at that flow [m].
    power_w : float
        Electric power there [W].

    Returns
    -------
    PumpCurve
        Head falls with the square of the flow from 4/3 of the rated head; power grows
        from two thirds of the rated power in step with the flow.

    Raises
    ------
    InputError
        When the water would hold more power than goes in.

    References
    ----------
    Common practice, no source.
    """
    water_w = hydraulic_power_w(flow_l_min=flow_l_min, head_m=head_m)
    if water_w >= 0.9 * power_w:
        raise InputError.one(
            "rated_power",
            f"{power_w:g} W",
            f"more than the {water_w:.0f} W in {flow_l_min:g} L/min at {head_m:g} m; "
            "small pumps turn 25 to 60 % of their power into it",
            "check flow and head: the label often gives the largest of each, not together",
        )
    flow = np.linspace(0.0, 2.0 * flow_l_min, _CURVE_POINTS)
    share = flow / flow_l_min
    head = head_m * (SHUT_OFF - (SHUT_OFF - 1.0) * share**2)
    power = power_w * (2.0 + share) / 3.0
    return PumpCurve(tuple(flow.tolist()), tuple(head.tolist()), tuple(power.tolist()))


def flow_on_pipe_l_min(curve: PumpCurve, pipe: Pipe, *, speed: float = 1.0) -> float:
    """Flow at which the pump's head is what the pipe asks.

    Parameters
    ----------
    curve : PumpCurve
        The pump at full speed.
    pipe : Pipe
        The pipe.
    speed : float
        Share of the full speed [-].

    Returns
    -------
    float
        Flow [L/min]; 0 when the pump cannot reach the outlet.

    References
    ----------
    [1]_ in the module docstring.
    """

    def spare_m(flow_l_min: float) -> float:
        return speed**2 * curve.head(flow_l_min / speed) - pipe.head_m(flow_l_min)

    if speed <= 0.0 or spare_m(0.0) <= 0.0:
        return 0.0
    low, high = 0.0, curve.flow_l_min[-1] * speed
    while spare_m(high) > 0.0:
        low, high = high, 2.0 * high
    from scipy.optimize import brentq

    return float(brentq(spare_m, low, high, xtol=1e-9 * high))


def pump_table(curve: PumpCurve, pipe: Pipe, *, start_power_w: float = 0.0) -> PumpTable:
    """Tabulate the flow of a pump on its pipe against the power it is given.

    Parameters
    ----------
    curve : PumpCurve
        The pump at full speed.
    pipe : Pipe
        The pipe.
    start_power_w : float
        Power below which it does not turn, whatever the pipe [W].

    Returns
    -------
    PumpTable
        For looking up hundreds of thousands of hours.

    References
    ----------
    [1]_ in the module docstring.
    """
    full_flow = flow_on_pipe_l_min(curve, pipe)
    full_power = curve.power(full_flow)
    least = math.sqrt(pipe.static_head_m / curve.head_m[0]) if curve.head_m[0] > 0.0 else 1.0
    power: list[float] = []
    flow: list[float] = []
    for speed in np.linspace(min(least, 1.0), 1.0, _SPEEDS):
        at_speed = flow_on_pipe_l_min(curve, pipe, speed=float(speed))
        taken = float(speed) ** 3 * curve.power(at_speed / float(speed)) if speed > 0.0 else 0.0
        if taken >= start_power_w and (not power or taken > power[-1]):
            power.append(taken)
            flow.append(at_speed)
    if not power:
        power, flow = [max(start_power_w, full_power)], [full_flow]
    return PumpTable(
        power_w=np.array(power),
        flow_l_min=np.array(flow),
        full_power_w=full_power,
        full_flow_l_min=full_flow,
        full_head_m=pipe.head_m(full_flow),
    )

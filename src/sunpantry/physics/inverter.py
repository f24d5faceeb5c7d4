"""What an inverter loses: idle draw, loss in step with the power, loss with its square.

    P_loss = P0 + k1·P + k2·P²,     P_dc = P + P_loss

with P the power delivered. Valid for resistive loads from nothing to the rating, at the
nominal input voltage; a poor power factor or a hot case costs a little more. Departures: the
idle draw stands for the constant loss, where the source fits it; a label that lies on no such
curve gives up k1 (see :func:`fit_inverter`).

References
----------
.. [1] H. Schmidt, D. U. Sauer, "Wechselrichter-Wirkungsgrade", Sonnenenergie 4/1996,
   43-47: the quadratic loss model (from memory).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sunpantry.errors import PartError

FloatArray = NDArray[np.float64]

# Share of the energy that passes at each share of the rating (from memory of the standards).
EUROPEAN_WEIGHTS = {0.05: 0.03, 0.10: 0.06, 0.20: 0.13, 0.30: 0.10, 0.50: 0.48, 1.00: 0.20}
CALIFORNIAN_WEIGHTS = {0.10: 0.04, 0.20: 0.05, 0.30: 0.12, 0.50: 0.21, 0.75: 0.53, 1.00: 0.05}


@dataclass(frozen=True, slots=True)
class InverterModel:
    """Loss model of one inverter.

    Parameters
    ----------
    rated_w : float
        Continuous rating [W].
    p0_w : float
        Draw with nothing connected [W].
    k1 : float
        Loss per power delivered [-].
    k2_per_w : float
        Loss per power delivered squared [1/W].
    """

    rated_w: float
    p0_w: float
    k1: float
    k2_per_w: float

    def input_power_w(self, output_w: ArrayLike) -> FloatArray:
        """Power drawn from the battery while switched on.

        Parameters
        ----------
        output_w : array_like
            Power delivered [W], 0 to the rating.

        Returns
        -------
        ndarray
            Power drawn [W]; the idle draw with nothing delivered.

        References
        ----------
        [1]_ in the module docstring.
        """
        out = np.asarray(output_w, dtype=np.float64)
        return np.asarray(out + self.p0_w + self.k1 * out + self.k2_per_w * out**2)

    def efficiency(self, output_w: ArrayLike) -> FloatArray:
        """Power delivered for power drawn.

        Parameters
        ----------
        output_w : array_like
            Power delivered [W].

        Returns
        -------
        ndarray
            Efficiency [-]; 0 with nothing delivered.

        References
        ----------
        [1]_ in the module docstring.
        """
        out = np.asarray(output_w, dtype=np.float64)
        drawn = self.input_power_w(out)
        return np.divide(out, drawn, out=np.zeros_like(drawn), where=drawn > 0.0)


def fit_inverter(
    *,
    rated_w: float,
    idle_w: float,
    peak_efficiency: float,
    rated_efficiency: float,
    name: str = "inverter",
) -> InverterModel:
    """Find the loss model from the three figures of a label.

    The loss per power delivered is least at √(P0/k2), where it is k1 + 2·√(P0·k2); with
    the loss at the rating this gives k1 and k2. Where the idle draw alone is too large
    for the peak efficiency claimed, the linear loss is zero and the efficiency at the
    rating is kept; where it is too large for that as well, only the idle draw is left.

    Parameters
    ----------
    rated_w : float
        Continuous rating [W].
    idle_w : float
        Draw with nothing connected [W].
    peak_efficiency, rated_efficiency : float
        Best efficiency, and that at the rating [-].
    name : str
        Name for messages [-].

    Returns
    -------
    InverterModel
        The model.

    Raises
    ------
    PartError
        When an efficiency is no fraction, or the peak lies below that at the rating.

    References
    ----------
    [1]_ in the module docstring.
    """
    if not 0.0 < rated_efficiency <= 1.0 or not 0.0 < peak_efficiency <= 1.0:
        raise PartError.one(
            f"{name}.peak_efficiency",
            f"{100 * peak_efficiency:g} % and {100 * rated_efficiency:g} %",
            "efficiencies are above 0 and at most 100 %",
            "read both again from the label",
        )
    if peak_efficiency < rated_efficiency:
        raise PartError.one(
            f"{name}.peak_efficiency",
            f"{100 * peak_efficiency:g} %",
            f"must be at least the rated efficiency, {100 * rated_efficiency:g} %",
            "read both again from the label",
        )
    idle = idle_w / rated_w
    at_peak = 1.0 / peak_efficiency - 1.0
    at_rating = 1.0 / rated_efficiency - 1.0
    square = (math.sqrt(idle) + math.sqrt(at_rating - at_peak)) ** 2
    linear = at_peak - 2.0 * math.sqrt(idle * square)
    if linear < 0.0 or square < idle:
        linear = 0.0
        square = max(at_rating - idle, 0.0)
    return InverterModel(rated_w=rated_w, p0_w=idle_w, k1=linear, k2_per_w=square / rated_w)


def european_efficiency(efficiency_at: Callable[[float], float]) -> float:
    """Efficiency weighted for a middling climate.

    Parameters
    ----------
    efficiency_at : callable
        Efficiency [-] at a share of the rating [-].

    Returns
    -------
    float
        Weighted efficiency [-].

    References
    ----------
    0.03 η5 + 0.06 η10 + 0.13 η20 + 0.10 η30 + 0.48 η50 + 0.20 η100, as in EN 50530
    (from memory).
    """
    return sum(weight * efficiency_at(share) for share, weight in EUROPEAN_WEIGHTS.items())


def californian_efficiency(efficiency_at: Callable[[float], float]) -> float:
    """Efficiency weighted for a sunny climate, as the CEC publishes it.

    Parameters
    ----------
    efficiency_at : callable
        Efficiency [-] at a share of the rating [-].

    Returns
    -------
    float
        Weighted efficiency [-].

    References
    ----------
    0.04 η10 + 0.05 η20 + 0.12 η30 + 0.21 η50 + 0.53 η75 + 0.05 η100, California Energy
    Commission guideline (from memory).
    """
    return sum(weight * efficiency_at(share) for share, weight in CALIFORNIAN_WEIGHTS.items())

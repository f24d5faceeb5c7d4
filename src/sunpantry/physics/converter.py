"""What a DC converter or USB adaptor draws for what it gives.

    P_in = P_idle + P_out·(1/η_rated − P_idle/P_rated)

so that the draw is the idle draw with nothing connected and the efficiency on the label
is met at the rating.

Validity: from nothing to the rating, within the input range of the label. Departures: the loss
that grows with the square of the power is left out, so that between nothing and the rating
the efficiency is told a little too low; nothing limits it at its rating.

References
----------
Linear loss of a switched converter: common practice, no source; the figures are the label's.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def gain_per_watt(*, rated_w: float, efficiency: float, idle_w: float) -> float:
    """Power drawn for each watt delivered, beside the idle draw [-].

    Parameters
    ----------
    rated_w : float
        Largest power it can deliver [W].
    efficiency : float
        Efficiency at the rating [-].
    idle_w : float
        Draw with nothing connected [W].
    """
    return max(1.0 / efficiency - idle_w / rated_w, 1.0)


def converter_input_w(
    output_w: ArrayLike, *, rated_w: float, efficiency: float, idle_w: float
) -> FloatArray:
    """Power drawn by a converter.

    Parameters
    ----------
    output_w : array_like
        Power delivered [W], 0 to the rating.
    rated_w : float
        Largest power it can deliver [W].
    efficiency : float
        Efficiency at the rating [-].
    idle_w : float
        Draw with nothing connected [W].

    Returns
    -------
    ndarray
        Power drawn [W].

    References
    ----------
    Common practice, no source: a fixed draw and a loss in step with the power.
    """
    out = np.asarray(output_w, dtype=np.float64)
    per_watt = gain_per_watt(rated_w=rated_w, efficiency=efficiency, idle_w=idle_w)
    return np.asarray(idle_w + out * per_watt)


def converter_output_w(
    input_w: ArrayLike, *, rated_w: float, efficiency: float, idle_w: float
) -> FloatArray:
    """Power a converter can give from a limited supply; the inverse of the draw.

    Parameters
    ----------
    input_w : array_like
        Power available [W].
    rated_w : float
        Largest power it can deliver [W].
    efficiency : float
        Efficiency at the rating [-].
    idle_w : float
        Draw with nothing connected [W].

    Returns
    -------
    ndarray
        Power delivered [W], 0 to the rating.

    References
    ----------
    As :func:`converter_input_w`.
    """
    available = np.asarray(input_w, dtype=np.float64)
    per_watt = gain_per_watt(rated_w=rated_w, efficiency=efficiency, idle_w=idle_w)
    return np.asarray(np.clip((available - idle_w) / per_watt, 0.0, rated_w))

"""Unlike arrays on one tracker: they share a voltage, which is the best for none of them.

The tracker holds all arrays at one voltage and finds where their powers together are
greatest. Round its own maximum (power ``P``, voltage ``V_m``, no-load voltage ``V_o``) an
array is taken to give, at a voltage ``V``:

* above: ``P · (1 − x² (0.7 + 0.3 x))``, ``x = (V − V_m) / (V_o − V_m)``, nothing beyond ``V_o``,
  the law the simulation uses there;
* below: ``P · v · (1 + s (1 − v^(1/s)))``, ``v = V / V_m``: a current that rises to ``1 + s`` times
  that at the maximum, with the slope that a maximum must have; ``s = 0.06``.

Validity: arrays of crystalline panels on one tracker that searches the whole span.
Departures: both are fits to crystalline panels in strong light, good to some per cent of
the power away from the maximum; between like panels facing two ways the whole effect is
below one per cent. Nothing flows backwards through an array.

References
----------
Single-diode curves of crystalline panels (see :mod:`sunpantry.physics.panel`); ratio of
short-circuit to maximum-power current 1.05 to 1.08 on labels, common practice.
"""

from __future__ import annotations

import numpy as np

from sunpantry.timegrid import FloatArray

SHORT_RISE = 0.06
# Voltages tried between the lowest and the highest of the arrays' own best ones.
TRIED = 17


def power_share(volts: FloatArray, *, best_v: FloatArray, no_load_v: FloatArray) -> FloatArray:
    """Power of an array held at a voltage, over that at its own maximum.

    Parameters
    ----------
    volts : ndarray
        Voltage it is held at [V].
    best_v, no_load_v : ndarray
        Its voltages of maximum power and without load [V], above 0.

    Returns
    -------
    ndarray
        Share, 0 to 1 [-].
    """
    x = np.clip((volts - best_v) / np.maximum(no_load_v - best_v, 1e-9), 0.0, 1.0)
    v = np.clip(volts / best_v, 0.0, 1.0)
    below = v * (1.0 + SHORT_RISE * (1.0 - v ** (1.0 / SHORT_RISE)))
    return np.asarray(np.where(volts > best_v, 1.0 - x * x * (0.7 + 0.3 * x), below))


def common_maximum(
    power_w: FloatArray, best_v: FloatArray, no_load_v: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Greatest power of several arrays at one voltage.

    Parameters
    ----------
    power_w, best_v, no_load_v : ndarray, shape (arrays, n)
        Of each array by itself: maximum power [W], its voltage, and that without load [V];
        0 where no light falls on it.

    Returns
    -------
    power_w, best_v, no_load_v : ndarray, shape (n,)
        Of all together; without load the mean by power, for the highest voltage has little
        behind it and the lowest does not bind [W, V, V].
    """
    lit = power_w > 0.0
    lowest = np.where(lit, best_v, np.inf).min(axis=0)
    highest = np.where(lit, best_v, 0.0).max(axis=0)
    lowest = np.minimum(lowest, highest)
    most, common = np.zeros(power_w.shape[1]), np.zeros(power_w.shape[1])
    for place in np.linspace(0.0, 1.0, TRIED):
        volts = lowest + place * (highest - lowest)
        whole = np.zeros_like(most)
        for own_w, own_v, open_v in zip(power_w, best_v, no_load_v, strict=True):
            safe_v = np.where(own_v > 0.0, own_v, 1.0)
            whole += own_w * power_share(volts, best_v=safe_v, no_load_v=open_v)
        better = whole > most
        most = np.where(better, whole, most)
        common = np.where(better, volts, common)
    total = power_w.sum(axis=0)
    mean = (power_w * no_load_v).sum(axis=0) / np.where(total > 0.0, total, 1.0)
    return most, common, np.asarray(mean)

"""Compiled inner loops of the single-diode panel model. Inputs are validated outside.

Every routine works on one operating condition, given by the five parameters there:
light current ``il`` [A], saturation current ``io`` [A], series resistance ``rs`` [Ω],
shunt conductance ``gsh`` [S] and modified ideality ``a`` [V].
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit
from numpy.typing import NDArray

from sunpantry.physics.panel import BOLTZMANN_EV_PER_K, REFERENCE_K

FloatArray = NDArray[np.float64]
Condition = tuple[float, float, float, float, float]

REFERENCE_W_M2 = 1000.0
# Relative change of the band gap of silicon with temperature, De Soto et al. (2006) [1/K].
GAP_SLOPE_PER_K = -0.0002677
_ROUNDS = 60
# Newton's steps shrink quadratically: after one of 1e-7 the error is near 1e-14.
_CLOSE = 1e-7


@njit(cache=True)
def condition(reference: FloatArray, irradiance: float, temperature: float) -> Condition:
    """Carry the reference parameters to an irradiance [W/m²] and cell temperature [°C].

    ``reference`` holds il, io, rs, gsh, a, the current coefficient [A/K] and the band
    gap [eV] at 1000 W/m² and 25 °C. Returns il, io, rs, gsh, a there.
    """
    kelvin = temperature + 273.15
    warmer = kelvin - REFERENCE_K
    sun = irradiance / REFERENCE_W_M2
    gap_ref = reference[6]
    gap = gap_ref * (1.0 + GAP_SLOPE_PER_K * warmer)
    ratio = kelvin / REFERENCE_K
    io = (
        reference[1]
        * ratio**3
        * math.exp((gap_ref / REFERENCE_K - gap / kelvin) / BOLTZMANN_EV_PER_K)
    )
    il = sun * (reference[0] + reference[5] * warmer)
    return max(il, 0.0), io, reference[2], sun * reference[3], reference[4] * ratio


@njit(cache=True)
def current_at(voltage: float, at: Condition) -> float:
    """Solve the curve for the current at a terminal voltage; none flows backwards.

    The residual falls and is concave in the current, so that Newton's method started
    above the root comes down to it without overshooting.
    """
    il, io, rs, gsh, a = at
    if il <= 0.0 or il - io * (math.exp(min(voltage / a, 700.0)) - 1.0) - voltage * gsh <= 0.0:
        return 0.0
    current = il
    for _ in range(_ROUNDS):
        inner = voltage + current * rs
        grown = io * math.exp(inner / a)
        residual = il - grown + io - inner * gsh - current
        step = residual / (rs * (grown / a + gsh) + 1.0)
        current += step
        if abs(step) <= _CLOSE * il:
            break
    return max(current, 0.0)


@njit(cache=True)
def open_circuit(at: Condition) -> float:
    """Solve the curve for the open-circuit voltage."""
    il, io, _, gsh, a = at
    if il <= 0.0:
        return 0.0
    voltage = a * math.log1p(il / io)
    for _ in range(_ROUNDS):
        grown = io * math.exp(voltage / a)
        step = (il - grown + io - voltage * gsh) / (grown / a + gsh)
        voltage += step
        if abs(step) <= _CLOSE * a:
            break
    return voltage


@njit(cache=True)
def maximum_power(at: Condition) -> tuple[float, float]:
    """Find voltage and current of the maximum-power point.

    The curve is followed by the voltage inside the series resistance, in which voltage
    and current are both explicit; the slope of the power is brought to zero by Newton's
    method held inside a bracket.
    """
    il, io, rs, gsh, a = at
    if il <= 0.0:
        return 0.0, 0.0
    low = 0.0
    high = open_circuit(at)
    # Where the ideal curve without resistances has its maximum, nearly.
    inner = high - a * math.log(1.0 + high / a)
    for _ in range(_ROUNDS):
        grown = io * math.exp(inner / a)
        current = il - grown + io - inner * gsh
        current_slope = -(grown / a + gsh)
        voltage = inner - current * rs
        voltage_slope = 1.0 - rs * current_slope
        slope = current_slope * voltage + current * voltage_slope
        bend_current = -grown / (a * a)
        bend = (
            bend_current * voltage
            + 2.0 * current_slope * voltage_slope
            - current * rs * bend_current
        )
        if slope > 0.0:
            low = inner
        else:
            high = inner
        following = inner - slope / bend if bend < 0.0 else low
        if following <= low or following >= high:
            following = 0.5 * (low + high)
        moved = abs(following - inner)
        inner = following
        if moved <= _CLOSE * a:
            break
    current = il - io * (math.exp(inner / a) - 1.0) - inner * gsh
    return inner - current * rs, current


@njit(cache=True)
def currents(
    out: FloatArray,
    reference: FloatArray,
    voltage: FloatArray,
    irradiance: FloatArray,
    temperature: FloatArray,
) -> None:
    """Fill ``out`` with the currents at given voltages and conditions (equal lengths)."""
    for k in range(out.size):
        out[k] = current_at(voltage[k], condition(reference, irradiance[k], temperature[k]))


@njit(cache=True)
def open_circuits(
    out: FloatArray, reference: FloatArray, irradiance: FloatArray, temperature: FloatArray
) -> None:
    """Fill ``out`` with open-circuit voltages."""
    for k in range(out.size):
        out[k] = open_circuit(condition(reference, irradiance[k], temperature[k]))


@njit(cache=True)
def maximum_powers(
    voltage: FloatArray,
    current: FloatArray,
    reference: FloatArray,
    irradiance: FloatArray,
    temperature: FloatArray,
) -> None:
    """Fill ``voltage`` and ``current`` with the maximum-power points."""
    for k in range(voltage.size):
        at = condition(reference, irradiance[k], temperature[k])
        voltage[k], current[k] = maximum_power(at)

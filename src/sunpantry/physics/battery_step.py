"""One step of a battery bank, as scalar functions that the simulation kernel compiles.

Powers are means over the step [W], positive in the direction the name says. 'Terminal'
means at the poles, 'internal' means into or out of the wells.

    V = V0(h) − R_d·I     on charge V = V0 + R_c·I     R_c = R·(1 + M·s/(C − s))
    I_gas = I_g·exp(11·(U − 2.23) + 0.06·(T − 20))     U volts a cell

Validity: means over 5 minutes to an hour, up to about C/2. Departures from the source: its
Shepherd terms are for charge and ours for energy, the head of the available well stands for its
acid gradient, and its corrosion layer and acid stratification are left out.

References
----------
Voltage under load and acceptance: the Shepherd form used by J. Schiffer et al., J. Power Sources
168 (2007) 66-78. Gassing: the same paper, after D. U. Sauer; current exponential in cell
voltage and temperature, constants from memory.
"""

from __future__ import annotations

import math

from sunpantry.physics.compiled import part
from sunpantry.timegrid import FloatArray

# Gassing: 1/V and 1/K in exp(CU (U - 2.23) + CT (T - 20)), volts per lead-acid cell.
GAS_PER_VOLT = 11.0
GAS_PER_KELVIN = 0.06
GAS_REFERENCE_V = 2.23
GAS_REFERENCE_C = 20.0


@part
def open_circuit(curves: FloatArray, row: int, head: float) -> float:
    """Open-circuit voltage at a head of the available well, 0…1, by linear interpolation [V].

    Parameters
    ----------
    curves : (batteries, points)
        Voltage at heads equally spaced from 0 to 1 [V].
    row : int
        Which battery.
    head : float
        Share of the available well that is filled [-]; held to 0…1.
    """
    last = curves.shape[1] - 1
    place = head * last
    if place <= 0.0:
        return float(curves[row, 0])
    if place >= last:
        return float(curves[row, last])
    left = int(place)
    low = curves[row, left]
    return float(low + (place - left) * (curves[row, left + 1] - low))


@part
def discharge_current(terminal_w: float, open_v: float, ohm: float) -> float:
    """Current that delivers a power through the internal resistance [A].

    Beyond the largest power the bank can give, the current of that power is returned.
    """
    under = open_v * open_v - 4.0 * ohm * terminal_w
    if under <= 0.0:
        return open_v / (2.0 * ohm)
    return 2.0 * terminal_w / (open_v + math.sqrt(under))


@part
def charge_current(terminal_w: float, open_v: float, ohm: float) -> float:
    """Current that absorbs a power through the internal resistance [A]."""
    return 2.0 * terminal_w / (open_v + math.sqrt(open_v * open_v + 4.0 * ohm * terminal_w))


@part
def charge_resistance(base_ohm: float, filled: float, taper: float, reach: float) -> float:
    """Resistance on charge, growing steeply as the bank fills (Shepherd) [Ω].

    Parameters
    ----------
    filled : float
        Content over capacity of both wells [-], at most 1.
    taper, reach : float
        Shepherd ``M`` and ``C``.
    """
    return base_ohm * (1.0 + taper * filled / (reach - filled))


@part
def discharge_growth(filled: float, drain: float, reach: float) -> float:
    """Factor on the resistance on discharge, growing as the bank empties (Shepherd) [-].

    Parameters
    ----------
    filled : float
        Content over capacity of both wells [-], 0…1.
    drain, reach : float
        Shepherd ``M`` and ``C`` of the discharge, the latter as a share of the content of
        both wells; above 1.
    """
    empty = 1.0 - filled
    return 1.0 + drain * empty / (reach - empty)


@part
def gassing_current(base_a: float, cell_v: float, cell_c: float) -> float:
    """Current that splits water instead of charging [A].

    Parameters
    ----------
    base_a : float
        At 2.23 V per cell and 20 °C [A].
    """
    return base_a * math.exp(
        GAS_PER_VOLT * (cell_v - GAS_REFERENCE_V) + GAS_PER_KELVIN * (cell_c - GAS_REFERENCE_C)
    )


@part
def capacity_out_of_reach(per_k: float, cell_c: float) -> float:
    """Share of the capacity that the cold keeps back, 0…0.9, nothing above 25 °C [-]."""
    return min(max(per_k * (25.0 - cell_c), 0.0), 0.9)


@part
def cold_resistance(per_k: float, cell_c: float) -> float:
    """Factor on the resistance, 1 at 25 °C, growing in the cold [-]."""
    return max(0.7, 1.0 + per_k * (25.0 - cell_c))

"""Air for a charging lead-acid battery, so that its hydrogen stays far below 4 %.

References
----------
.. [1] EN IEC 62485-2:2018 §7.2 and §7.3: Q = 0.05·n·Igas·Crt·10⁻³ in m³/h; free
   opening A = 28·Q; safety distance d = 28.8·∛Igas·∛Crt (the distance from memory).
"""

from __future__ import annotations

import math
from typing import Literal

Charging = Literal["float", "boost"]

# 24 (dilution to 4 %) × 0.42·10⁻³ m³/Ah (hydrogen) × 5 (safety), as the standard rounds it.
AIR_M3_PER_AH = 0.05
OPENING_CM2_PER_M3_H = 28.0
LOWER_EXPLOSIVE_PCT = 4.0
# Current that makes gas, mA for each Ah of rated capacity; [1]_ table 1.
_GAS_MA_PER_AH: dict[str, dict[Charging, float]] = {
    "flooded": {"float": 5.0, "boost": 20.0},
    "agm": {"float": 1.0, "boost": 8.0},
    "gel": {"float": 1.0, "boost": 8.0},
}


def gas_current_ma_per_ah(chemistry: str, *, charging: Charging = "boost") -> float:
    """Current that makes gas.

    Parameters
    ----------
    chemistry : str
        'flooded', 'agm', 'gel'; others make none.
    charging : {'float', 'boost'}
        Boost is absorption and equalising.

    Returns
    -------
    float
        Current per rated capacity [mA/Ah].

    References
    ----------
    [1]_ table 1.
    """
    return _GAS_MA_PER_AH.get(chemistry, {"float": 0.0, "boost": 0.0})[charging]


def air_flow_m3_h(
    *, cells: int, capacity_ah: float, chemistry: str, charging: Charging = "boost"
) -> float:
    """Fresh air a bank needs while it charges.

    Parameters
    ----------
    cells : int
        Cells in series [-]; 6 for 12 V.
    capacity_ah : float
        Rated capacity of the bank [Ah].
    chemistry : str
        'flooded', 'agm', 'gel'; others need none.
    charging : {'float', 'boost'}
        Boost is absorption and equalising.

    Returns
    -------
    float
        Air flow [m³/h].

    References
    ----------
    [1]_ §7.2.
    """
    gas_a_per_ah = gas_current_ma_per_ah(chemistry, charging=charging) / 1000.0
    return AIR_M3_PER_AH * cells * gas_a_per_ah * capacity_ah


def opening_cm2(air_flow: float) -> float:
    """Free area of an inlet, and again of an outlet, when the air moves by itself.

    Parameters
    ----------
    air_flow : float
        Air flow needed [m³/h].

    Returns
    -------
    float
        Area of each opening [cm²].

    References
    ----------
    [1]_ §7.3.
    """
    return OPENING_CM2_PER_M3_H * air_flow


def spark_distance_mm(*, capacity_ah: float, chemistry: str) -> float:
    """Distance from the vents within which nothing may spark or glow.

    Parameters
    ----------
    capacity_ah : float
        Rated capacity [Ah].
    chemistry : str
        'flooded', 'agm', 'gel'; others need none.

    Returns
    -------
    float
        Distance through the air [mm].

    References
    ----------
    [1]_: 28.8·∛Igas·∛Crt.
    """
    return 28.8 * math.cbrt(gas_current_ma_per_ah(chemistry) * capacity_ah)

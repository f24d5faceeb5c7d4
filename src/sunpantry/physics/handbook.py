"""Sizing by hand, as the handbooks do it, to stand beside the simulation.

References
----------
.. [1] Anonymous university worksheet, "Stand-alone camp", Baton Rouge (widely copied).
.. [2] G. M. Masters, "Renewable and Efficient Electric Power Systems", Wiley 2004, ch. 9.
.. [3] Sandia National Laboratories, SAND87-7023, 1988, worksheets (factors from memory).
.. [4] IEEE Std 1562 (array and battery of stand-alone systems), IEEE Std 1013 (lead-acid
   batteries for them), both from memory.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Literal

Availability = Literal[95, 99]

# Usable storage in days by peak sun hours of the design month; [2]_, fits to its figure.
_STORAGE_FITS: dict[Availability, tuple[float, float, float]] = {
    95: (9.43, -1.9, 0.11),
    99: (24.0, -4.73, 0.3),
}
COULOMB_FACTOR = 0.90
DIRT_FACTOR = 0.90
WIRE_EFFICIENCY = 0.98
BATTERY_EFFICIENCY = 0.90
MODULE_DERATE = 0.90
END_OF_LIFE = 0.8


def daily_energy_wh(loads: Iterable[tuple[float, float, float]]) -> float:
    """Energy drawn from the battery bus in a day.

    Parameters
    ----------
    loads : iterable of (float, float, float)
        Power [W], hours a day [h/d], efficiency of what feeds it [-].

    Returns
    -------
    float
        Energy [Wh/d].

    References
    ----------
    [1]_, [2]_: Σ W × h/η.
    """
    return math.fsum(power_w * hours / efficiency for power_w, hours, efficiency in loads)


def daily_charge_ah(energy_wh: float, bank_v: float) -> float:
    """Charge drawn in a day at the nominal voltage.

    Parameters
    ----------
    energy_wh : float
        Energy drawn from the bus [Wh/d].
    bank_v : float
        Nominal voltage [V].

    Returns
    -------
    float
        Charge [Ah/d].

    References
    ----------
    [1]_, [2]_.
    """
    return energy_wh / bank_v


def battery_capacity_ah(
    *, daily_ah: float, days: float, max_depth: float, cold_factor: float = 1.0
) -> float:
    """Rated capacity for some days without sun.

    Parameters
    ----------
    daily_ah : float
        Charge drawn in a day [Ah/d].
    days : float
        Days of autonomy [d].
    max_depth : float
        Largest depth of discharge [-].
    cold_factor : float
        Share of the rated capacity left by cold and rate [-].

    Returns
    -------
    float
        Capacity [Ah].

    References
    ----------
    [1]_, [2]_, [3]_.
    """
    return daily_ah * days / (max_depth * cold_factor)


def batteries_needed(
    *, capacity_ah: float, bank_v: float, block_ah: float, block_v: float
) -> tuple[int, int]:
    """Blocks in series and strings in parallel.

    Parameters
    ----------
    capacity_ah : float
        Capacity wanted [Ah].
    bank_v : float
        Nominal voltage wanted [V].
    block_ah : float
        Capacity of one block [Ah].
    block_v : float
        Nominal voltage of one block [V].

    Returns
    -------
    series, parallel : int
        Counts [-].

    References
    ----------
    [1]_.
    """
    return max(1, round(bank_v / block_v)), max(1, math.ceil(capacity_ah / block_ah - 1e-9))


def array_energy_wh(*, energy_wh: float, battery_efficiency: float) -> float:
    """Energy the array must give in a day.

    Parameters
    ----------
    energy_wh : float
        Energy drawn from the bus [Wh/d].
    battery_efficiency : float
        Energy out of the battery for energy in [-].

    Returns
    -------
    float
        Energy [Wh/d].

    References
    ----------
    [1]_.
    """
    return energy_wh / battery_efficiency


def panel_energy_wh(*, power_w: float, sun_hours: float, derate: float) -> float:
    """Energy one panel gives in a day.

    Parameters
    ----------
    power_w : float
        Rated, or guaranteed, power [W].
    sun_hours : float
        Peak sun hours on the panel in the design month [kWh/m²/d].
    derate : float
        Share left by warmth and dirt [-].

    Returns
    -------
    float
        Energy [Wh/d].

    References
    ----------
    [1]_.
    """
    return power_w * sun_hours * derate


def storage_days(sun_hours: float, *, availability_pct: Availability = 95) -> float:
    """Usable days of storage for an availability, by the sun of the design month.

    Parameters
    ----------
    sun_hours : float
        Peak sun hours of the design month [kWh/m²/d], 2 to 7.
    availability_pct : {95, 99}
        Share of the time with power wanted [%].

    Returns
    -------
    float
        Days [d].

    References
    ----------
    [2]_: 9.43 − 1.9·s + 0.11·s² for 95 %, 24.0 − 4.73·s + 0.3·s² for 99 %; fits to
    stations of the United States. Departure: held at the ends of 2 and 7 hours.
    """
    a, b, c = _STORAGE_FITS[availability_pct]
    s = min(max(sun_hours, 2.0), 7.0)
    return a + b * s + c * s * s


def panel_charge_ah(
    *,
    imp_a: float,
    sun_hours: float,
    coulomb_factor: float = COULOMB_FACTOR,
    dirt_factor: float = DIRT_FACTOR,
) -> float:
    """Charge one string puts to use in a day under a PWM controller.

    Parameters
    ----------
    imp_a : float
        Current at maximum power [A].
    sun_hours : float
        Peak sun hours [kWh/m²/d].
    coulomb_factor : float
        Charge out of the battery for charge in [-].
    dirt_factor : float
        Share left by dirt and age [-].

    Returns
    -------
    float
        Charge [Ah/d].

    References
    ----------
    [2]_.
    """
    return imp_a * sun_hours * coulomb_factor * dirt_factor


def corrected_charge_ah(
    daily_ah: float,
    *,
    wire_efficiency: float = WIRE_EFFICIENCY,
    battery_efficiency: float = BATTERY_EFFICIENCY,
) -> float:
    """Charge the array must give in a day, by the worksheets.

    Parameters
    ----------
    daily_ah : float
        Charge drawn in a day [Ah/d].
    wire_efficiency, battery_efficiency : float
        Shares that arrive [-].

    Returns
    -------
    float
        Charge [Ah/d].

    References
    ----------
    [3]_.
    """
    return daily_ah / (wire_efficiency * battery_efficiency)


def strings_by_worksheet(
    *, corrected_ah: float, sun_hours: float, imp_a: float, derate: float = MODULE_DERATE
) -> int:
    """Strings in parallel by the worksheets, in the worst month.

    Parameters
    ----------
    corrected_ah : float
        Charge the array must give in a day [Ah/d].
    sun_hours : float
        Peak sun hours of the worst month [kWh/m²/d].
    imp_a : float
        Current of a string at maximum power [A].
    derate : float
        Share of it left in the field [-].

    Returns
    -------
    int
        Strings [-].

    References
    ----------
    [3]_: design current = Ah/PSH, over derate × Imp.
    """
    return math.ceil(corrected_ah / sun_hours / (derate * imp_a) - 1e-9)


def strings_by_ratio(
    *,
    daily_ah: float,
    sun_hours: float,
    imp_a: float,
    array_to_load: float = 1.2,
    system_losses: float = 0.15,
) -> int:
    """Strings in parallel by the ratio of array to load.

    Parameters
    ----------
    daily_ah : float
        Charge drawn in a day [Ah/d].
    sun_hours : float
        Peak sun hours of the worst month [kWh/m²/d].
    imp_a : float
        Current of a string at maximum power [A].
    array_to_load : float
        1.1 to 1.2 for ordinary loads or much sun, 1.3 to 1.4 for critical ones [-].
    system_losses : float
        0.10 to 0.20 [-].

    Returns
    -------
    int
        Strings [-].

    References
    ----------
    [4]_ IEEE 1562: A:L × Ah/((1 − SL)·Imp·PSH).
    """
    needed = array_to_load * daily_ah / ((1.0 - system_losses) * imp_a * sun_hours)
    return math.ceil(needed - 1e-9)


def capacity_by_standard_ah(
    *,
    daily_ah: float,
    days: float,
    max_depth: float,
    max_daily_depth: float,
    temperature_factor: float = 1.0,
    margin: float = 1.10,
) -> float:
    """Rated capacity as the largest of three demands.

    Parameters
    ----------
    daily_ah : float
        Charge drawn in a day [Ah/d].
    days : float
        Days of autonomy [d].
    max_depth, max_daily_depth : float
        Depths of discharge at the end of the autonomy and in one day [-].
    temperature_factor : float
        Growth for cold, IEEE 485 table 1 [-], at least 1.
    margin : float
        Design margin, 1.10 to 1.25 [-].

    Returns
    -------
    float
        Capacity [Ah].

    References
    ----------
    [4]_ IEEE 1013: autonomy/MDOD, daily/MDDOD, autonomy/0.8 at the end of life.
    """
    total = daily_ah * days
    demands = (total / max_depth, daily_ah / max_daily_depth, total / END_OF_LIFE)
    return max(demands) * temperature_factor * margin


def usual_autonomy_days(latitude_deg: float, *, critical: bool = False) -> tuple[float, float]:
    """Span of days of autonomy that installers use.

    Parameters
    ----------
    latitude_deg : float
        Latitude [°].
    critical : bool
        The load must not fail.

    Returns
    -------
    low, high : float
        Days [d].

    References
    ----------
    Rough practice, no source: 2-3 in the tropics, 4-7 temperate, 8-14 in the winter of
    high latitudes or for critical loads.
    """
    if critical or abs(latitude_deg) >= 50.0:
        return 8.0, 14.0
    return (2.0, 3.0) if abs(latitude_deg) < 25.0 else (4.0, 7.0)

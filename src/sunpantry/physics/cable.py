"""Copper cables: resistance, voltage drop, loss, and the current they may carry.

References
----------
.. [1] IEC 60228, conductors of insulated cables: largest resistances.
.. [2] IEC 60364-5-52:2009, wiring systems: current-carrying capacities, annex B.
.. [3] ASTM B258, American wire gauges: d = 0.127 mm · 92^((36 − n)/39).
"""

from __future__ import annotations

import math
from typing import Literal

from sunpantry.errors import InputError
from sunpantry.physics import cable_tables as tables

Insulation = Literal["pvc", "xlpe", "solar", "cord"]
Conductor = Literal["flexible", "fixed"]

SIZES_MM2 = tables.SIZES_MM2
HOT_C = 70.0


def resistance_ohm_per_km(
    size_mm2: float, *, conductor: Conductor = "flexible", temperature_c: float = 20.0
) -> float:
    """Largest resistance a standard conductor may have.

    Parameters
    ----------
    size_mm2 : float
        Standard cross-section [mm²].
    conductor : {'flexible', 'fixed'}
        Class 5, or class 1 and 2.
    temperature_c : float
        Temperature of the copper [°C], −40 to 120.

    Returns
    -------
    float
        Resistance of one conductor [Ω/km].

    Raises
    ------
    InputError
        When the size is no standard one.

    References
    ----------
    [1]_ tables 1 to 3; 0.393 %/K.
    """
    table = tables.CLASS_5_OHM_PER_KM if conductor == "flexible" else tables.CLASS_2_OHM_PER_KM
    if size_mm2 not in table:
        raise InputError.one(
            "size", f"{size_mm2:g} mm²", "a standard size: " + _list(table), "take the next larger"
        )
    return table[size_mm2] * (1.0 + tables.COPPER_PER_K * (temperature_c - 20.0))


def loop_resistance_ohm(
    *,
    length_m: float,
    size_mm2: float,
    conductor: Conductor = "flexible",
    temperature_c: float = HOT_C,
) -> float:
    """Resistance there and back of a two-core run.

    Parameters
    ----------
    length_m : float
        Length one way [m].
    size_mm2 : float
        Standard cross-section [mm²].
    conductor : {'flexible', 'fixed'}
        Kind of stranding.
    temperature_c : float
        Temperature of the copper [°C]; 70 °C is a PVC cable at its limit.

    Returns
    -------
    float
        Resistance [Ω].

    References
    ----------
    [1]_.
    """
    per_km = resistance_ohm_per_km(size_mm2, conductor=conductor, temperature_c=temperature_c)
    return 2.0 * length_m / 1000.0 * per_km


def voltage_drop_v(
    *,
    current_a: float,
    length_m: float,
    size_mm2: float,
    conductor: Conductor = "flexible",
    temperature_c: float = HOT_C,
) -> float:
    """Voltage lost in a two-core run of direct current.

    Parameters
    ----------
    current_a : float
        Current [A].
    length_m : float
        Length one way [m].
    size_mm2 : float
        Standard cross-section [mm²].
    conductor : {'flexible', 'fixed'}
        Kind of stranding.
    temperature_c : float
        Temperature of the copper [°C].

    Returns
    -------
    float
        Voltage drop [V]. Times the current it is the loss [W].

    Examples
    --------
    >>> round(voltage_drop_v(current_a=10, length_m=10, size_mm2=4, temperature_c=20), 2)
    0.99

    References
    ----------
    [1]_; Ohm's law over twice the length.
    """
    return current_a * loop_resistance_ohm(
        length_m=length_m, size_mm2=size_mm2, conductor=conductor, temperature_c=temperature_c
    )


def current_capacity_a(
    size_mm2: float,
    *,
    method: str = "C",
    insulation: Insulation = "pvc",
    ambient_c: float = 30.0,
    circuits: int = 1,
) -> float | None:
    """Current a two-core run may carry without end.

    Parameters
    ----------
    size_mm2 : float
        Standard cross-section [mm²].
    method : str
        Installation method: A1, A2 in an insulating wall, B1, B2 in conduit, C clipped
        to a wall, D1, D2 in the ground, E in free air, F single cores in free air;
        'air' for solar cable and cords.
    insulation : {'pvc', 'xlpe', 'solar', 'cord'}
        What limits the copper: 70, 90, 120 or 60 °C.
    ambient_c : float
        Temperature of the air, or of the ground [°C].
    circuits : int
        Loaded circuits lying together [-].

    Returns
    -------
    float or None
        Capacity [A]; ``None`` where the standard has no value for the size.

    Raises
    ------
    InputError
        When the method is not tabulated for the insulation.

    References
    ----------
    [2]_ tables B.52.2, B.52.3, B.52.10, B.52.17; solar cable EN 50618, cords BS 7671
    table 4F3A (both from memory).
    """
    by_method, _, _ = tables.INSULATIONS[insulation]
    if method not in by_method:
        raise InputError.one(
            "method", method, f"for {insulation}: {', '.join(by_method)}", "choose one of these"
        )
    base = by_method[method].get(size_mm2)
    if base is None:
        return None
    return (
        base
        * ambient_factor(ambient_c, insulation=insulation, method=method)
        * grouping_factor(circuits)
    )


def ambient_factor(ambient_c: float, *, insulation: Insulation = "pvc", method: str = "C") -> float:
    """Factor on the capacity for the temperature around a cable.

    Parameters
    ----------
    ambient_c : float
        Temperature of the air, or of the ground for methods D1 and D2 [°C].
    insulation : {'pvc', 'xlpe', 'solar', 'cord'}
        Kind of insulation.
    method : str
        Installation method.

    Returns
    -------
    float
        Factor [-]; 0 from the limit of the insulation upwards.

    References
    ----------
    [2]_ tables B.52.14 and B.52.15, which are √((Tmax − T)/(Tmax − Tref)) to two digits;
    the relation itself is used.
    """
    _, limit_c, reference_c = tables.INSULATIONS[insulation]
    if method in tables.BURIED_METHODS:
        reference_c = tables.GROUND_REFERENCE_C
    return math.sqrt(max(limit_c - ambient_c, 0.0) / (limit_c - reference_c))


def grouping_factor(circuits: int) -> float:
    """Factor on the capacity for circuits that warm each other.

    Parameters
    ----------
    circuits : int
        Loaded circuits bunched together [-], at least 1.

    Returns
    -------
    float
        Factor [-]; that of the next larger number tabulated, and of 20 beyond it.

    References
    ----------
    [2]_ table B.52.17, item 1.
    """
    larger = [number for number in tables.GROUPING if number >= circuits]
    return tables.GROUPING[min(larger, default=max(tables.GROUPING))]


def conductor_temperature_c(
    *, current_a: float, capacity_a: float, ambient_c: float, insulation: Insulation = "pvc"
) -> float:
    """Temperature the copper settles at.

    Parameters
    ----------
    current_a : float
        Lasting current [A].
    capacity_a : float
        Capacity in this ambient [A].
    ambient_c : float
        Temperature around the cable [°C].
    insulation : {'pvc', 'xlpe', 'solar', 'cord'}
        Kind of insulation.

    Returns
    -------
    float
        Temperature [°C].

    References
    ----------
    Heat in step with the square of the current; the capacity is where it reaches the
    limit of the insulation [2]_.
    """
    limit_c = tables.INSULATIONS[insulation][1]
    return ambient_c + (limit_c - ambient_c) * (current_a / capacity_a) ** 2


def smallest_size_mm2(
    *,
    current_a: float,
    capacity_needed_a: float,
    length_m: float,
    allowed_drop_v: float,
    conductor: Conductor = "flexible",
    method: str = "C",
    insulation: Insulation = "pvc",
    ambient_c: float = 30.0,
    circuits: int = 1,
) -> float | None:
    """Smallest standard size that carries a current and keeps the drop small enough.

    Parameters
    ----------
    current_a : float
        Current the drop is reckoned at [A].
    capacity_needed_a : float
        Current it must be able to carry, usually the rating of its fuse [A].
    length_m : float
        Length one way [m].
    allowed_drop_v : float
        Largest voltage drop [V], with the copper at the limit of its insulation, at
        most 70 °C.
    conductor, method, insulation, ambient_c, circuits
        As for :func:`current_capacity_a` and :func:`resistance_ohm_per_km`.

    Returns
    -------
    float or None
        Size [mm²]; ``None`` when none is large enough.

    References
    ----------
    [1]_, [2]_.
    """
    hot_c = min(tables.INSULATIONS[insulation][1], HOT_C)
    for size_mm2 in SIZES_MM2:
        capacity_a = current_capacity_a(
            size_mm2, method=method, insulation=insulation, ambient_c=ambient_c, circuits=circuits
        )
        if capacity_a is None or capacity_a < capacity_needed_a:
            continue
        drop_v = voltage_drop_v(
            current_a=current_a,
            length_m=length_m,
            size_mm2=size_mm2,
            conductor=conductor,
            temperature_c=hot_c,
        )
        if drop_v <= allowed_drop_v:
            return size_mm2
    return None


def gauge_area_mm2(gauge: int) -> float:
    """Cross-section of an American wire gauge.

    Parameters
    ----------
    gauge : int
        Number; 1/0 is 0, 2/0 is −1, 4/0 is −3 [-].

    Returns
    -------
    float
        Area [mm²].

    References
    ----------
    [3]_.
    """
    return math.pi / 4.0 * math.pow(0.127 * 92.0 ** ((36 - gauge) / 39.0), 2.0)


def gauge_for(size_mm2: float) -> str:
    """Thinnest even American gauge that is not thinner than a metric size.

    Parameters
    ----------
    size_mm2 : float
        Metric cross-section [mm²].

    Returns
    -------
    str
        'AWG 12', 'AWG 2/0', …; beyond 4/0 'larger than AWG 4/0'.

    References
    ----------
    [3]_. Departure: 3 % less copper is let pass, so that 4 mm² is not AWG 10 only because
    of rounding in either series.
    """
    for gauge in (*range(20, 1, -2), 0, -1, -2, -3):
        if gauge_area_mm2(gauge) >= 0.97 * size_mm2:
            return f"AWG {gauge}" if gauge > 0 else f"AWG {1 - gauge}/0"
    return "larger than AWG 4/0"


def _list(sizes: dict[float, float]) -> str:
    return ", ".join(f"{size:g}" for size in sizes) + " mm²"

"""Voltages: how high an array can go in the cold, and what a voltage demands.

References
----------
.. [1] NFPA 70 (National Electrical Code), table 690.7(A), crystalline silicon (from memory).
.. [2] IEC 61140 and IEC 60364-4-41 §414: extra-low voltage (from memory).
"""

from __future__ import annotations

from typing import Literal

# Lowest temperature of each row [°C] -> factor on the open-circuit voltage.
_COLD_FACTORS = (
    (20.0, 1.02),
    (15.0, 1.04),
    (10.0, 1.06),
    (5.0, 1.08),
    (0.0, 1.10),
    (-5.0, 1.12),
    (-10.0, 1.14),
    (-15.0, 1.16),
    (-20.0, 1.18),
    (-25.0, 1.20),
    (-30.0, 1.21),
    (-35.0, 1.23),
    (-40.0, 1.25),
)
EXTRA_LOW_DC_V = 120.0
EXTRA_LOW_AC_V = 50.0
DRY_TOUCH_DC_V = 60.0
DRY_TOUCH_AC_V = 25.0
WET_TOUCH_DC_V = 30.0
WET_TOUCH_AC_V = 12.0

Band = Literal["wet touch", "dry touch", "extra-low", "low"]


def cold_factor(temperature_c: float) -> float:
    """Factor on the open-circuit voltage of crystalline silicon by the code's table.

    Parameters
    ----------
    temperature_c : float
        Lowest ambient temperature expected [°C].

    Returns
    -------
    float
        Factor [-]; 1 from 25 °C up, the last one below −40 °C.

    References
    ----------
    [1]_. Whole degrees in the table; in between, the colder row is taken.
    """
    if temperature_c >= 25.0:
        return 1.0
    for floor_c, factor in _COLD_FACTORS:
        if temperature_c >= floor_c:
            return factor
    return _COLD_FACTORS[-1][1]


def cold_voltage_v(
    *, voc_v: float, series: int, temperature_c: float, temp_coeff_voc_pct_per_k: float
) -> float:
    """Open-circuit voltage of a string at a low cell temperature, by its coefficient.

    Parameters
    ----------
    voc_v : float
        Open-circuit voltage of one panel at 25 °C [V].
    series : int
        Panels in series [-].
    temperature_c : float
        Cell temperature, at dawn that of the air [°C].
    temp_coeff_voc_pct_per_k : float
        Temperature coefficient of the label, negative [%/K].

    Returns
    -------
    float
        Voltage [V].

    References
    ----------
    IEC 62548 §7.2: Voc·(1 + β·(T − 25)) (from memory).
    """
    return series * voc_v * (1.0 + temp_coeff_voc_pct_per_k / 100.0 * (temperature_c - 25.0))


def limit_temperature_c(
    *, voc_v: float, series: int, limit_v: float, temp_coeff_voc_pct_per_k: float
) -> float:
    """Cell temperature at which a string reaches a voltage limit.

    Parameters
    ----------
    voc_v : float
        Open-circuit voltage of one panel at 25 °C [V].
    series : int
        Panels in series [-].
    limit_v : float
        Limit [V].
    temp_coeff_voc_pct_per_k : float
        Temperature coefficient of the label, negative [%/K].

    Returns
    -------
    float
        Temperature [°C]; colder than this is too much.

    References
    ----------
    As :func:`cold_voltage_v`.
    """
    return 25.0 + (limit_v / (series * voc_v) - 1.0) / (temp_coeff_voc_pct_per_k / 100.0)


def dc_band(voltage_v: float) -> Band:
    """What a direct voltage asks of its insulation.

    Parameters
    ----------
    voltage_v : float
        Highest voltage, of an array at its coldest [V].

    Returns
    -------
    {'wet touch', 'dry touch', 'extra-low', 'low'}
        May be touched wet (to 30 V); dry only (to 60 V); extra-low voltage that needs
        basic insulation (to 120 V); beyond, full protection against shock.

    References
    ----------
    [2]_.
    """
    if voltage_v <= WET_TOUCH_DC_V:
        return "wet touch"
    if voltage_v <= DRY_TOUCH_DC_V:
        return "dry touch"
    return "extra-low" if voltage_v <= EXTRA_LOW_DC_V else "low"

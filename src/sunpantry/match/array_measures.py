"""What an array gives, in volts and amperes, from its label alone.

Cheap on purpose: the search asks these thousands of times. The simulation uses the
single-diode curve instead; ``tests/match`` holds the two against each other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sunpantry.design.nameplates import PanelNameplate
from sunpantry.match.case import Case
from sunpantry.parts.system import Array
from sunpantry.physics.safe_voltage import cold_factor, limit_temperature_c

REFERENCE_C = 25.0
# Rows of the code's table of factors for the cold, which ends at −40 °C.
TABLE_FLOORS_C = tuple(float(floor) for floor in range(25, -45, -5))
_COEFFICIENT = "temp_coeff_voc_pct_per_k"
# A bank being charged, volts for each 12 V of its class: common practice, no source.
CHARGING_V_AT_12V = 13.0
BRIGHT_EDGE = 1.25


def has_voltage_coefficient(panel: PanelNameplate) -> bool:
    """Whether the label itself gives the temperature coefficient of the voltage."""
    return _COEFFICIENT in panel.model_fields_set


def voc_factor(panel: PanelNameplate, temperature_c: float) -> float:
    """Open-circuit voltage at a cell temperature over that of the label.

    Parameters
    ----------
    panel : PanelNameplate
        The panel.
    temperature_c : float
        Cell temperature; before sunrise that of the air [°C].

    Returns
    -------
    float
        Factor [-].

    References
    ----------
    NEC 690.7(A)(1) with the coefficient of the label, else 690.7(A)(2) with the table.
    """
    if temperature_c < REFERENCE_C and not has_voltage_coefficient(panel):
        return cold_factor(temperature_c)
    return 1.0 + panel.temp_coeff_voc_pct_per_k / 100.0 * (temperature_c - REFERENCE_C)


def string_voc_v(array: Array, temperature_c: float) -> float:
    """Open-circuit voltage of a string, or what its own regulator gives [V]."""
    if array.panel.regulated_output_v is not None:
        return array.panel.regulated_output_v
    return array.series * array.panel.voc_v * voc_factor(array.panel, temperature_c)


def highest_voc_v(case: Case, temperature_c: float) -> float:
    """Highest open-circuit voltage among the arrays [V]."""
    return max((string_voc_v(array, temperature_c) for array in case.system.arrays), default=0.0)


def coldest_allowed_c(array: Array, limit_v: float) -> float:
    """Air temperature at which the open-circuit voltage reaches a limit.

    Parameters
    ----------
    array : Array
        The array.
    limit_v : float
        The limit [V].

    Returns
    -------
    float
        Temperature [°C]; −273.15 when no cold reaches it, at least −40 °C by the table.
    """
    panel, no_cold_c = array.panel, -273.15
    if has_voltage_coefficient(panel):
        if panel.temp_coeff_voc_pct_per_k >= 0.0:
            return no_cold_c
        reached_c = limit_temperature_c(
            voc_v=panel.voc_v,
            series=array.series,
            limit_v=limit_v,
            temp_coeff_voc_pct_per_k=panel.temp_coeff_voc_pct_per_k,
        )
        return max(reached_c, no_cold_c)
    room = limit_v / (array.series * panel.voc_v)
    held = [floor_c for floor_c in TABLE_FLOORS_C if cold_factor(floor_c) <= room]
    return min(held, default=REFERENCE_C)


def string_vmp_v(array: Array, temperature_c: float) -> float:
    """Voltage of a string at maximum power.

    The coefficient of power stands in for that of the voltage, because the current at
    maximum power hardly moves with temperature.

    Parameters
    ----------
    array : Array
        The array.
    temperature_c : float
        Cell temperature [°C].

    Returns
    -------
    float
        Voltage [V].
    """
    if array.panel.regulated_output_v is not None:
        return array.panel.regulated_output_v
    per_k = array.panel.temp_coeff_power_pct_per_k / 100.0
    return array.series * array.panel.vmp_v * (1.0 + per_k * (temperature_c - REFERENCE_C))


def panel_current_a(
    panel: PanelNameplate, *, voltage_v: float, temperature_c: float = REFERENCE_C
) -> float:
    """Current of a panel held at a voltage in full sun, from four figures of its label.

    Parameters
    ----------
    panel : PanelNameplate
        The panel.
    voltage_v : float
        Voltage at its terminals [V].
    temperature_c : float
        Cell temperature [°C].

    Returns
    -------
    float
        Current [A], never negative.

    References
    ----------
    H. S. Rauschenbach, Solar Cell Array Design Handbook (1980), the explicit curve, from
    memory. Departure: volts scaled by the temperature coefficients of the label.
    """
    if panel.regulated_output_v is not None:
        return full_sun_a(panel) if voltage_v <= panel.regulated_output_v else 0.0
    curve = _curve(panel, temperature_c)
    if voltage_v >= curve.voc_v:
        return 0.0
    lost = math.exp((voltage_v / curve.voc_v - curve.knee) / curve.bend) - curve.floor
    return max(curve.isc_a * (1.0 - curve.left * lost), 0.0)


def panel_voltage_v(panel: PanelNameplate, *, current_a: float) -> float | None:
    """Voltage of a panel that carries a current in full sun at 25 °C.

    Parameters
    ----------
    panel : PanelNameplate
        The panel.
    current_a : float
        Current [A].

    Returns
    -------
    float or None
        Voltage [V]; ``None`` when the current is more than its own.

    References
    ----------
    As :func:`panel_current_a`, solved for the voltage.
    """
    if panel.regulated_output_v is not None:
        return panel.regulated_output_v if current_a <= full_sun_a(panel) else None
    curve = _curve(panel, REFERENCE_C)
    room = (1.0 - current_a / curve.isc_a) / curve.left + curve.floor
    if room <= curve.floor:
        return None
    return min(curve.voc_v * (curve.knee + curve.bend * math.log(room)), curve.voc_v)


@dataclass(frozen=True, slots=True)
class _Curve:
    """Constants of the explicit curve at one cell temperature."""

    voc_v: float
    isc_a: float
    knee: float
    bend: float
    left: float
    floor: float


def _curve(panel: PanelNameplate, temperature_c: float) -> _Curve:
    hot = temperature_c - REFERENCE_C
    voc_v = panel.voc_v * max(1.0 + panel.temp_coeff_voc_pct_per_k / 100.0 * hot, 0.05)
    vmp_v = panel.vmp_v * max(1.0 + panel.temp_coeff_power_pct_per_k / 100.0 * hot, 0.04)
    isc_a = panel.isc_a * max(1.0 + panel.temp_coeff_isc_pct_per_k / 100.0 * hot, 0.05)
    # A label that contradicts itself is refused elsewhere; here it must only not divide by 0.
    knee = min(max(vmp_v / voc_v, 0.3), 0.995)
    left = min(max(1.0 - panel.imp_a / panel.isc_a, 1e-4), 0.7)
    bend = (knee - 1.0) / math.log(left)
    return _Curve(voc_v, isc_a, knee, bend, left, math.exp(-knee / bend))


def full_sun_a(panel: PanelNameplate) -> float:
    """Highest current of one panel: short circuit, or the limit of its own regulator [A]."""
    if panel.regulated_output_v is None:
        return panel.isc_a
    made_a = panel.power_w * panel.regulated_efficiency_pct / 100.0 / panel.regulated_output_v
    return made_a if panel.regulated_max_a is None else min(made_a, panel.regulated_max_a)


def arrays_a(case: Case) -> float:
    """Highest current of all arrays together [A]."""
    return sum(array.parallel * full_sun_a(array.panel) for array in case.system.arrays)


def short_circuit_a(case: Case) -> float:
    """Short-circuit current of all arrays together, for each controller [A]."""
    return arrays_a(case) / case.system.controller_count


def charging_v(case: Case) -> float:
    """Voltage of the bank while it takes current [V]."""
    return CHARGING_V_AT_12V * case.scale


def array_charge_a(case: Case) -> float:
    """Current the arrays would push into the bank in full sun, before any limit [A]."""
    controller = case.system.controller
    if controller is not None and controller.kind == "mppt":
        power_w = case.system.array_power_w * controller.efficiency_pct / 100.0
        return power_w / charging_v(case)
    return arrays_a(case)


def charge_current_a(case: Case) -> float:
    """Current into the bank in full sun: that of the arrays, or the controllers' limit [A]."""
    controller = case.system.controller
    offered_a = array_charge_a(case)
    if controller is None or controller.kind == "pwm":
        return offered_a
    return min(offered_a, controller.rated_a * case.system.controller_count)

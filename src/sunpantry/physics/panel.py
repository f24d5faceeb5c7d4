"""The current-voltage curve of a panel, at any irradiance and cell temperature.

The single-diode model with five parameters at standard test conditions (STC: 1000 W/m²,
25 °C cell) and the laws by which De Soto et al. carry them elsewhere:

    I = IL − Io·[exp((V + I·Rs)/a) − 1] − (V + I·Rs)/Rsh
    IL = (G/1000)·[IL,ref + α·(T − 25)]          a   = a_ref·T/298.15
    Io = Io,ref·(T/298.15)³·exp[(Eg,ref/298.15 − Eg/T)/k]
    Rsh = Rsh,ref·1000/G                          Rs  = constant

Valid for one panel whose cells all see the same light, in crystalline silicon between
about −40 and 90 °C and 20 and 1300 W/m². For parts in shade see ``array_losses``.
No current ever flows backwards here: beyond the open-circuit voltage it is 0, because
a controller or a diode blocks it.

References
----------
.. [1] W. De Soto, S. A. Klein, W. A. Beckman, "Improvement and validation of a model
   for photovoltaic array performance", Solar Energy 80 (2006) 78-88,
   doi:10.1016/j.solener.2005.06.010.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

REFERENCE_K = 298.15
BOLTZMANN_EV_PER_K = 8.617333262e-5
SILICON_GAP_EV = 1.121


@dataclass(frozen=True, slots=True)
class PanelModel:
    """Single-diode parameters of one panel at standard test conditions.

    Parameters
    ----------
    il_a : float
        Light current [A].
    io_a : float
        Diode saturation current [A].
    rs_ohm : float
        Series resistance [Ω].
    rsh_ohm : float
        Shunt resistance [Ω]; may be infinite.
    a_v : float
        Modified ideality: ideality × cells × thermal voltage [V].
    alpha_a_per_k : float
        Change of the light current with cell temperature [A/K].
    cells : int
        Cells in series.
    gap_ev : float
        Band gap at 25 °C [eV].
    label_error_pct : float
        Largest departure from the label it was fitted to, among the short-circuit
        current and the voltage, current and power at the maximum-power point [%].
    power_coeff_error_pct_per_k : float
        Its temperature coefficient of the power less that of the label [%/K].
    """

    il_a: float
    io_a: float
    rs_ohm: float
    rsh_ohm: float
    a_v: float
    alpha_a_per_k: float
    cells: int
    gap_ev: float = SILICON_GAP_EV
    label_error_pct: float = 0.0
    power_coeff_error_pct_per_k: float = 0.0

    def reference(self) -> FloatArray:
        """Return the parameters as the compiled loops take them, shape (7,)."""
        return np.array(
            [
                self.il_a,
                self.io_a,
                self.rs_ohm,
                1.0 / self.rsh_ohm,
                self.a_v,
                self.alpha_a_per_k,
                self.gap_ev,
            ]
        )


@dataclass(frozen=True, slots=True)
class OperatingPoint:
    """Voltage, current and power at maximum power, arrays of one shape.

    Parameters
    ----------
    voltage_v, current_a, power_w : ndarray
        At the maximum-power point [V], [A], [W].
    """

    voltage_v: FloatArray
    current_a: FloatArray
    power_w: FloatArray


def _level(*values: ArrayLike) -> tuple[tuple[int, ...], list[FloatArray]]:
    """Broadcast and flatten; return the common shape and the flat arrays."""
    spread = np.broadcast_arrays(*(np.asarray(value, dtype=np.float64) for value in values))
    return spread[0].shape, [np.ascontiguousarray(array).ravel() for array in spread]


def current_at_voltage(
    model: PanelModel,
    *,
    voltage_v: ArrayLike,
    irradiance_w_m2: ArrayLike,
    cell_temperature_c: ArrayLike,
) -> FloatArray:
    """Current a panel gives when held at a voltage, as a PWM controller holds it.

    Parameters
    ----------
    model : PanelModel
        The panel.
    voltage_v : array_like
        Voltage at the terminals [V].
    irradiance_w_m2 : array_like
        Light absorbed in the plane of the panel [W/m²].
    cell_temperature_c : array_like
        Cell temperature [°C].

    Returns
    -------
    ndarray
        Current [A], never negative, in the common shape of the inputs.

    References
    ----------
    De Soto et al. (2006), equations 1 and 6-13 (module docstring).
    """
    from sunpantry.physics import panel_kernels

    shape, (volts, light, warmth) = _level(voltage_v, irradiance_w_m2, cell_temperature_c)
    out = np.empty(volts.size)
    panel_kernels.currents(out, model.reference(), volts, light, warmth)
    return out.reshape(shape)


def open_circuit_voltage(
    model: PanelModel, *, irradiance_w_m2: ArrayLike, cell_temperature_c: ArrayLike
) -> FloatArray:
    """Voltage of a panel with nothing connected.

    Parameters
    ----------
    model : PanelModel
        The panel.
    irradiance_w_m2 : array_like
        Light absorbed in the plane of the panel [W/m²].
    cell_temperature_c : array_like
        Cell temperature [°C].

    Returns
    -------
    ndarray
        Voltage [V]; 0 in the dark.

    References
    ----------
    De Soto et al. (2006), equation 1 with I = 0 (module docstring).
    """
    from sunpantry.physics import panel_kernels

    shape, (light, warmth) = _level(irradiance_w_m2, cell_temperature_c)
    out = np.empty(light.size)
    panel_kernels.open_circuits(out, model.reference(), light, warmth)
    return out.reshape(shape)


def short_circuit_current(
    model: PanelModel, *, irradiance_w_m2: ArrayLike, cell_temperature_c: ArrayLike
) -> FloatArray:
    """Current of a panel with its leads joined.

    Parameters
    ----------
    model : PanelModel
        The panel.
    irradiance_w_m2 : array_like
        Light absorbed in the plane of the panel [W/m²].
    cell_temperature_c : array_like
        Cell temperature [°C].

    Returns
    -------
    ndarray
        Current [A].

    References
    ----------
    De Soto et al. (2006), equation 1 with V = 0 (module docstring).
    """
    return current_at_voltage(
        model,
        voltage_v=0.0,
        irradiance_w_m2=irradiance_w_m2,
        cell_temperature_c=cell_temperature_c,
    )


def maximum_power(
    model: PanelModel, *, irradiance_w_m2: ArrayLike, cell_temperature_c: ArrayLike
) -> OperatingPoint:
    """Maximum-power point, as an ideal tracker finds it.

    Parameters
    ----------
    model : PanelModel
        The panel.
    irradiance_w_m2 : array_like
        Light absorbed in the plane of the panel [W/m²].
    cell_temperature_c : array_like
        Cell temperature [°C].

    Returns
    -------
    OperatingPoint
        Voltage, current and power in the common shape of the inputs.

    References
    ----------
    De Soto et al. (2006), equations 1-13 (module docstring).
    """
    from sunpantry.physics import panel_kernels

    shape, (light, warmth) = _level(irradiance_w_m2, cell_temperature_c)
    voltage = np.empty(light.size)
    current = np.empty(light.size)
    panel_kernels.maximum_powers(voltage, current, model.reference(), light, warmth)
    return OperatingPoint(
        voltage_v=voltage.reshape(shape),
        current_a=current.reshape(shape),
        power_w=(voltage * current).reshape(shape),
    )

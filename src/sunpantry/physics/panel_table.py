"""A panel's curve laid out in a small table, for hundreds of thousands of hours at once.

Power and voltage at the maximum are smooth once divided by the light, so that a linear
look-up between nodes evenly spaced in the square root of the irradiance and in the cell
temperature is within 0.1 % of the solved curve from 20 W/m² upwards (below, the power
is under 2 % of the rating). The current at a given voltage has a knee and is solved.

Validity: -60 to 110 °C and up to 1600 W/m²; outside it is held to the edge. Departures from the
curve of :mod:`sunpantry.physics.panel`: those 0.1 %, nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numba import njit
from numpy.typing import ArrayLike, NDArray

from sunpantry.physics import panel_kernels
from sunpantry.physics.panel import PanelModel, maximum_power, open_circuit_voltage

FloatArray = NDArray[np.float64]

BRIGHTEST_W_M2 = 1600.0
COLDEST_C = -60.0
HOTTEST_C = 110.0
_LIGHT_NODES = 81
_WARMTH_NODES = 35


@dataclass(frozen=True)
class PanelTable:
    """Maximum power and its voltage over irradiance and cell temperature.

    Parameters
    ----------
    model : PanelModel
        The panel it was made from.
    power_per_light : ndarray
        Power per irradiance [W/(W/m²)], shape (light nodes, temperature nodes).
    voltage_v : ndarray
        Voltage at maximum power [V], same shape.
    open_v : ndarray
        Voltage at no load [V], same shape.
    """

    model: PanelModel
    power_per_light: FloatArray
    voltage_v: FloatArray
    open_v: FloatArray

    def power_at_max(
        self, irradiance_w_m2: FloatArray, cell_temperature_c: FloatArray
    ) -> FloatArray:
        """Maximum power, quickly.

        Parameters
        ----------
        irradiance_w_m2, cell_temperature_c : ndarray
            Conditions [W/m²], [°C], equal shapes; held to 0…1600 W/m², −60…110 °C.

        Returns
        -------
        ndarray
            Power [W].
        """
        return _read(self.power_per_light, irradiance_w_m2, cell_temperature_c, times_light=True)

    def voltage_at_max(
        self, irradiance_w_m2: FloatArray, cell_temperature_c: FloatArray
    ) -> FloatArray:
        """Voltage at maximum power, quickly; 0 in the dark.

        Parameters
        ----------
        irradiance_w_m2, cell_temperature_c : ndarray
            Conditions [W/m²], [°C], equal shapes; held to 0…1600 W/m², −60…110 °C.

        Returns
        -------
        ndarray
            Voltage [V].
        """
        return _read(self.voltage_v, irradiance_w_m2, cell_temperature_c, times_light=False)

    def voltage_at_no_load(
        self, irradiance_w_m2: FloatArray, cell_temperature_c: FloatArray
    ) -> FloatArray:
        """Open-circuit voltage, quickly; 0 in the dark.

        Parameters
        ----------
        irradiance_w_m2, cell_temperature_c : ndarray
            Conditions [W/m²], [°C], equal shapes; held to 0…1600 W/m², −60…110 °C.

        Returns
        -------
        ndarray
            Voltage [V].
        """
        return _read(self.open_v, irradiance_w_m2, cell_temperature_c, times_light=False)

    def current_at(
        self,
        voltage_v: ArrayLike,
        irradiance_w_m2: FloatArray,
        cell_temperature_c: FloatArray,
    ) -> FloatArray:
        """Current with the panel held at each of some voltages; never negative.

        Parameters
        ----------
        voltage_v : float or array_like
            Voltages [V], shape (n,), or one.
        irradiance_w_m2, cell_temperature_c : ndarray
            Conditions [W/m²], [°C], equal shapes.

        Returns
        -------
        ndarray
            Current [A], shape (n,) + shape of the conditions; without the first axis
            when one voltage was given.
        """
        volts = np.atleast_1d(np.asarray(voltage_v, dtype=np.float64))
        out = np.empty((volts.size, irradiance_w_m2.size))
        _currents(
            out,
            self.model.reference(),
            volts,
            np.ascontiguousarray(irradiance_w_m2).reshape(-1),
            np.ascontiguousarray(cell_temperature_c).reshape(-1),
        )
        shaped = out.reshape(volts.shape + irradiance_w_m2.shape)
        return shaped if np.ndim(voltage_v) else shaped[0]


def panel_table(model: PanelModel) -> PanelTable:
    """Lay out a panel's maximum power in a table.

    Parameters
    ----------
    model : PanelModel
        The panel.

    Returns
    -------
    PanelTable
        The table; three arrays of 81 × 35.
    """
    light = BRIGHTEST_W_M2 * np.linspace(0.0, 1.0, _LIGHT_NODES) ** 2
    # The dark end stands for the least light with which a panel gives anything.
    light[0] = 1e-3 * light[1]
    warmth = np.linspace(COLDEST_C, HOTTEST_C, _WARMTH_NODES)
    point = maximum_power(model, irradiance_w_m2=light[:, None], cell_temperature_c=warmth[None, :])
    voltage = point.voltage_v.copy()
    voltage[0] = 0.0
    open_v = open_circuit_voltage(
        model, irradiance_w_m2=light[:, None], cell_temperature_c=warmth[None, :]
    )
    open_v[0] = 0.0
    return PanelTable(model, point.power_w / light[:, None], voltage, open_v)


def _read(
    table: FloatArray, irradiance: FloatArray, temperature: FloatArray, *, times_light: bool
) -> FloatArray:
    out = np.empty(irradiance.shape)
    _look_up(
        out.reshape(-1),
        table,
        np.ascontiguousarray(irradiance).reshape(-1),
        np.ascontiguousarray(temperature).reshape(-1),
        times_light,
    )
    return out


@njit(cache=True)
def _look_up(
    out: FloatArray,
    table: FloatArray,
    irradiance: FloatArray,
    temperature: FloatArray,
    times_light: bool,
) -> None:
    rows, columns = table.shape
    per_root = (rows - 1) / np.sqrt(BRIGHTEST_W_M2)
    per_degree = (columns - 1) / (HOTTEST_C - COLDEST_C)
    for k in range(out.size):
        light = irradiance[k]
        if not light > 0.0:
            out[k] = 0.0
            continue
        y = min(np.sqrt(light) * per_root, rows - 1.000001)
        x = min(max((temperature[k] - COLDEST_C) * per_degree, 0.0), columns - 1.000001)
        i, j = int(y), int(x)
        v, u = y - i, x - j
        value = (1.0 - v) * ((1.0 - u) * table[i, j] + u * table[i, j + 1]) + v * (
            (1.0 - u) * table[i + 1, j] + u * table[i + 1, j + 1]
        )
        out[k] = value * light if times_light else value


@njit(cache=True)
def _currents(
    out: FloatArray,
    reference: FloatArray,
    voltage: FloatArray,
    irradiance: FloatArray,
    temperature: FloatArray,
) -> None:
    for k in range(irradiance.size):
        if irradiance[k] > 0.0:
            at = panel_kernels.condition(reference, irradiance[k], temperature[k])
            for i in range(voltage.size):
                out[i, k] = panel_kernels.current_at(voltage[i], at)
        else:
            for i in range(voltage.size):
                out[i, k] = 0.0

"""How warm the cells of a panel get in the sun.

Validity: a panel in the open air, in steady light for some minutes. Departures: on a roof or a
wall it runs 5 to 15 K warmer; wind is left out where only the label's figure is known.

References
----------
.. [1] IEC 61215: nominal operating cell temperature, at 800 W/m², 20 °C air, 1 m/s,
   open circuit (from memory).
.. [2] D. Faiman, "Assessing the outdoor operating temperature of photovoltaic modules",
   Prog. Photovolt. 16 (2008) 307-315, doi:10.1002/pip.813.
.. [3] D. L. King, W. E. Boyson, J. A. Kratochvill, "Photovoltaic array performance model",
   SAND2004-3535, Sandia National Laboratories, 2004.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]


def cell_temperature_noct(
    *, air_temperature_c: ArrayLike, irradiance_w_m2: ArrayLike, noct_c: ArrayLike
) -> FloatArray:
    """Cell temperature by the figure on the label, whatever the wind.

    Parameters
    ----------
    air_temperature_c : array_like
        Air temperature [°C].
    irradiance_w_m2 : array_like
        Irradiance in the plane of the panel [W/m²].
    noct_c : array_like
        Nominal operating cell temperature of the label [°C].

    Returns
    -------
    ndarray
        Cell temperature [°C].

    References
    ----------
    [1]_: Tc = Ta + (NOCT − 20)/800·G. Valid for an open rack in a light wind; a panel flat
    on a roof runs about 10 K warmer in full sun (common practice, no source).
    """
    rise_per_light = (np.asarray(noct_c, dtype=np.float64) - 20.0) / 800.0
    return np.asarray(
        np.asarray(air_temperature_c, dtype=np.float64)
        + rise_per_light * np.asarray(irradiance_w_m2, dtype=np.float64)
    )


def cell_temperature_faiman(
    *,
    air_temperature_c: ArrayLike,
    irradiance_w_m2: ArrayLike,
    wind_m_s: ArrayLike = 1.0,
    u0_w_m2_k: float = 25.0,
    u1_w_s_m3_k: float = 6.84,
) -> FloatArray:
    """Cell temperature by two heat-loss coefficients and the wind.

    Parameters
    ----------
    air_temperature_c : array_like
        Air temperature [°C].
    irradiance_w_m2 : array_like
        Irradiance in the plane of the panel [W/m²].
    wind_m_s : array_like
        Wind speed at the panel [m/s].
    u0_w_m2_k : float
        Heat loss without wind [W/(m²·K)].
    u1_w_s_m3_k : float
        Its growth with the wind [W·s/(m³·K)].

    Returns
    -------
    ndarray
        Cell temperature [°C].

    References
    ----------
    [2]_: Tc = Ta + G/(u0 + u1·v); the defaults are its means for seven modules.
    """
    loss = u0_w_m2_k + u1_w_s_m3_k * np.asarray(wind_m_s, dtype=np.float64)
    return np.asarray(
        np.asarray(air_temperature_c, dtype=np.float64)
        + np.asarray(irradiance_w_m2, dtype=np.float64) / loss
    )


def cell_temperature_sandia(
    *,
    air_temperature_c: ArrayLike,
    irradiance_w_m2: ArrayLike,
    wind_m_s: ArrayLike = 1.0,
    a: float = -3.56,
    b_s_m: float = -0.075,
    cell_over_back_k: float = 3.0,
) -> FloatArray:
    """Cell temperature by the Sandia model; the defaults are a glass panel on a rack.

    Parameters
    ----------
    air_temperature_c : array_like
        Air temperature [°C].
    irradiance_w_m2 : array_like
        Irradiance in the plane of the panel [W/m²].
    wind_m_s : array_like
        Wind speed 10 m above the ground [m/s].
    a : float
        Logarithm of the rise per irradiance in still air [-].
    b_s_m : float
        Its fall with the wind [s/m].
    cell_over_back_k : float
        Cell above back sheet at 1000 W/m² [K].

    Returns
    -------
    ndarray
        Cell temperature [°C].

    References
    ----------
    [3]_, equations 11 and 12: Tc = Ta + G·exp(a + b·v) + G/1000·ΔT.
    """
    light = np.asarray(irradiance_w_m2, dtype=np.float64)
    back = light * np.exp(a + b_s_m * np.asarray(wind_m_s, dtype=np.float64))
    return np.asarray(
        np.asarray(air_temperature_c, dtype=np.float64) + back + light / 1000.0 * cell_over_back_k
    )

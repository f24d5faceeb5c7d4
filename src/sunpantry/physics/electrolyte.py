"""The acid of a flooded lead-acid battery: density, rest voltage, freezing point.

Validity: density 1.000 to 1.280 at 26.7 °C, after hours of rest. Departures: straight lines
between the rows of the tables; freezing points within 2 K.

References
----------
.. [1] Table of rest voltage and density by state of charge, as battery trade bodies print
   it (12 V, 25 to 27 °C, after a rest of 4 to 24 hours).
.. [2] US Army TM 5-1185 table III, and Ordnance course OD1002: freezing points.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

# State of charge, density at 26.7 °C [-], rest voltage of six cells [V]; [1]_.
_CHARGE = (0.0, 0.25, 0.50, 0.75, 1.0)
_DENSITY = (1.120, 1.155, 1.190, 1.225, 1.265)
_REST_12_V = (11.89, 12.06, 12.24, 12.45, 12.65)
# Density against freezing point [°C]; [2]_.
_ACID_DENSITY = (1.000, 1.100, 1.150, 1.200, 1.250, 1.280)
_FREEZING_C = (0.0, -7.2, -15.0, -26.7, -52.2, -67.8)
FULL_DENSITY = 1.265
REFERENCE_C = 26.7
DENSITY_PER_K = 0.0007  # [1]_: 0.004 for each 10 °F
CELL_RULE_V = 0.84  # rest voltage of a cell is its density plus this (handbook rule)


def density(charge: ArrayLike, *, full_density: float = FULL_DENSITY) -> FloatArray:
    """Density of the acid at 26.7 °C.

    Parameters
    ----------
    charge : array_like
        State of charge [-], 0 to 1.
    full_density : float
        Density when full, from the maker [-].

    Returns
    -------
    ndarray
        Density relative to water [-].

    References
    ----------
    [1]_, linear between its five rows. Departure: shifted as a whole for another filling;
    US Army TM 5-1185 table II (filled to 1.280) lies up to 0.02 higher in the middle, so
    that the freezing point found here is on the careful side.
    """
    rest = np.interp(np.asarray(charge, dtype=np.float64), _CHARGE, _DENSITY)
    return np.asarray(rest + (full_density - FULL_DENSITY))


def reading_at(density_26_7_c: ArrayLike, *, temperature_c: float) -> FloatArray:
    """What a hydrometer without correction reads at another temperature.

    Parameters
    ----------
    density_26_7_c : array_like
        Density at 26.7 °C [-].
    temperature_c : float
        Temperature of the acid [°C].

    Returns
    -------
    ndarray
        Reading [-].

    References
    ----------
    [1]_: 0.004 less for each 10 °F above 26.7 °C.
    """
    reference = np.asarray(density_26_7_c, dtype=np.float64)
    return np.asarray(reference - DENSITY_PER_K * (temperature_c - REFERENCE_C))


def rest_voltage_v(charge: ArrayLike, *, cells: int = 6) -> FloatArray:
    """Rest voltage of flooded lead-acid after some hours without current.

    Parameters
    ----------
    charge : array_like
        State of charge [-], 0 to 1.
    cells : int
        Cells in series [-].

    Returns
    -------
    ndarray
        Voltage [V].

    References
    ----------
    [1]_. Sealed kinds lie 0.1 to 0.2 V (at 12 V) higher when full.
    """
    twelve = np.interp(np.asarray(charge, dtype=np.float64), _CHARGE, _REST_12_V)
    return np.asarray(twelve * cells / 6.0)


def charge_from_rest_voltage(voltage_v: ArrayLike, *, cells: int = 6) -> FloatArray:
    """State of charge from the rest voltage; what a voltmeter tells in the morning.

    Parameters
    ----------
    voltage_v : array_like
        Rest voltage [V].
    cells : int
        Cells in series [-].

    Returns
    -------
    ndarray
        State of charge [-], held to 0 and 1; good to about 0.1.

    References
    ----------
    [1]_.
    """
    twelve = np.asarray(voltage_v, dtype=np.float64) * 6.0 / cells
    return np.asarray(np.interp(twelve, _REST_12_V, _CHARGE))


def cell_voltage_from_density(acid_density: ArrayLike) -> FloatArray:
    """Rest voltage of one cell by the handbook rule.

    Parameters
    ----------
    acid_density : array_like
        Density at 26.7 °C [-].

    Returns
    -------
    ndarray
        Voltage of one cell [V].

    References
    ----------
    Handbook rule: density + 0.84 (within 0.01 V).
    """
    return np.asarray(np.asarray(acid_density, dtype=np.float64) + CELL_RULE_V)


def freezing_point_c(charge: ArrayLike, *, full_density: float = FULL_DENSITY) -> FloatArray:
    """Temperature at which the acid of a battery begins to freeze.

    Parameters
    ----------
    charge : array_like
        State of charge [-], 0 to 1.
    full_density : float
        Density when full [-].

    Returns
    -------
    ndarray
        Freezing point [°C].

    References
    ----------
    [2]_ by way of the density. The freezing points that some tables print beside the
    state of charge contradict the acid's own and are not used.
    """
    return freezing_point_of_acid_c(density(charge, full_density=full_density))


def freezing_point_of_acid_c(acid_density: ArrayLike) -> FloatArray:
    """Freezing point of sulphuric acid by its density.

    Parameters
    ----------
    acid_density : array_like
        Density relative to water [-], 1.000 to 1.280.

    Returns
    -------
    ndarray
        Freezing point [°C], within 2 K.

    References
    ----------
    [2]_, linear between its rows.
    """
    return np.asarray(
        np.interp(np.asarray(acid_density, dtype=np.float64), _ACID_DENSITY, _FREEZING_C)
    )

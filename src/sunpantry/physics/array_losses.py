"""What an array loses between the labels of its panels and its terminals.

Ageing, mismatch between panels, resistance of leads and part shade that bypass diodes
cut out. Each is a factor on power. Dirt and snow are losses of light and belong to the
sky; cable runs beyond the array's own leads belong to the wiring.
"""

from __future__ import annotations

import math

import numpy as np

from sunpantry.timegrid import FloatArray

# Panels of one batch differ by about the width of a sorting class: common practice, no source.
MISMATCH_FRACTION = 0.02
# Leads and plugs within the array at full sun: common practice, no source.
LEADS_FRACTION = 0.01
# A bypass diode in use holds its group at about this voltage below zero.
BYPASS_DIODE_V = 0.5
MOST_CELLS_PER_BYPASS = 24


def ageing_factor(*, years: float, loss_pct_per_year: float) -> float:
    """Power left after some years of a steady yearly loss.

    Parameters
    ----------
    years : float
        Age of the panel [years].
    loss_pct_per_year : float
        Loss in a year, of what was left at its start [%/year].

    Returns
    -------
    float
        Factor on power [-].

    References
    ----------
    D. C. Jordan, S. R. Kurtz, "Photovoltaic degradation rates - an analytical review",
    Prog. Photovolt. 21 (2013) 12-29, doi:10.1002/pip.1182: median 0.5 %/year, mean 0.8
    (from memory).
    """
    return math.pow(1.0 - loss_pct_per_year / 100.0, max(years, 0.0))


def joining_factor(
    *,
    panels: int,
    mismatch_fraction: float = MISMATCH_FRACTION,
    leads_fraction: float = LEADS_FRACTION,
) -> float:
    """Power left after joining panels to an array; a lone panel has no mismatch.

    Parameters
    ----------
    panels : int
        Panels in the array [-].
    mismatch_fraction : float
        Loss by unlike panels [-].
    leads_fraction : float
        Loss in the array's own leads and plugs [-].

    Returns
    -------
    float
        Factor on power [-].

    References
    ----------
    Common practice, no source.
    """
    return (1.0 - (mismatch_fraction if panels > 1 else 0.0)) * (1.0 - leads_fraction)


def bypassed_v(unshaded_v: FloatArray, *, cells: int, shaded_groups: int) -> FloatArray:
    """Voltage of a panel at the same current when shade falls on some of its cell groups.

    The power of a panel under a tracker falls in the same proportion.

    Parameters
    ----------
    unshaded_v : ndarray
        Voltage without shade [V].
    cells : int
        Cells in series [-].
    shaded_groups : int
        Groups, each spanned by a bypass diode, with at least one cell in full shade [-].

    Returns
    -------
    ndarray
        Voltage [V], not below 0; 0 with every group shaded.

    References
    ----------
    The voltage of a bypassed group is replaced by the drop of its diode; groups of at
    most 24 cells, common practice, no source. The current of maximum power is taken as
    unchanged (it shifts by less than 1 %). A shade so thin that the tracker stays at the
    higher voltage and a lower current is not met.
    """
    groups = bypass_groups(cells)
    lost = min(max(shaded_groups, 0), groups)
    if lost == groups:
        return np.zeros_like(unshaded_v)
    left = unshaded_v * ((groups - lost) / groups) - lost * BYPASS_DIODE_V
    return np.asarray(np.maximum(left, 0.0))


def unshaded_v(bypassed_v: FloatArray, *, cells: int, shaded_groups: int) -> FloatArray:
    """Voltage that a panel without shade would have at the same current.

    Parameters
    ----------
    bypassed_v : ndarray
        Voltage with shade [V].
    cells, shaded_groups
        See :func:`bypassed_v`; not every group may be shaded.

    Returns
    -------
    ndarray
        Voltage [V].

    References
    ----------
    :func:`bypassed_v` the other way round.
    """
    groups = bypass_groups(cells)
    left = (bypassed_v + shaded_groups * BYPASS_DIODE_V) * (groups / (groups - shaded_groups))
    return np.asarray(left)


def bypass_groups(cells: int) -> int:
    """Groups of cells that share a bypass diode: 36 cells 2, 60 or 72 cells 3.

    Parameters
    ----------
    cells : int
        Cells in series [-].

    Returns
    -------
    int
        Groups [-], at least one.

    References
    ----------
    Common practice, no source.
    """
    return math.ceil(cells / MOST_CELLS_PER_BYPASS)

"""Water that a flooded battery loses by gassing, and how often it must be topped up.

Current that does not charge splits water: two electrons a molecule, so a charge ``Q``
takes ``Q / (2 F)`` moles of it (Faraday's law). For one ampere-hour, 3600 C:

``3600 / (2 · 96 485) · 18.015 g = 0.3361 g``, or 0.337 mL at 20 °C, in *each* cell in series.

Sealed kinds (AGM, gel) join the gases again inside and cannot be topped up.

Validity: flooded cells; the current that makes gas must be known.

Departures: what evaporates or leaves as mist is not counted; an old battery with antimony
in its grids gasses several times as much as a new one, so the interval is one to begin
with, and a look at the level decides.

References
----------
.. [1] EN IEC 62485-2:2018: 1 Ah splits 0.336 g of water into 0.42 L of hydrogen and 0.21 L of
   oxygen at 0 °C (from memory).
"""

from __future__ import annotations

FARADAY_C_PER_MOL = 96485.332
WATER_G_PER_MOL = 18.015
WATER_G_PER_ML = 0.9982  # at 20 °C
# Of the acid above the plates, what may be lost before they stand dry, per ampere-hour of
# rated capacity and cell; topped up when half of it is gone: common practice, no source.
RESERVE_ML_PER_AH = 1.0
TOPPED_UP_AT = 0.5
# Intervals that a person can keep [months]; a year is the longest that anyone should wait.
INTERVALS_MONTHS = (12, 6, 3, 2, 1)


def water_ml(gassing_ah: float) -> float:
    """Water that a charge splits in one cell.

    Parameters
    ----------
    gassing_ah : float
        Charge that made gas [Ah].

    Returns
    -------
    float
        Water [mL].

    References
    ----------
    Faraday's law; [1]_.

    Examples
    --------
    >>> round(water_ml(1.0), 3)
    0.337
    """
    moles = gassing_ah * 3600.0 / (2.0 * FARADAY_C_PER_MOL)
    return moles * WATER_G_PER_MOL / WATER_G_PER_ML


def topping_up_months(ml_per_cell_year: float, *, cell_ah: float) -> int:
    """How often to look at the acid and top it up.

    Parameters
    ----------
    ml_per_cell_year : float
        Water that a cell loses in a year [mL].
    cell_ah : float
        Rated capacity of the cell [Ah].

    Returns
    -------
    int
        Interval [months]: the longest of 12, 6, 3, 2 and 1 in which no more than half of
        what stands above the plates goes, at least one.

    References
    ----------
    Common practice, no source.
    """
    most_ml = TOPPED_UP_AT * RESERVE_ML_PER_AH * cell_ah
    for months in INTERVALS_MONTHS:
        if ml_per_cell_year * months / 12.0 <= most_ml:
            return months
    return INTERVALS_MONTHS[-1]

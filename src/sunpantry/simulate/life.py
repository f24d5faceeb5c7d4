"""How long the bank lasts in what a run showed."""

from __future__ import annotations

from sunpantry.parts.system import Bank
from sunpantry.physics.ageing import BatteryLife, arrhenius_factor, battery_life
from sunpantry.simulate import layout as at
from sunpantry.simulate.columns import bank_model
from sunpantry.timegrid import FloatArray


def life_of(bank: Bank, totals: FloatArray, cells_c: FloatArray, *, years: float) -> BatteryLife:
    """Life of a bank by the books of a run.

    Parameters
    ----------
    bank : Bank
        The bank.
    totals : numpy.ndarray, shape (TOTAL_COLUMNS,)
        Sums over the years looked at.
    cells_c : numpy.ndarray
        Battery temperatures in these years [°C].
    years : float
        How many.
    """
    return battery_life(
        bank_model(bank),
        wear_per_year=float(totals[at.T_WEAR]) / years,
        low_h_per_year=float(totals[at.T_LOW_H]) / years,
        unfilled_h_per_year=float(totals[at.T_UNFILLED_H]) / years,
        warmth=arrhenius_factor(cells_c),
    )

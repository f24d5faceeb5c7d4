"""How long the bank lasts in what a run showed."""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.parts.system import Bank
from sunpantry.physics.ageing import BatteryLife, arrhenius_factor, battery_life
from sunpantry.physics.water_loss import topping_up_months, water_ml
from sunpantry.simulate import layout as at
from sunpantry.simulate.columns import bank_model
from sunpantry.timegrid import FloatArray


@dataclass(frozen=True)
class ToppingUp:
    """Distilled water for a flooded battery.

    Parameters
    ----------
    water_l_per_year : float
        For the whole bank [L/year].
    ml_per_cell_year : float
        For one cell [mL/year].
    every_months : int
        How often to look at the level and top up [months].
    """

    water_l_per_year: float
    ml_per_cell_year: float
    every_months: int


def topping_up(bank: Bank, gassing_ah_per_year: float) -> ToppingUp | None:
    """Water that a bank loses; ``None`` where nothing can be topped up.

    Parameters
    ----------
    bank : Bank
        The bank.
    gassing_ah_per_year : float
        Charge of the whole bank that made gas [Ah/year].
    """
    if bank.battery.chemistry != "flooded":
        return None
    each = water_ml(gassing_ah_per_year / bank.parallel)
    cells = bank_model(bank).cells * bank.parallel
    months = topping_up_months(each, cell_ah=bank.battery.capacity_ah)
    return ToppingUp(each * cells / 1000.0, each, months)


def life_of(
    bank: Bank,
    totals: FloatArray,
    cells_c: FloatArray,
    *,
    years: float,
    capacity_left: float,
) -> BatteryLife:
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
    capacity_left : float
        Of the bank in the run [-].
    """
    return battery_life(
        bank_model(bank),
        wear_per_year=float(totals[at.T_WEAR]) / years,
        low_h_per_year=float(totals[at.T_LOW_H]) / years,
        unfilled_h_per_year=float(totals[at.T_UNFILLED_H]) / years,
        warmth=arrhenius_factor(cells_c),
        gassing_ah_per_year=float(totals[at.T_GAS_AH]) / years / capacity_left,
    )

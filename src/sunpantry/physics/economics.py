"""Money over time. Year 0 is now; amounts come at the end of their year.

References
----------
.. [1] Any handbook of engineering economics; the relations are those of the functions
   npv, irr, pmt and fv of spreadsheet programs.
"""

from __future__ import annotations

import math
from collections.abc import Sequence


def net_present_value(rate: float, amounts: Sequence[float]) -> float:
    """Worth today of a row of yearly amounts.

    Parameters
    ----------
    rate : float
        Discount rate [1/year].
    amounts : sequence of float
        Amount at year 0, 1, 2, … [currency]; costs negative.

    Returns
    -------
    float
        Net present value [currency].

    Examples
    --------
    >>> round(net_present_value(0.08, [-40000, 5000, 8000, 12000, 30000]), 2)
    3065.22

    References
    ----------
    [1]_.
    """
    return math.fsum(amount / (1.0 + rate) ** year for year, amount in enumerate(amounts))


def internal_rate_of_return(amounts: Sequence[float]) -> float | None:
    """Discount rate at which a row of amounts is worth nothing.

    Parameters
    ----------
    amounts : sequence of float
        Amount at year 0, 1, 2, … [currency]; what is paid first is negative.

    Returns
    -------
    float or None
        Rate [1/year] between −99 % and 1000 %; ``None`` when there is none.

    References
    ----------
    [1]_.
    """
    from scipy.optimize import brentq

    def worth(rate: float) -> float:
        return net_present_value(rate, amounts)

    low, high = -0.99, 10.0
    if worth(low) * worth(high) > 0.0:
        return None
    return float(brentq(worth, low, high, xtol=1e-12))


def capital_recovery_factor(rate: float, years: float) -> float:
    """Yearly payment for each unit borrowed or invested.

    Parameters
    ----------
    rate : float
        Discount rate [1/year]; may be 0.
    years : float
        Years of payment [years].

    Returns
    -------
    float
        Factor [1/year].

    References
    ----------
    [1]_: i(1 + i)ⁿ/((1 + i)ⁿ − 1).
    """
    return 1.0 / present_worth_factor(rate, years)


def present_worth_factor(rate: float, years: float) -> float:
    """Worth today of one unit a year.

    Parameters
    ----------
    rate : float
        Discount rate [1/year]; may be 0.
    years : float
        Years it comes [years].

    Returns
    -------
    float
        Factor [years].

    References
    ----------
    [1]_: (1 − (1 + i)⁻ⁿ)/i.
    """
    if rate == 0.0:
        return years
    return -math.expm1(-years * math.log1p(rate)) / rate


def future_value(*, rate: float, periods: int, payment: float, start: float) -> float:
    """What a sum and regular payments grow to.

    Parameters
    ----------
    rate : float
        Interest for a period [-].
    periods : int
        Periods [-].
    payment : float
        Paid in at the end of each [currency].
    start : float
        Sum at the beginning [currency].

    Returns
    -------
    float
        Sum at the end [currency].

    References
    ----------
    [1]_.
    """
    growth = math.pow(1.0 + rate, periods)
    saved = periods if rate == 0.0 else (growth - 1.0) / rate
    return start * growth + payment * saved


def replacement_years(life_years: float, horizon_years: float) -> tuple[float, ...]:
    """Years in which a part is bought again, the first purchase not counted.

    Parameters
    ----------
    life_years : float
        Life of the part [years], above 0.
    horizon_years : float
        Time looked at [years]; nothing is bought at its very end.

    Returns
    -------
    tuple of float
        Years from now [years].

    References
    ----------
    Common practice, no source.
    """
    times = math.ceil(horizon_years / life_years - 1e-9) - 1
    return tuple(life_years * (index + 1) for index in range(max(times, 0)))


def present_cost(
    rate: float, *, first: float, yearly: float, years: int, later: Sequence[tuple[float, float]]
) -> float:
    """Worth today of everything spent on a system.

    Parameters
    ----------
    rate : float
        Discount rate [1/year].
    first : float
        Purchase now [currency].
    yearly : float
        Upkeep at the end of each year [currency/year].
    years : int
        Time looked at [years].
    later : sequence of (float, float)
        Year and amount of each later purchase [years], [currency].

    Returns
    -------
    float
        Present cost [currency].

    References
    ----------
    [1]_.
    """
    replaced = math.fsum(amount / (1.0 + rate) ** year for year, amount in later)
    return first + yearly * present_worth_factor(rate, years) + replaced


def levelised_cost(
    *, present_cost: float, energy_per_year: float, rate: float, years: int
) -> float:
    """Cost of a unit of energy, both sides discounted.

    Parameters
    ----------
    present_cost : float
        Worth today of everything spent [currency].
    energy_per_year : float
        Energy used in each year [kWh/year].
    rate : float
        Discount rate [1/year].
    years : int
        Time looked at [years].

    Returns
    -------
    float
        Cost [currency/kWh]; infinite when no energy is used.

    References
    ----------
    Σ cost/(1 + r)ᵗ ÷ Σ energy/(1 + r)ᵗ, as the International Energy Agency states it
    (from memory).
    """
    energy = energy_per_year * present_worth_factor(rate, years)
    return present_cost / energy if energy > 0.0 else math.inf


def battery_years(*, cycles: float, cycles_per_year: float, calendar_life_years: float) -> float:
    """Years until a battery is worn, by use or by age, whichever is first.

    Parameters
    ----------
    cycles : float
        Cycles it lasts at the depth it is used [-].
    cycles_per_year : float
        Cycles of that depth in a year; 365 when it is emptied so far every day [1/year].
    calendar_life_years : float
        Life on the shelf [years].

    Returns
    -------
    float
        Life [years].

    References
    ----------
    Common practice, no source.
    """
    if cycles_per_year <= 0.0:
        return calendar_life_years
    return min(calendar_life_years, cycles / cycles_per_year)

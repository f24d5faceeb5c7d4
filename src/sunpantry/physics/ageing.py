"""How long a battery lasts in a use: cycling, calendar, and standing empty.

The three are added up, each as a share of a life a year; the battery is worn out when
they reach one, at 80 % of its rated capacity.

* Cycling: a cycle of depth ``d`` wears ``(d / d_ref)^p / cycles``, with the cycles and
  depth on the label or typical ones. In the simulation each day counts as one cycle of
  its own depth, and each year as one of the year's swing.
* Calendar: the life at 20 °C halves for every 10 K more (Arrhenius rule); that of lead-acid
  is told for a battery kept on float at its proper voltage.
* Overcharge (lead-acid only): the positive grid corrodes faster above that voltage. The
  gassing of a year, which the simulation adds up, over that of a year on float at 20 °C is
  the speed; what it exceeds that of the warmth is added, so that a battery on float is not
  counted twice. A life halves for 63 mV a cell or 12 K of the gassing law.
* Sulphation (lead-acid only): hours below 40 % of charge, and hours later than two weeks
  after the last full charge, shorten the life; common practice, no source for the size.

Validity: 0 to 40 °C and at least some cycles a year. Departures: shares of life are simply added
(Miner's rule), and cycles are counted by the day and the year, not by rainflow.

Such figures are good to a factor of about one and a half either way, which
``BatteryLife`` carries along.

References
----------
IEC 61427-1 (cycle life in photovoltaic use); ASTM E1049-85 (cycle counting);
the Arrhenius rule: common practice; IEEE Std 450 and 1188 halve the life of lead-acid on
float for every 8.3 K above 25 °C, makers for 10 K (from memory). Corrosion going with the
overcharge: common practice, after J. Schiffer et al., J. Power Sources 168 (2007) 66-78,
where both rise exponentially with voltage and temperature.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from sunpantry.physics.battery import BatteryModel
from sunpantry.timegrid import FloatArray

CALENDAR_REFERENCE_C = 20.0
HOURS_PER_YEAR = 8760.0
# A lead-acid battery that always stands below 40 % is ruined in about two years, one
# that is never filled in about six (common practice, no source).
EMPTY_LIFE_YEARS = 2.0
UNFILLED_LIFE_YEARS = 6.0
LIFE_FACTOR = 1.5
LONGEST_LIFE_YEARS = 25.0


@dataclass(frozen=True, slots=True)
class BatteryLife:
    """Expected life and what uses it up.

    Parameters
    ----------
    years, low_years, high_years : float
        Expected life and the span it probably falls in [years].
    cycling, calendar, sulphation, overcharge : float
        Share of a life used in a year by each [1/year].
    """

    years: float
    low_years: float
    high_years: float
    cycling: float
    calendar: float
    sulphation: float
    overcharge: float = 0.0

    @property
    def used_per_year(self) -> float:
        """Share of a life used in a year by all together [1/year]."""
        return self.cycling + self.calendar + self.sulphation + self.overcharge


def overcharge_speed(model: BatteryModel, gassing_ah_per_year: float) -> float:
    """Gassing of a year over that of a year on float at 20 °C [-]; 0 for lithium.

    Parameters
    ----------
    model : BatteryModel
        The bank.
    gassing_ah_per_year : float
        Charge that made gas [Ah/year].
    """
    from sunpantry.physics.battery_step import GAS_PER_VOLT, GAS_REFERENCE_V

    constants = model.constants
    if constants.gas_ma_per_100ah <= 0.0:
        return 0.0
    base_a = constants.gas_ma_per_100ah / 1000.0 * model.rated_ah / 100.0
    on_float_a = base_a * math.exp(GAS_PER_VOLT * (constants.float_v - GAS_REFERENCE_V))
    return gassing_ah_per_year / (on_float_a * HOURS_PER_YEAR)


def arrhenius_factor(cell_c: FloatArray | Sequence[float]) -> float:
    """Mean ageing speed relative to 20 °C: doubles for every 10 K.

    Parameters
    ----------
    cell_c : array_like
        Battery temperatures [°C].

    Examples
    --------
    >>> arrhenius_factor([30.0])
    2.0
    """
    return float(np.mean(np.exp2((np.asarray(cell_c) - CALENDAR_REFERENCE_C) / 10.0)))


def battery_life(
    model: BatteryModel,
    *,
    wear_per_year: float,
    low_h_per_year: float,
    unfilled_h_per_year: float,
    warmth: float,
    gassing_ah_per_year: float = 0.0,
) -> BatteryLife:
    """Years until the battery has lost a fifth of its capacity.

    Parameters
    ----------
    model : BatteryModel
        The bank.
    wear_per_year : float
        Sum of cycle wear in a year [-].
    low_h_per_year : float
        Hours a year below 40 % [h].
    unfilled_h_per_year : float
        Hours a year later than 14 days after the last full charge [h].
    warmth : float
        :func:`arrhenius_factor` of the battery's temperatures [-].
    gassing_ah_per_year : float
        Charge that makes gas in a year, of the bank when new [Ah/year].
    """
    calendar = warmth / model.calendar_years
    sulphation = 0.0
    if model.constants.is_lead_acid:
        sulphation = (
            low_h_per_year / 8760.0 / EMPTY_LIFE_YEARS
            + unfilled_h_per_year / 8760.0 / UNFILLED_LIFE_YEARS
        )
    faster = max(overcharge_speed(model, gassing_ah_per_year) - warmth, 0.0)
    overcharge = faster / model.calendar_years
    used = wear_per_year + calendar + sulphation + overcharge
    years = min(1.0 / used, LONGEST_LIFE_YEARS)
    return BatteryLife(
        years=years,
        low_years=years / LIFE_FACTOR,
        high_years=min(years * LIFE_FACTOR, LONGEST_LIFE_YEARS),
        cycling=wear_per_year,
        calendar=calendar,
        sulphation=sulphation,
        overcharge=overcharge,
    )


def longest_life_years(model: BatteryModel, *, warmth: float) -> float:
    """Life of the battery if it were never cycled: a bound for the search [years]."""
    return min(model.calendar_years / warmth, LONGEST_LIFE_YEARS)


def count_cycles(series: FloatArray | Sequence[float]) -> list[tuple[float, float]]:
    """Rainflow count of a series.

    Parameters
    ----------
    series : array_like
        For instance state of charge.

    Returns
    -------
    list of (float, float)
        Range and count (0.5 or 1) of each cycle, in the order they close.

    References
    ----------
    ASTM E1049-85 (2017), section 5.4.4.
    """
    found: list[tuple[float, float]] = []
    stack: list[float] = []
    for point in _turning_points(series):
        stack.append(point)
        while len(stack) >= 3:
            newest = abs(stack[-1] - stack[-2])
            before = abs(stack[-2] - stack[-3])
            if newest < before:
                break
            if len(stack) == 3:
                found.append((before, 0.5))
                del stack[0]
            else:
                found.append((before, 1.0))
                del stack[-3:-1]
    found.extend((abs(second - first), 0.5) for first, second in pairwise(stack))
    return found


def _turning_points(series: FloatArray | Sequence[float]) -> list[float]:
    values = np.asarray(series, dtype=np.float64)
    moved = np.concatenate(([True], np.diff(values) != 0.0))
    values = values[moved]
    if values.size < 3:
        return [float(value) for value in values]
    slope = np.sign(np.diff(values))
    turns = np.concatenate(([True], slope[1:] != slope[:-1], [True]))
    return [float(value) for value in values[turns]]


def wear_of(cycles: Sequence[tuple[float, float]], model: BatteryModel) -> float:
    """Wear of counted cycles of state of charge, as a share of a life [-]."""
    exponent = model.constants.depth_exponent
    return float(
        sum(
            count * (depth / model.cycle_depth) ** exponent / model.cycles
            for depth, count in cycles
        )
    )

"""How long a battery can last at most, whatever charges it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from sunpantry.parts.system import Bank
from sunpantry.physics.ageing import arrhenius_factor, battery_life
from sunpantry.physics.battery import BatteryModel
from sunpantry.simulate import layout as at
from sunpantry.simulate.columns import bank_model, battery_columns
from sunpantry.simulate.setting import Setting
from sunpantry.sizing.draws import Draws
from sunpantry.sizing.promise import Demanded
from sunpantry.timegrid import DAYS_PER_YEAR, FloatArray

# Parts of the year for which the swings of the days are added up.
SEASONS = 5
SEASON_D = DAYS_PER_YEAR // SEASONS


@dataclass(eq=False)
class LongestLife:
    """Bounds on the life of banks that serve the loads of a setting.

    What is drawn in the dark comes out of the bank, so that it goes down by as much, but
    for what may stay unserved. Two bounds on the wear follow, and the larger one holds.

    * A day's swing is at least what is drawn in the longest dark stretch within it.
    * A night that runs over midnight is told in the swings of two days, both smaller than
      the whole. But what goes down in a night comes up again: over the days of a season
      the swings add up to at least all its nights, less one whole bank for the difference
      between its first and its last day. As wear rises ever faster with depth, it is least
      when all swings of the season are alike.

    Parameters
    ----------
    setting : Setting
        All years.
    draws : Draws
        What the loads draw.
    capacity_left : float
        Share of the battery's capacity left [-].
    """

    setting: Setting
    draws: Draws
    capacity_left: float
    _warmths: dict[str, float] = field(default_factory=dict)
    _dark_wh: dict[tuple[int, float], tuple[FloatArray, FloatArray]] = field(default_factory=dict)

    def years(
        self, bank: Bank, draw: int, own_w: float, demanded: Demanded, *, helped: bool
    ) -> float:
        """Life of the batteries that no array can better [years].

        Parameters
        ----------
        bank : Bank
            The bank.
        draw : int
            Row of what the loads draw.
        own_w : float
            What controller and converters draw all the time [W].
        demanded : Demanded
            The promise.
        helped : bool
            There is a second source, which may keep the bank from going down at all.
        """
        wear = 0.0
        if not helped:
            model = bank_model(bank, capacity_left=self.capacity_left)
            wear = self._least_wear(model, draw, own_w, demanded)
        life = battery_life(
            bank_model(bank),
            wear_per_year=wear,
            low_h_per_year=0.0,
            unfilled_h_per_year=0.0,
            warmth=self._warmth(bank.housing),
        )
        return life.years

    def _warmth(self, housing: str) -> float:
        if housing not in self._warmths:
            self._warmths[housing] = arrhenius_factor(self.setting.cells_c(housing))
        return self._warmths[housing]

    def _least_wear(
        self, model: BatteryModel, draw: int, own_w: float, demanded: Demanded
    ) -> float:
        draws = self.draws.rows[draw]
        asking = draws.most_w > 0.0
        limits_h = np.array(demanded.class_limits_h)[asking]
        allowed_wh = float((limits_h * draws.most_w[asking]).sum())
        if not np.isfinite(allowed_wh):
            return 0.0
        row = np.zeros(at.DESIGN_COLUMNS)
        battery_columns(row, model, step_h=self.setting.step_h)
        full_wh, exponent = float(row[at.FULL_WH]), float(row[at.WEAR_EXPONENT])
        stretches, nights = self._dark_energy_wh(draw, own_w)
        within = np.minimum(stretches / full_wh, 1.0)
        seasons = np.minimum(nights / full_wh, 1.0).reshape(SEASONS, SEASON_D)
        through = np.maximum(seasons.sum(axis=1) - 1.0, 0.0) / SEASON_D
        through[(seasons <= 0.0).any(axis=1)] = 0.0
        wears = [
            float((without_deepest(depth, allowed_wh / full_wh) ** exponent).sum())
            for depth in (within, np.repeat(through, SEASON_D))
        ]
        return float(row[at.WEAR_PER_CYCLE]) * max(wears)

    def _dark_energy_wh(self, draw: int, own_w: float) -> tuple[FloatArray, FloatArray]:
        """Energy drawn in the dark, for each day of the grid [Wh].

        Of the longest stretch within the day; and of the night that ends in it, 0 where
        none begins on the day before.
        """
        key = (draw, own_w)
        if key not in self._dark_wh:
            dark = (self.setting.sun_place < 0).reshape(DAYS_PER_YEAR, -1)
            power_w = self.draws.rows[draw].by_class_w.sum(axis=1) + own_w
            energy = power_w.reshape(dark.shape) * self.setting.step_h
            stretch, longest = np.zeros(DAYS_PER_YEAR), np.zeros(DAYS_PER_YEAR)
            for step in range(dark.shape[1]):
                stretch = np.where(dark[:, step], stretch + energy[:, step], 0.0)
                longest = np.maximum(longest, stretch)
            evening = stretch  # up to midnight
            unlit = np.cumprod(dark, axis=1).astype(bool)
            morning = np.where(unlit, energy, 0.0).sum(axis=1)
            both = dark[:, 0] & np.roll(dark[:, -1], 1)
            both &= ~dark.all(axis=1) & ~np.roll(dark.all(axis=1), 1)
            nights = np.where(both, np.roll(evening, 1) + morning, 0.0)
            self._dark_wh[key] = (longest, nights)
        return self._dark_wh[key]


def without_deepest(depth: FloatArray, spared: float) -> FloatArray:
    """Depths that are left when a sum is taken off where it spares most wear: the deepest ones.

    Wear rises ever faster with depth, so that the least is left when the deepest days are
    brought down to one level.
    """
    falling = np.sort(depth)[::-1]
    taken = np.cumsum(falling) - falling * np.arange(1, falling.size + 1)
    reached = int(np.searchsorted(taken, spared, side="right"))
    level = (float(falling[:reached].sum()) - spared) / reached
    return np.minimum(depth, max(level, 0.0))

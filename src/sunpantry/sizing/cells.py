"""Candidates that differ in array and controllers alone, to be tried one after the other."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sunpantry.sizing.dominance import Strength
from sunpantry.sizing.lanes import Block
from sunpantry.sizing.space import Choice
from sunpantry.timegrid import FloatArray, IntArray


@dataclass(eq=False)
class Cell:
    """Candidates with one bank, feed, tilt and kind of controller, strongest first."""

    block: Block
    set_point: int
    pairs: IntArray
    costs: FloatArray
    strength: Strength
    passed: bool = False

    def part(self, kept: np.ndarray) -> Cell:
        """Only some of the candidates."""
        one = self.strength
        some = Strength(
            one.sun_wh[kept], one.limit_a[kept], one.spare_v[kept], one.set_points[kept]
        )
        return Cell(
            self.block, self.set_point, self.pairs[kept], self.costs[kept], some, self.passed
        )

    def keep(self, kept: np.ndarray) -> None:
        """Leave out what is ruled out."""
        if not kept.all():
            rest = self.part(kept)
            self.pairs, self.costs, self.strength = rest.pairs, rest.costs, rest.strength

    def skyline(self) -> np.ndarray:
        """Candidates for which no other gives as much sun for no more money."""
        order = np.lexsort((-self.strength.sun_wh, self.costs))
        best = np.maximum.accumulate(self.strength.sun_wh[order])
        before = np.concatenate(([-np.inf], best[:-1]))
        good = np.zeros(order.size, dtype=bool)
        good[order] = self.strength.sun_wh[order] > before
        return good

    def choice(self, place: int) -> Choice:
        """One of the candidates."""
        block = self.block
        return Choice(block.group, block.feed, block.bank, int(self.pairs[place]), block.tilt)

    def take(self) -> tuple[Choice, float]:
        """Take out the candidate to try next: the strongest, or a middling one after a success."""
        place = self.pairs.size // 2 if self.passed else 0
        choice, cost = self.choice(place), float(self.costs[place])
        kept = np.ones(self.pairs.size, dtype=bool)
        kept[place] = False
        self.keep(kept)
        return choice, cost

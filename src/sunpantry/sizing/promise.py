"""What is asked of a system: hours without power that it may have."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sunpantry.design.models import Design
from sunpantry.simulate import layout as at
from sunpantry.simulate.run import Runs
from sunpantry.timegrid import FloatArray

# A promise of hours is kept on the mean of the winters; rounding aside [h].
ROOM_H = 1e-6


@dataclass(frozen=True)
class Demanded:
    """Hours a year without power that are acceptable, mean of all winters.

    Parameters
    ----------
    by_class_h : tuple of float
        Must, should, may [h/year]; infinite: whatever it takes.
    any_h : float
        Anything at all, weighted by the share missing [h/year].
    """

    by_class_h: tuple[float, float, float]
    any_h: float = np.inf

    @classmethod
    def of(cls, design: Design) -> Demanded:
        """What a design promises."""
        promise = design.promise
        return cls((promise.must_h, promise.should_h, promise.may_h))

    @property
    def class_limits_h(self) -> tuple[float, float, float]:
        """Limit of each class, also by that of anything at all [h/year]."""
        first, second, third = (min(hours, self.any_h) for hours in self.by_class_h)
        return first, second, third

    def asks_as_much_as(self, other: Demanded) -> bool:
        """Whether whatever breaks the other promise breaks this one too."""
        pairs = zip(self.by_class_h, other.by_class_h, strict=True)
        return self.any_h <= other.any_h and all(mine <= theirs for mine, theirs in pairs)

    def allowed_h(self, years: int) -> FloatArray:
        """Sum over some years as the kernel takes it: negative where there is no limit [h]."""
        return np.array(
            [
                (hours + ROOM_H) * years if np.isfinite(hours) else -1.0
                for hours in self.class_limits_h
            ]
        )

    def kept(self, hours: FloatArray, any_hours: float) -> bool:
        """Whether mean hours by class, and of anything at all, are within the limits."""
        return bool(
            np.all(hours <= np.array(self.by_class_h) + ROOM_H) and any_hours <= self.any_h + ROOM_H
        )

    def excess_h(self, hours: FloatArray, any_hours: float) -> float:
        """Hours a year beyond the limits, classes added up [h]."""
        over = np.maximum(hours - np.array(self.by_class_h), 0.0).sum()
        return float(over + max(any_hours - self.any_h, 0.0))


def mean_hours(runs: Runs) -> tuple[FloatArray, FloatArray]:
    """Mean hours a year without power: by class, shape (n, 3), and of anything, (n,) [h]."""
    return runs.hours_without(), np.asarray(runs.yearly[:, :, at.Y_ANY_HOURS].mean(axis=1))

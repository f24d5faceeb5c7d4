"""The year as the simulation sees it: equal steps, no leap day, UTC.

A year has 365 days. It starts on the day of the year that puts the dark season in
the middle (1 July north of the equator, 1 January south of it), so that 'a winter'
is never cut in two.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

DAYS_PER_YEAR = 365
HOURS_PER_YEAR = 8760
# Civil calendar used for clock times, weekdays and daylight saving: a year without leap day.
NOMINAL_YEAR = 2025
MONTH_LENGTHS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
FIRST_OF_JULY = 182

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
IndexArray = NDArray[np.uint64]


@dataclass(frozen=True)
class TimeGrid:
    """Equal steps through one year, stamped at their start, in UTC.

    Parameters
    ----------
    step_h : float
        Length of a step [h]; a day must hold a whole number of steps.
    start_day : int
        Day of the year the series starts on, 1 = 1 January.
    """

    step_h: float = 1.0
    start_day: int = FIRST_OF_JULY

    def __post_init__(self) -> None:
        steps = 24.0 / self.step_h
        if abs(steps - round(steps)) > 1e-9:
            raise ValueError(f"step_h must divide a day into whole steps (got {self.step_h})")

    @classmethod
    def for_latitude(cls, latitude_deg: float, *, step_h: float = 1.0) -> TimeGrid:
        """Grid whose year starts half a year from the dark season of the place."""
        return cls(step_h=step_h, start_day=FIRST_OF_JULY if latitude_deg >= 0 else 1)

    @property
    def steps_per_day(self) -> int:
        """Steps in a day."""
        return round(24.0 / self.step_h)

    @property
    def steps_per_year(self) -> int:
        """Steps in a year of 365 days."""
        return DAYS_PER_YEAR * self.steps_per_day

    @cached_property
    def day_of_year(self) -> IntArray:
        """Day of the year of each step, 1…365, shape (steps_per_year,)."""
        days = (self.start_day - 1 + np.arange(DAYS_PER_YEAR)) % DAYS_PER_YEAR + 1
        return np.repeat(days, self.steps_per_day).astype(np.int64)

    @cached_property
    def hour_utc(self) -> FloatArray:
        """Hour of the UTC day at the start of each step, shape (steps_per_year,)."""
        return np.tile(np.arange(self.steps_per_day) * self.step_h, DAYS_PER_YEAR)

    @cached_property
    def month(self) -> IntArray:
        """Month of each step (UTC), 0 = January … 11, shape (steps_per_year,)."""
        ends = np.cumsum(MONTH_LENGTHS)
        return np.searchsorted(ends, self.day_of_year, side="left").astype(np.int64)

"""The year along a chart, with the dark season in the middle, and traces cut into days."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from sunpantry.design.moments import MONTHS
from sunpantry.explain.conditions import utc_offset_h
from sunpantry.language import gettext
from sunpantry.phrases import phrase
from sunpantry.simulate import layout as at
from sunpantry.timegrid import DAYS_PER_YEAR, MONTH_LENGTHS, FloatArray, TimeGrid

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan


SHORT_MONTHS = (
    *(phrase("Jan"), phrase("Feb"), phrase("Mar"), phrase("Apr"), phrase("May"), phrase("Jun")),
    *(phrase("Jul"), phrase("Aug"), phrase("Sep"), phrase("Oct"), phrase("Nov"), phrase("Dec")),
)


def short_month(month: int) -> str:
    """Three letters of a month in the language chosen.

    Parameters
    ----------
    month : int
        0 = January.
    """
    return gettext(str(SHORT_MONTHS[month]))


@dataclass(frozen=True)
class YearAxis:
    """Months in the order of a grid.

    Parameters
    ----------
    grid : TimeGrid
        Steps of the year.
    """

    grid: TimeGrid

    @cached_property
    def months(self) -> tuple[int, ...]:
        """Months as they follow each other, 0 = January."""
        first = int(self.grid.month[0])
        return tuple((first + step) % 12 for step in range(12))

    @cached_property
    def names(self) -> tuple[str, ...]:
        """Three letters of each month, in the same order."""
        return tuple(short_month(month) for month in self.months)

    @cached_property
    def middles(self) -> tuple[float, ...]:
        """Middle of each month, days from the start of the grid."""
        lengths = np.array([MONTH_LENGTHS[month] for month in self.months], dtype=np.float64)
        ends = np.cumsum(lengths)
        return tuple((ends - lengths / 2.0).tolist())

    def day_words(self, index: int) -> str:
        """A day of the grid in words: '21 December'.

        Parameters
        ----------
        index : int
            0 for the first day of the grid.
        """
        day = int(self.grid.day_of_year[index * self.grid.steps_per_day]) - 1
        month = int(np.searchsorted(np.cumsum(MONTH_LENGTHS), day, side="right"))
        return phrase(
            "{day} {month}", day=day - sum(MONTH_LENGTHS[:month]) + 1, month=MONTHS[month]
        )

    def x(self, field: str = "day") -> dict[str, Any]:
        """Encoding of days along the chart, months written below."""
        pairs = " : ".join(
            f"datum.value == {middle} ? '{name}'"
            for middle, name in zip(self.middles, self.names, strict=True)
        )
        return {
            "field": field,
            "type": "quantitative",
            "scale": {"domain": [0, DAYS_PER_YEAR], "nice": False},
            "axis": {
                "title": None,
                "values": list(self.middles),
                "grid": False,
                "ticks": False,
                "labelExpr": f"{pairs} : ''",
            },
        }


def axis_of(plan: Plan) -> YearAxis:
    """The year of a plan."""
    return YearAxis(plan.demand.grid)


def trace(plan: Plan, column: int) -> FloatArray:
    """One column of the trace, by winter, day and step of the day.

    Parameters
    ----------
    plan : Plan
        For the proof with the worn battery.
    column : int
        From :mod:`sunpantry.simulate.layout`.

    Returns
    -------
    ndarray, shape (winters, 365, steps per day)
    """
    per_day = plan.demand.grid.steps_per_day
    rows: FloatArray = plan.proof.traces[column]
    return rows.reshape(plan.proof.winters, DAYS_PER_YEAR, per_day)


def missing_share(plan: Plan) -> FloatArray:
    """Share of what was asked that was missing, in the worst served class of each step.

    Returns
    -------
    ndarray, shape (winters, 365, steps per day)
    """
    served = np.stack([trace(plan, column) for column in (at.TR_MUST, at.TR_SHOULD, at.TR_MAY)])
    return np.asarray(1.0 - served.min(axis=0))


def by_the_clock(plan: Plan, steps: FloatArray, month: int) -> FloatArray:
    """Roll steps of whole days so that each day runs from midnight to midnight on the clock.

    Parameters
    ----------
    plan : Plan
        For the time zone.
    steps : ndarray, shape (steps,)
        A day, or days in a row, from midnight UTC on.
    month : int
        0 = January; its middle decides whether daylight saving holds.

    Returns
    -------
    ndarray, shape (steps,)
        Where the clock differs from UTC by a part of a step (India by five and a half
        hours), each step is shared out among the two that it lies in.
    """
    shift = utc_offset_h(plan.sky.place.timezone, month) / plan.demand.grid.step_h
    whole = math.floor(shift)
    part = shift - whole
    rolled = np.roll(steps, whole)
    if part == 0.0:
        return rolled
    return np.asarray((1.0 - part) * rolled + part * np.roll(steps, whole + 1))


def typical_winter(plan: Plan) -> int:
    """Winter in the middle when they are ranked from kind to harsh, 0 for the first."""
    ranked = sorted(
        plan.proof.winter_list, key=lambda one: (one.hours_without, -one.lowest_charge, one.number)
    )
    return ranked[len(ranked) // 2].number - 1


def worst_winter(plan: Plan) -> int:
    """Winter with the most hours without power, then the lowest charge, 0 for the first."""
    return plan.proof.worst_winters[0].number - 1

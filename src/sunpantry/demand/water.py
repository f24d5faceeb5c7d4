"""Water drawn from tanks, step by step."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sunpantry.demand.civil import CivilYear
from sunpantry.design.keys import by_month
from sunpantry.design.loads import IMPORTANCES
from sunpantry.design.models import Design
from sunpantry.design.moments import Moment
from sunpantry.design.water import Tank
from sunpantry.sky.place import Place
from sunpantry.timegrid import FloatArray, IntArray, TimeGrid

# Animals drink and people draw between these hours: common practice, no source.
DRAWN_FROM, DRAWN_UNTIL = Moment("clock", 7.0), Moment("clock", 21.0)


@dataclass(frozen=True, eq=False)
class TankDemand:
    """What is drawn from one tank.

    Parameters
    ----------
    name : str
        As in the document.
    volume_l : float
        What it holds [L].
    start_l : float
        What is in it when the year begins [L].
    importance : int
        0 must, 1 should, 2 may.
    drawn_l : ndarray, shape (steps_per_year,)
        Water asked for in each step [L].
    """

    name: str
    volume_l: float
    start_l: float
    importance: int
    drawn_l: FloatArray


def water_of(design: Design, place: Place, grid: TimeGrid) -> tuple[TankDemand, ...]:
    """Lay the water drawn from every tank of a design into the steps of the year.

    Parameters
    ----------
    design : Design
        Tanks and who drinks from them.
    place : Place
        Where: its time zone.
    grid : TimeGrid
        Steps of the year.

    Returns
    -------
    tuple of TankDemand
        In the order of the document; drawn evenly from 07:00 to 21:00 civil time.
    """
    return tank_demands(design, CivilYear.of(place, grid)) if design.tanks else ()


def tank_demands(design: Design, civil: CivilYear) -> tuple[TankDemand, ...]:
    """The same for a civil year that is known already; see :func:`water_of`."""
    days = civil.days()
    start_h, end_h = civil.window(DRAWN_FROM, DRAWN_UNTIL, days)
    return tuple(
        TankDemand(
            name=tank.name,
            volume_l=tank.volume_l,
            start_l=tank.volume_l * tank.full_at_start,
            importance=IMPORTANCES.index(tank.importance),
            drawn_l=civil.lay(start_h, end_h, daily_litres(tank, civil, days) / (end_h - start_h))
            * civil.grid.step_h,
        )
        for tank in design.tanks
    )


def daily_litres(tank: Tank, civil: CivilYear, days: IntArray) -> FloatArray:
    """Water asked of a tank on some civil days.

    Parameters
    ----------
    tank : Tank
        With its drinkers.
    civil : CivilYear
        The year at the place.
    days : ndarray of int
        Civil days, 0 = 1 January.

    Returns
    -------
    ndarray
        Litres on each of the days [L].
    """
    month = civil.month[days]
    total = np.array(by_month(tank.litres_per_day))[month]
    for drinker in tank.drinkers:
        there = np.isin(month + 1, drinker.months or range(1, 13))
        total = total + np.array(by_month(drinker.litres_each))[month] * drinker.number * there
    return total

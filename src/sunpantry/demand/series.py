"""What the loads ask for, step by step: the frozen objects that leave this room."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sunpantry.design.loads import IMPORTANCES, LoadKind, Plug, Supply
from sunpantry.timegrid import DAYS_PER_YEAR, FloatArray, TimeGrid

if TYPE_CHECKING:
    from sunpantry.demand.water_jobs import PumpJob

BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Flexible:
    """Jobs that can wait for sun.

    Parameters
    ----------
    arrivals_wh : ndarray, shape (steps_per_year,)
        Energy of the jobs that arrive in each step [Wh].
    job_wh : float
        Energy of one job [Wh].
    deadline_steps : int
        Steps after its arrival by which a job must be done.
    power_w : float
        Power while jobs are worked on [W].
    battery_above : float or None
        State of charge the battery must have [fraction]; ``None``: only sun to spare.
    holds_wh : float
        For a load with a store of its own, such as a tank: what the store takes when it
        is empty [Wh]; what is drawn from an empty store is lost at once, and there is no
        deadline. 0: jobs with a deadline.
    start_wh : float
        Waiting already when the year begins [Wh].
    most_wh_per_day : float
        Most that can be done in a day [Wh]; 0: no limit.
    """

    arrivals_wh: FloatArray
    job_wh: float
    deadline_steps: int
    power_w: float
    battery_above: float | None
    holds_wh: float = 0.0
    start_wh: float = 0.0
    most_wh_per_day: float = 0.0


@dataclass(frozen=True)
class OwnBattery:
    """The store inside a device, all ``quantity`` of them together.

    Parameters
    ----------
    capacity_wh : float
        What it holds [Wh].
    charge_power_w : float
        The most it takes [W].
    daily_use_wh : float
        What it is asked for at the socket on a mean day of the year [Wh].
    """

    capacity_wh: float
    charge_power_w: float
    daily_use_wh: float


@dataclass(frozen=True, eq=False)
class LoadSeries:
    """One load through the year.

    Parameters
    ----------
    name : str
        As in the document.
    supply : str
        '5 V', '12 V', '24 V', '48 V' or 'mains'.
    importance : int
        0 must, 1 should, 2 may.
    power_w : ndarray, shape (steps_per_year,)
        Mean power wanted in each step at the load's own terminals [W]; without the jobs
        of ``flexible``.
    running : ndarray of bool, shape (steps_per_year,)
        Steps in which it may be drawing its full power.
    peak_w : float
        Draw of all of them running [W].
    surge_w : float
        Highest draw: one of them starts while the others run [W].
    flexible : Flexible or None
        Its jobs, if they can wait.
    own_battery : OwnBattery or None
        Its own store, if it has one.
    typical : tuple of str
        Keys whose figures are typical and not measured.
    kind : str
        'light', 'motor', 'electronics', 'heater' or 'other'.
    plug : str
        'wired' or 'vehicle socket'.
    quantity : int
        Equal things in this load.
    """

    name: str
    supply: Supply
    importance: int
    power_w: FloatArray
    running: BoolArray
    peak_w: float
    surge_w: float
    flexible: Flexible | None = None
    own_battery: OwnBattery | None = None
    typical: tuple[str, ...] = ()
    kind: LoadKind = "other"
    plug: Plug = "wired"
    quantity: int = 1


@dataclass(frozen=True, eq=False)
class Demand:
    """Everything that is asked for in a year.

    Parameters
    ----------
    grid : TimeGrid
        Steps of the year.
    loads : tuple of LoadSeries
        In the order of the document; pumps that run from the battery come last.
    pumps : tuple of PumpJob
        Every pump with its pipe and tank, those straight on a panel too.
    """

    grid: TimeGrid
    loads: tuple[LoadSeries, ...]
    pumps: tuple[PumpJob, ...] = ()

    def __post_init__(self) -> None:
        for load in self.loads:
            if load.power_w.shape != (self.grid.steps_per_year,):
                raise ValueError(f"{load.name}: power_w does not fit the grid")

    def begun_full(self) -> Demand:
        """The same with the stores of all loads full when the year begins."""
        if all(load.flexible is None or load.flexible.start_wh == 0.0 for load in self.loads):
            return self
        loads = tuple(
            load
            if load.flexible is None
            else replace(load, flexible=replace(load.flexible, start_wh=0.0))
            for load in self.loads
        )
        return replace(self, loads=loads)

    def supplies(self) -> tuple[Supply, ...]:
        """Supplies something is plugged into, lowest voltage first, mains last."""
        order: tuple[Supply, ...] = ("5 V", "12 V", "24 V", "48 V", "mains")
        used = {load.supply for load in self.loads}
        return tuple(supply for supply in order if supply in used)

    def by_supply_and_importance(self, supply: Supply) -> FloatArray:
        """Power wanted from one supply without delay.

        Parameters
        ----------
        supply : str
            One of '5 V', '12 V', '24 V', '48 V', 'mains'.

        Returns
        -------
        ndarray, shape (3, steps_per_year)
            Must, should, may [W].
        """
        total = np.zeros((len(IMPORTANCES), self.grid.steps_per_year))
        for load in self.loads:
            if load.supply == supply:
                total[load.importance] += load.power_w
        return total

    def surge_w(self, supply: Supply) -> float:
        """Largest draw of one supply at any moment.

        The rule: in each step everything that may be running runs at its full power, and
        the one start with the largest surge falls on top; two starts in the same instant
        are left out of account. Jobs that can wait may fall into any step.

        Parameters
        ----------
        supply : str
            One of '5 V', '12 V', '24 V', '48 V', 'mains'.

        Returns
        -------
        float
            Power [W]; 0 where nothing is plugged in.
        """
        running_w = np.zeros(self.grid.steps_per_year)
        start_w = np.zeros(self.grid.steps_per_year)
        for load in self.loads:
            if load.supply == supply:
                running_w += load.running * load.peak_w
                np.maximum(start_w, load.running * (load.surge_w - load.peak_w), out=start_w)
        return float((running_w + start_w).max())

    def daily_wh(self, load: LoadSeries) -> FloatArray:
        """Energy one load asks for on each day of the grid; jobs count as they arrive.

        Parameters
        ----------
        load : LoadSeries
            One of ``loads``.

        Returns
        -------
        ndarray, shape (365,)
            Energy at the load's terminals [Wh], by UTC day in the grid's order.
        """
        daily: FloatArray = self._energy_wh(load).reshape(DAYS_PER_YEAR, -1).sum(axis=1)
        return daily

    def monthly_wh(self, load: LoadSeries) -> FloatArray:
        """Energy one load asks for in each month; jobs count as they arrive.

        Parameters
        ----------
        load : LoadSeries
            One of ``loads``.

        Returns
        -------
        ndarray, shape (12,)
            Energy at the load's terminals [Wh], January first.
        """
        energy_wh = self._energy_wh(load)
        return np.array([energy_wh[self.grid.month == month].sum() for month in range(12)])

    def yearly_wh(self, load: LoadSeries) -> float:
        """Energy one load asks for in a year [Wh]."""
        return float(self._energy_wh(load).sum())

    def _energy_wh(self, load: LoadSeries) -> FloatArray:
        energy_wh = load.power_w * self.grid.step_h
        return energy_wh if load.flexible is None else energy_wh + load.flexible.arrivals_wh

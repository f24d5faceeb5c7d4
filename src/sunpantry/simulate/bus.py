"""What is asked, as the battery bus and the inverter see it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from sunpantry.demand.series import Demand, Flexible, LoadSeries
from sunpantry.design.loads import SUPPLY_V
from sunpantry.design.nameplates import ConverterNameplate
from sunpantry.errors import InputError
from sunpantry.parts.system import System
from sunpantry.physics.converter import gain_per_watt
from sunpantry.simulate import layout as at
from sunpantry.timegrid import FloatArray

# Loads less important than the most important one in the system are switched off below
# these states of charge, so that what must run lasts longer (common practice, no source).
SHED_BELOW = (0.0, 0.30, 0.45)
MAINS = "mains"
# A device that charges straight from a panel does not begin below this share of its
# charging power (common practice, no source).
DIRECT_START_SHARE = 0.15
NO_TERMINALS_A = 1e-9


@dataclass(frozen=True, eq=False)
class Habits:
    """What people do with switches.

    Parameters
    ----------
    inverter_on : numpy.ndarray or None, shape (steps_per_year,)
        Share of each step in which the inverter is switched on though nothing needs it;
        ``None``: always on.
    backup_allowed : numpy.ndarray or None, shape (steps_per_year,)
        1 where the second source may run; ``None``: at any hour.
    dc_on_terminals, inverter_on_terminals : bool
        The DC loads, or the inverter, hang on the controller's load terminals and not on the
        battery: within the current that these carry.
    """

    inverter_on: FloatArray | None = None
    backup_allowed: FloatArray | None = None
    dc_on_terminals: bool = False
    inverter_on_terminals: bool = False

    def fill_columns(self, row: FloatArray, *, terminals_a: float) -> None:
        """Write what hangs on load terminals into a design row; none carry nothing."""
        if self.dc_on_terminals or self.inverter_on_terminals:
            row[at.OUTPUT_A] = max(terminals_a, NO_TERMINALS_A)
            row[at.OUTPUT_DC] = float(self.dc_on_terminals)
            row[at.OUTPUT_AC] = float(self.inverter_on_terminals)


@dataclass(frozen=True, eq=False)
class BusLoads:
    """Loads of one kind of system.

    Parameters
    ----------
    steps : numpy.ndarray, shape (steps_per_year, LOAD_COLUMNS)
        What is asked in each step.
    flexible : numpy.ndarray, shape (queues, FLEX_COLUMNS)
        Loads that can wait.
    arrivals_wh : numpy.ndarray, shape (queues, steps_per_year)
        Energy of their jobs as they arrive, at the bus or the inverter's output [Wh].
    idle_w : float
        Drawn by converters all the time [W].
    steps_per_year : int
        Steps in a year.
    """

    steps: FloatArray
    flexible: FloatArray
    arrivals_wh: FloatArray
    idle_w: float
    steps_per_year: int

    @cached_property
    def _first_class(self) -> int:
        """The most important class that asks for anything."""
        asked = self.steps[:, at.L_DC : at.L_DC + 3] + self.steps[:, at.L_AC : at.L_AC + 3]
        present = [bool(asked[:, kind].any()) for kind in range(at.CLASSES)]
        for queue in self.flexible:
            present[int(queue[at.FLEX_CLASS])] = True
        return present.index(True) if any(present) else 0

    def fill_columns(self, row: FloatArray, system: System) -> None:
        """Write what a design row has to know of its loads."""
        row[at.OWN_A] += self.idle_w / system.bank_v
        first = self._first_class
        for column, kind in ((at.SHED_SHOULD, at.SHOULD), (at.SHED_MAY, at.MAY)):
            sheds = kind > first and system.bank is not None
            row[column] = SHED_BELOW[kind] if sheds else -1.0


def converter_for(
    supply: str, bank_v: float, converters: Sequence[ConverterNameplate]
) -> ConverterNameplate | None:
    """Converter that feeds a DC supply from the bank; ``None`` where the bank does so itself.

    Raises
    ------
    InputError
        When a converter is needed and there is none.
    """
    volts = SUPPLY_V[supply]  # type: ignore[index]
    if volts == bank_v:
        return None
    fitting = [
        one
        for one in converters
        if abs(one.output_v - volts) <= 0.15 * volts
        and one.input_min_v <= bank_v <= one.input_max_v
    ]
    if not fitting:
        raise InputError.one(
            "converter",
            "none",
            f"a converter from the {bank_v:g} V battery to {supply}",
            f"add a [[converter]] with an output of {supply}, or give the load another supply",
        )
    return max(fitting, key=lambda one: (one.rated_w, one.efficiency_pct))


def supply_efficiency(supply: str, system: System) -> float:
    """What of the power at the battery bus, or the inverter's output, reaches a supply [-]."""
    return 1.0 if supply == MAINS else _dc_efficiency(supply, system)


def _dc_efficiency(supply: str, system: System) -> float:
    battery = system.bank.battery if system.bank is not None else None
    own = 1.0
    if battery is not None and battery.chemistry == "power_bank":
        own = battery.output_efficiency_pct / 100.0
    converter = converter_for(supply, system.bank_v, system.converters)
    if converter is None:
        return own
    # beside its idle draw, which is counted on its own
    per_watt = gain_per_watt(
        rated_w=converter.rated_w,
        efficiency=converter.efficiency_pct / 100.0,
        idle_w=converter.idle_w,
    )
    return own / per_watt


def _flexible_row(
    load: LoadSeries, jobs: Flexible, *, efficiency: float, direct: bool, shed_below: float
) -> FloatArray:
    row = np.zeros(at.FLEX_COLUMNS)
    row[at.FLEX_W] = jobs.power_w / efficiency
    row[at.FLEX_DEADLINE] = jobs.deadline_steps
    row[at.FLEX_HOLDS] = jobs.holds_wh / efficiency
    row[at.FLEX_START] = jobs.start_wh / efficiency
    row[at.FLEX_DAY] = jobs.most_wh_per_day / efficiency
    if jobs.battery_above is None or direct:
        row[at.FLEX_LEVEL] = 2.0
    else:
        row[at.FLEX_LEVEL] = max(jobs.battery_above, shed_below)
    row[at.FLEX_IS_AC] = 1.0 if load.supply == MAINS else 0.0
    row[at.FLEX_CLASS] = load.importance
    row[at.FLEX_SURGE_W] = max(load.surge_w - jobs.power_w, 0.0) / efficiency
    if direct:
        row[at.FLEX_LEAST_W] = DIRECT_START_SHARE * row[at.FLEX_W]
    return row


def surge_above_mean_w(
    fed: Sequence[tuple[LoadSeries, float]], steps: int, *, starts: bool = True
) -> FloatArray:
    """Highest draw of some loads together in each step above their mean power there [W].

    Everything that may be running runs, and the one start with the largest surge falls
    on top. Jobs that can wait are left out: their start is looked at when they run.

    Parameters
    ----------
    fed : sequence of (LoadSeries, float)
        Loads, with what of the power where it is counted reaches them [-].
    steps : int
        In a year.
    starts : bool
        Whether a start is met at all.
    """
    above, start = np.zeros(steps), np.zeros(steps)
    for load, efficiency in fed:
        if load.flexible is None:
            above += (load.running * load.peak_w - load.power_w) / efficiency
            if starts:
                hardest = load.running * ((load.surge_w - load.peak_w) / efficiency)
                np.maximum(start, hardest, out=start)
    return np.maximum(above + start, 0.0)


def bus_loads(demand: Demand, system: System, habits: Habits) -> BusLoads:
    """Bring every load to the battery bus, or to the inverter's output.

    Parameters
    ----------
    demand : Demand
        What must run.
    system : System
        Its bank voltage, converters and inverter count.
    habits : Habits
        Switching of the inverter and of the second source.

    Raises
    ------
    InputError
        When a load has no way of being fed.
    """
    steps = demand.grid.steps_per_year
    table = np.zeros((steps, at.LOAD_COLUMNS))
    fed: dict[bool, list[tuple[LoadSeries, float]]] = {True: [], False: []}
    queues, arrivals, idle_w = [], [], 0.0
    first = min((load.importance for load in demand.loads), default=0)
    for converter in system.converters:
        idle_w += converter.idle_w
    for load in demand.loads:
        mains = load.supply == MAINS
        if mains and system.inverter is None:
            raise InputError.one(
                "inverter", "none", f"an inverter for {load.name}", "add one, or change its supply"
            )
        efficiency = supply_efficiency(load.supply, system)
        fed[mains].append((load, efficiency))
        column = (at.L_AC if mains else at.L_DC) + load.importance
        table[:, column] += load.power_w / efficiency
        if load.flexible is not None:
            queues.append(
                _flexible_row(
                    load,
                    load.flexible,
                    efficiency=efficiency,
                    direct=system.bank is None,
                    shed_below=SHED_BELOW[load.importance] if load.importance > first else 0.0,
                )
            )
            arrivals.append(load.flexible.arrivals_wh / efficiency)
    if system.inverter is not None:
        table[:, at.L_IDLE] = 1.0 if habits.inverter_on is None else habits.inverter_on
        table[:, at.L_SURGE] = surge_above_mean_w(fed[True], steps)
    for worst in range(at.CLASSES if system.bank is not None else 0):
        chosen = [one for one in fed[False] if one[0].importance <= worst]
        table[:, at.L_DC_SURGE + worst] = surge_above_mean_w(chosen, steps)
        table[:, at.L_DC_PEAK + worst] = surge_above_mean_w(chosen, steps, starts=False)
    table[:, at.L_BACKUP] = 1.0 if habits.backup_allowed is None else habits.backup_allowed
    return BusLoads(
        steps=table,
        flexible=np.array(queues).reshape(-1, at.FLEX_COLUMNS),
        arrivals_wh=np.array(arrivals).reshape(-1, steps),
        idle_w=idle_w,
        steps_per_year=steps,
    )

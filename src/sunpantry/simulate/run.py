"""Run systems through the years: compile them into arrays, call the kernel, sum up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from sunpantry.parts.system import System
from sunpantry.simulate import layout as at
from sunpantry.simulate.bus import BusLoads
from sunpantry.simulate.columns import (
    bank_model,
    battery_columns,
    controller_columns,
    curve_of,
    inverter_columns,
    no_bank_columns,
    regulated_columns,
    switches_off_below_w,
)
from sunpantry.simulate.course import Course, stack_loads
from sunpantry.simulate.second_source import SecondSource
from sunpantry.simulate.setting import Setting
from sunpantry.timegrid import FloatArray

NO_LIMITS = np.array([-1.0, -1.0, -1.0])
DEFAULT_HOUSING = "shed"


@dataclass(frozen=True, eq=False)
class Runs:
    """What came out of the kernel, one row a system, columns by ``layout``.

    Parameters
    ----------
    totals : numpy.ndarray, shape (n, TOTAL_COLUMNS)
        Energy audit and what ageing needs, whole run.
    yearly : numpy.ndarray, shape (n, years, YEAR_COLUMNS)
        Year by year.
    monthly : numpy.ndarray, shape (traced, 12, MONTH_COLUMNS)
        Month by month, sums over the years, of traced systems.
    traces : numpy.ndarray, shape (traced, TRACE_COLUMNS + 2 queues, steps)
        Step by step, of traced systems.
    missed_wh : numpy.ndarray, shape (n, queues)
        Energy of jobs that could not be done by their deadline, whole run, one column for
        each load that can wait, at the bus or the inverter's output [Wh].
    step_h : float
        Length of a step [h].
    """

    totals: FloatArray
    yearly: FloatArray
    monthly: FloatArray
    traces: FloatArray
    missed_wh: FloatArray
    step_h: float

    @property
    def years(self) -> int:
        """Years run."""
        return int(self.yearly.shape[1])

    def kept(self) -> FloatArray:
        """Systems that were run to the end: 1, given up: 0; shape (n,)."""
        return 1.0 - self.totals[:, at.T_STOPPED]

    def hours_without(self) -> FloatArray:
        """Mean hours a year without power of each class, shape (n, 3) [h]."""
        hours = self.yearly[:, :, at.Y_HOURS : at.Y_HOURS + at.CLASSES]
        return np.asarray(hours.mean(axis=1))


@dataclass(eq=False)
class Rows:
    """Design rows being gathered, with the shared arrays they point into."""

    setting: Setting
    capacity_left: float = 1.0
    second_source: SecondSource | None = None
    designs: list[FloatArray] = field(default_factory=list)
    _sources: dict[object, int] = field(default_factory=dict)
    _source_arrays: list[FloatArray] = field(default_factory=list)
    _curves: dict[object, int] = field(default_factory=dict)
    _curve_arrays: list[FloatArray] = field(default_factory=list)
    _housings: dict[str, int] = field(default_factory=dict)
    _load_rows: dict[object, int] = field(default_factory=dict)
    _load_sets: list[BusLoads] = field(default_factory=list)

    def add(self, system: System) -> None:
        """Work out the row of one system."""
        row = np.zeros(at.DESIGN_COLUMNS)
        row[at.TRACE] = -1.0
        setting = self.setting
        model = None
        if system.bank is not None:
            model = bank_model(system.bank, capacity_left=self.capacity_left)
            battery_columns(row, model, step_h=setting.step_h)
            row[at.OUTPUT_W_MIN] = switches_off_below_w(system.bank, system.bank_v)
        else:
            no_bank_columns(row, system.bank_v)
        if system.controller is not None and model is not None:
            controller_columns(
                row,
                system.controller,
                count=system.controller_count,
                bank_v=system.bank_v,
                model=model,
            )
            terminals_a = system.controller.load_output_a * system.controller_count
            setting.habits.fill_columns(row, terminals_a=terminals_a)
        elif system.arrays:
            panels = sum(array.count for array in system.arrays)
            regulated_columns(row, system.arrays[0].panel, model, panels=panels)
        inverter_columns(row, system)
        self._point(row, system, model is None)
        loads = self._load_sets[int(row[at.LOADS])]
        loads.fill_columns(row, system)
        if self.second_source is not None:
            self.second_source.fill_columns(row)
        self.designs.append(row)

    def _point(self, row: FloatArray, system: System, no_bank: bool) -> None:
        """Find or make the shared arrays of this system and point the row at them."""
        setting = self.setting
        scale = system.bank_v / 12.0
        row[at.NODE_LOW_V], row[at.NODE_STEP_V] = 11.0 * scale, 2.0 * scale
        key = setting.source_key(system)
        if key not in self._sources:
            self._sources[key] = len(self._source_arrays)
            self._source_arrays.append(setting.source(system))
        row[at.SOURCE] = self._sources[key]
        row[at.STRINGS] = setting.strings(system)
        curve_key: object = ("none", system.bank_v)
        model = None
        if system.bank is not None and not no_bank:
            model = bank_model(system.bank)
            curve_key = (model.curve_v, "curve")
        if curve_key not in self._curves:
            self._curves[curve_key] = len(self._curve_arrays)
            self._curve_arrays.append(curve_of(model, system.bank_v))
        row[at.CURVE] = self._curves[curve_key]
        housing = system.bank.housing if system.bank is not None else DEFAULT_HOUSING
        row[at.ENVIRONMENT] = self._housings.setdefault(housing, len(self._housings))
        loads_key = setting.loads_key(system)
        if loads_key not in self._load_rows:
            self._load_rows[loads_key] = len(self._load_sets)
            self._load_sets.append(setting.loads(system))
        row[at.LOADS] = self._load_rows[loads_key]

    def lay_out(
        self,
        *,
        allowed_h: FloatArray = NO_LIMITS,
        traced: Sequence[int] = (),
        years: slice | None = None,
    ) -> Course:
        """Arrays of every row for the kernel, before the first year.

        Parameters
        ----------
        allowed_h, traced, years
            See :meth:`run`.
        """
        setting = self.setting
        n = len(self.designs)
        designs = np.stack(self.designs) if n else np.zeros((0, at.DESIGN_COLUMNS))
        for place, row in enumerate(traced):
            designs[row, at.TRACE] = float(place)
        chosen = np.arange(setting.years)[years or slice(None)]
        steps = setting.sun_place.size
        lit = setting.lit.size
        sun = np.stack(self._source_arrays)
        cells = np.stack([setting.cells_c(housing) for housing in self._housings])
        if chosen.size != setting.years:
            sun = sun.reshape(sun.shape[0], 3, setting.years, lit)[:, :, chosen]
            sun = np.ascontiguousarray(sun).reshape(sun.shape[0], 3, -1)
            cells = cells.reshape(cells.shape[0], setting.years, steps)[:, chosen]
            cells = np.ascontiguousarray(cells).reshape(cells.shape[0], -1)
        loads, flexible, arrived = stack_loads(self._load_sets, chosen, setting.years)
        monthly = np.zeros((max(len(traced), 1), 12, at.MONTH_COLUMNS))
        monthly[:, :, at.M_LOWEST] = 1.0
        queues = flexible.shape[1]
        columns = at.TRACE_COLUMNS + at.TRACE_QUEUE_COLUMNS * queues
        served = np.zeros((n, 3 * queues))
        served[:, :queues] = -flexible[designs[:, at.LOADS].astype(np.int64), :, at.FLEX_START]
        return Course(
            designs=designs,
            sun=sun,
            sun_place=setting.sun_place,
            month_of=setting.month_of,
            curves=np.stack(self._curve_arrays),
            cells_c=cells,
            loads=loads,
            flexible=flexible,
            arrived=arrived,
            allowed_h=allowed_h,
            step_h=setting.step_h,
            states=np.zeros((n, at.STATE_COLUMNS)),
            served=served,
            totals=np.zeros((n, at.TOTAL_COLUMNS)),
            yearly=np.zeros((n, chosen.size, at.YEAR_COLUMNS)),
            monthly=monthly,
            traces=np.zeros((len(traced), columns, chosen.size * steps if traced else 0)),
        )

    def run(
        self,
        *,
        allowed_h: FloatArray = NO_LIMITS,
        traced: Sequence[int] = (),
        years: slice | None = None,
    ) -> Runs:
        """Run every row.

        Parameters
        ----------
        allowed_h : numpy.ndarray, shape (3,)
            Hours without power each class may have over all years; negative: no limit.
        traced : sequence of int
            Rows to keep step by step.
        years : slice, optional
            Only these years, each run following the one before.
        """
        course = self.lay_out(allowed_h=allowed_h, traced=traced, years=years)
        course.go(0, course.years)
        queues = course.flexible.shape[1]
        return Runs(
            totals=course.totals,
            yearly=course.yearly,
            monthly=course.monthly,
            traces=course.traces,
            missed_wh=course.served[:, queues : 2 * queues],
            step_h=course.step_h,
        )


def run_systems(
    setting: Setting,
    systems: Sequence[System],
    *,
    capacity_left: float = 1.0,
    allowed_h: FloatArray = NO_LIMITS,
    traced: Sequence[int] = (),
    years: slice | None = None,
    second_source: SecondSource | None = None,
) -> Runs:
    """Run systems through the weather of a setting.

    Parameters
    ----------
    setting : Setting
        Sky and demand.
    systems : sequence of System
        What to try.
    capacity_left : float
        Share of the battery's capacity left, 1 for new [-].
    allowed_h : numpy.ndarray, shape (3,)
        See :meth:`Rows.run`.
    traced : sequence of int
        Positions in ``systems`` to keep step by step.
    years : slice, optional
        Only these years.
    second_source : SecondSource, optional
        What helps out when the battery is low.

    Returns
    -------
    Runs
    """
    rows = Rows(setting, capacity_left=capacity_left, second_source=second_source)
    for system in systems:
        rows.add(system)
    return rows.run(allowed_h=allowed_h, traced=traced, years=years)

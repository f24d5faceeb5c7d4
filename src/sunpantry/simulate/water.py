"""Water through the years: tanks behind a battery pump, and pumps straight on a panel.

A pump on a panel turns as fast as the light allows and gives nothing below the power at
which its head reaches the outlet. The light of a step is its mean: under broken cloud a
pump near its threshold gives a little more, or less, than an hourly run shows; a step of
15 or 5 minutes tells.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from sunpantry.demand.series import LoadSeries
from sunpantry.demand.water_jobs import PipeChoice, PumpJob
from sunpantry.parts.system import Array, System
from sunpantry.simulate import layout as at
from sunpantry.simulate.setting import Setting, derating
from sunpantry.timegrid import DAYS_PER_YEAR, MONTH_LENGTHS, FloatArray

# A motor on a panel does not sit at the panel's best voltage all day; with the usual
# pump driver about this share of the best power arrives: common practice, no source.
MATCHED = 0.90
# Less than this missing on a day is rounding [L].
DROP_L = 1e-6


@dataclass(frozen=True)
class WaterMonth:
    """One calendar month, mean of all years, a day.

    Parameters
    ----------
    month : int
        1…12.
    asked_l, delivered_l, pumped_l : float
        A day [L].
    pumping_h : float
        A day [h].
    dry_days : float
        In the whole month.
    lowest_share : float
        Lowest content of the tank in any year, share of its volume [-].
    """

    month: int
    asked_l: float
    delivered_l: float
    pumped_l: float
    pumping_h: float
    dry_days: float
    lowest_share: float


@dataclass(frozen=True, eq=False)
class TankProof:
    """What the years showed of one tank.

    Parameters
    ----------
    months : tuple of WaterMonth
        January first.
    asked_l_per_year, delivered_l_per_year, missing_l_per_year : float
        [L/year].
    dry_days_per_year : float
        Days on which something was missing.
    dry_hours_per_year : float
        Hours without water, weighted by the share missing [h/year].
    longest_dry_days : int
        Longest run of such days in any year.
    years_without_shortfall, years : int
        In which the tank never ran dry, and run.
    pumping_h_per_year : float
        [h/year].
    share : numpy.ndarray, shape (steps,)
        Content of the tank at the end of each step, share of its volume [-].
    missing_l, pumped_l : numpy.ndarray, shape (steps,)
        Step by step [L].
    """

    months: tuple[WaterMonth, ...]
    asked_l_per_year: float
    delivered_l_per_year: float
    missing_l_per_year: float
    dry_days_per_year: float
    dry_hours_per_year: float
    longest_dry_days: int
    years_without_shortfall: int
    years: int
    pumping_h_per_year: float
    share: FloatArray
    missing_l: FloatArray
    pumped_l: FloatArray


@dataclass(frozen=True, eq=False)
class DirectRun:
    """A direct pump step by step.

    Parameters
    ----------
    tank : TankProof
        The water.
    offered_w, taken_w : numpy.ndarray, shape (steps,)
        What the panels could give at their best, and what the pump took [W].
    """

    tank: TankProof
    offered_w: FloatArray
    taken_w: FloatArray


def queue_of(setting: Setting, load: LoadSeries) -> int:
    """Place of a load among those that can wait."""
    waiting = [one.name for one in setting.demand.loads if one.flexible is not None]
    return waiting.index(load.name)


def tank_behind_battery(
    setting: Setting, system: System, job: PumpJob, traces: FloatArray
) -> TankProof:
    """Water of a pump that runs from the battery, from the traces of its run.

    Parameters
    ----------
    setting : Setting
        Sky and demand.
    system : System
        The system that was run.
    job : PumpJob
        The pump.
    traces : numpy.ndarray, shape (columns, steps)
        Of :func:`sunpantry.simulate.run.run_systems`.
    """
    load = next(one for one in setting.demand.loads if one.name == job.pump.name)
    queue = queue_of(setting, load)
    column = at.TRACE_COLUMNS + at.TRACE_QUEUE_COLUMNS * queue
    full_w = float(setting.loads(system).flexible[queue, at.FLEX_W])
    litres_per_h = 60.0 * job.pipe.flow_l_min
    running_h = traces[column + at.TR_DONE] * (setting.step_h / full_w)
    missing_l = traces[column + at.TR_GIVEN_UP] * (litres_per_h / full_w)
    return tank_proof(
        setting, job, pumped_l=running_h * litres_per_h, missing_l=missing_l, running_h=running_h
    )


def tank_proof(
    setting: Setting,
    job: PumpJob,
    *,
    pumped_l: FloatArray,
    missing_l: FloatArray,
    running_h: FloatArray,
) -> TankProof:
    """Sum up the water of a run.

    Parameters
    ----------
    setting : Setting
        For the calendar.
    job : PumpJob
        The tank and its demand.
    pumped_l, missing_l, running_h : numpy.ndarray, shape (years * steps per year,)
        Step by step [L], [L], [h].
    """
    years, tank = setting.years, job.tank
    asked_l = np.tile(tank.drawn_l, years)
    content_l = tank.start_l + np.cumsum(pumped_l + missing_l - asked_l)
    share = np.clip(content_l / tank.volume_l, 0.0, 1.0)
    by_day = missing_l.reshape(years, DAYS_PER_YEAR, -1).sum(axis=2)
    dry = by_day > DROP_L
    lost = np.divide(missing_l, asked_l, out=np.zeros_like(asked_l), where=asked_l > 0.0)
    month_of = np.tile(setting.month_of, years)
    month_of_day = setting.month_of[:: setting.weather.grid.steps_per_day]
    dry_by_month = np.bincount(month_of_day, weights=dry.mean(axis=0), minlength=12)

    def daily(values: FloatArray) -> FloatArray:
        sums = np.bincount(month_of, weights=values, minlength=12)
        return np.asarray(sums / (np.array(MONTH_LENGTHS) * years))

    asked, missing, pumped, hours = map(daily, (asked_l, missing_l, pumped_l, running_h))
    months = tuple(
        WaterMonth(
            month=number + 1,
            asked_l=float(asked[number]),
            delivered_l=float(asked[number] - missing[number]),
            pumped_l=float(pumped[number]),
            pumping_h=float(hours[number]),
            dry_days=float(dry_by_month[number]),
            lowest_share=float(share[month_of == number].min()),
        )
        for number in range(12)
    )
    return TankProof(
        months=months,
        asked_l_per_year=float(asked_l.sum()) / years,
        delivered_l_per_year=float(asked_l.sum() - missing_l.sum()) / years,
        missing_l_per_year=float(missing_l.sum()) / years,
        dry_days_per_year=float(dry.sum()) / years,
        dry_hours_per_year=float(lost.sum()) * setting.step_h / years,
        longest_dry_days=_longest_run(dry.reshape(-1)),
        years_without_shortfall=int((~dry.any(axis=1)).sum()),
        years=years,
        pumping_h_per_year=float(running_h.sum()) / years,
        share=share,
        missing_l=missing_l,
        pumped_l=pumped_l,
    )


def _longest_run(flags: np.ndarray) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate(([0], flags.astype(np.int8), [0]))))
    return int((edges[1::2] - edges[::2]).max(initial=0))


@dataclass(eq=False)
class DirectPumping:
    """One direct pump under one sky, for trying panels and pipes.

    Parameters
    ----------
    setting : Setting
        The sky.
    job : PumpJob
        Pump and tank.
    """

    setting: Setting
    job: PumpJob

    def __post_init__(self) -> None:
        self._tables: dict[float, tuple[FloatArray, FloatArray]] = {}
        self._light: dict[object, FloatArray] = {}

    def dry_hours(
        self, array: Array, pipe: PipeChoice, *, allowed_h: float = -1.0, share: float = 1.0
    ) -> float:
        """Hours without water, mean of a year, weighted by the share missing [h].

        Parameters
        ----------
        array : Array
            The panels.
        pipe : PipeChoice
            The pipe.
        allowed_h : float
            Hours a year beyond which the exact number does not matter [h].
        share : float
            Share of the panels' power that is there [-].
        """
        years = self.setting.years
        limit = allowed_h * years if allowed_h >= 0.0 else -1.0
        return self._run(array, pipe, limit, np.zeros((4, 0)), share) / years

    def run(self, array: Array, pipe: PipeChoice) -> DirectRun:
        """Run through all years, step by step."""
        setting = self.setting
        kept = np.zeros((4, setting.years * setting.weather.grid.steps_per_year))
        self._run(array, pipe, -1.0, kept)
        pumped_l, missing_l, running_h, taken_w = kept
        tank = tank_proof(
            setting, self.job, pumped_l=pumped_l, missing_l=missing_l, running_h=running_h
        )
        offered = np.zeros((setting.years, setting.weather.grid.steps_per_year))
        power_w, factor = self._power(array)
        offered[:, setting.lit] = power_w.reshape(setting.years, -1) * factor
        return DirectRun(tank, offered.reshape(-1), taken_w)

    def _power(self, array: Array) -> tuple[FloatArray, float]:
        """Best power of one panel in every lit step [W], and what to multiply it by."""
        one = replace(array, series=1, parallel=1, owned=0)
        key = (array.panel, array.tilt_deg, array.azimuth_deg, array.shaded_groups)
        if key not in self._light:
            source = self.setting.source(System(0.0, (one,), None, None))
            self._light[key] = source[0].astype(np.float64)
        return self._light[key], array.count * derating(array) / derating(one)

    def _run(
        self, array: Array, pipe: PipeChoice, allowed_h: float, kept: FloatArray, share: float = 1.0
    ) -> float:
        from sunpantry.simulate.kernel_tank import fill_tank

        if pipe.bore_mm not in self._tables:
            table = self.job.table(pipe.bore_mm)
            self._tables[pipe.bore_mm] = (table.power_w / MATCHED, table.flow_l_min * 60.0)
        table_w, table_l_h = self._tables[pipe.bore_mm]
        power_w, factor = self._power(array)
        factor *= share
        tank = self.job.tank
        return float(
            fill_tank(
                power_w,
                factor,
                self.setting.sun_place,
                table_w,
                table_l_h,
                tank.drawn_l,
                tank.volume_l,
                tank.start_l,
                self.job.pump.well_yield_l_per_day or 0.0,
                allowed_h,
                self.setting.years,
                self.setting.step_h,
                kept,
            )
        )

"""Pumps as loads: what a litre takes, which pipe suits, and the tank as a store.

A pump that runs from the battery works at its operating point on the pipe, so a litre
always takes the same energy. Its tank is a store: what is drawn leaves room in it, the
room is work that waits, and what is drawn from an empty tank is missing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sunpantry.demand.civil import CivilYear
from sunpantry.demand.series import Flexible, LoadSeries
from sunpantry.demand.water import TankDemand, tank_demands
from sunpantry.design.loads import IMPORTANCES, CanWait
from sunpantry.design.models import Design
from sunpantry.design.water import Pump
from sunpantry.errors import InputError
from sunpantry.phrases import phrase
from sunpantry.physics.pump import (
    PumpCurve,
    PumpTable,
    curve_from_points,
    curve_from_rating,
    flow_on_pipe_l_min,
    pump_table,
)
from sunpantry.physics.water import PIPE_BORES_MM, Pipe, hydraulic_power_w, velocity_m_s

# Price of a metre of polyethylene pipe by outside diameter [EUR/m]: typical, 2025, from
# memory; fittings come on top.
PIPE_PRICES = {20: 0.9, 25: 1.2, 32: 1.9, 40: 2.8, 50: 4.2, 63: 6.5}
# The same lengths in other materials cost so many times as much: from memory.
MATERIAL_PRICE = {"plastic": 1.0, "copper": 8.0, "steel": 4.0, "galvanised": 5.0}
# Faster water wears pipes and hammers when a valve shuts: common practice, no source.
FASTEST_M_S = 2.0
# What a kilowatt-hour from a small system of one's own costs over the years [EUR]:
# common practice, no source. It decides between pipes only.
ENERGY_WORTH = 1.0
# A motor draws so many times its power for a moment as it starts on the mains, where the
# document does not say: common practice, no source.
MAINS_START = 3.0


@dataclass(frozen=True, slots=True)
class PipeChoice:
    """One size of pipe and what the pump does on it at full power.

    Parameters
    ----------
    outside_mm : int or None
        Size it is sold by [mm]; ``None`` where only the bore is known.
    bore_mm : float
        Inside diameter [mm].
    price : float or None
        Of the whole length [EUR]; ``None`` where it is not known.
    flow_l_min, head_m, power_w, velocity_m_s : float
        Operating point [L/min], [m], [W], and speed of the water [m/s]; no flow when the
        pump cannot reach the outlet.
    """

    outside_mm: int | None
    bore_mm: float
    price: float | None
    flow_l_min: float
    head_m: float
    power_w: float
    velocity_m_s: float

    @property
    def wh_per_l(self) -> float:
        """Electric energy for a litre [Wh/L]."""
        return self.power_w / (60.0 * self.flow_l_min) if self.flow_l_min > 0.0 else np.inf

    @property
    def is_calm(self) -> bool:
        """Whether the water runs slowly enough."""
        return self.velocity_m_s <= FASTEST_M_S


@dataclass(frozen=True, eq=False)
class PumpJob:
    """A pump, its pipe and the tank it fills.

    Parameters
    ----------
    pump : Pump
        As in the document.
    tank : TankDemand
        The tank and what is drawn from it.
    pipe : PipeChoice
        The pipe: given, or for a pump on the battery the best of those offered.
    offered : tuple of PipeChoice
        Every standard size, for comparison.
    importance : int
        The more important of the pump's and the tank's: 0 must, 1 should, 2 may.
    """

    pump: Pump
    tank: TankDemand
    pipe: PipeChoice
    offered: tuple[PipeChoice, ...]
    importance: int

    @property
    def is_direct(self) -> bool:
        """Whether it hangs straight on a panel, without a battery."""
        return self.pump.supply == "panel"

    def table(self, bore_mm: float) -> PumpTable:
        """Flow against power on a pipe of some bore."""
        start_w = self.pump.start_power_w or 0.0
        return pump_table(curve_of(self.pump), pipe_of(self.pump, bore_mm), start_power_w=start_w)


def curve_of(pump: Pump) -> PumpCurve:
    """Curve of a pump from its document.

    Raises
    ------
    InputError
        When its figures contradict each other.
    """
    if pump.curve is None:
        return curve_from_rating(
            flow_l_min=pump.rated_flow_l_min or 0.0,
            head_m=pump.rated_head_m or 0.0,
            power_w=pump.rated_power_w or 0.0,
        )
    if len(pump.curve[0]) == 3 or not pump.rated_power_w:
        return curve_from_points(pump.curve)
    best_w = max(hydraulic_power_w(flow_l_min=point[0], head_m=point[1]) for point in pump.curve)
    return curve_from_points(pump.curve, efficiency=best_w / pump.rated_power_w)


def pipe_of(pump: Pump, bore_mm: float) -> Pipe:
    """The pump's pipe with some bore."""
    return Pipe(
        static_head_m=pump.static_head_m,
        length_m=pump.pipe_length_m,
        bore_mm=bore_mm,
        material=pump.pipe,
        elbows=pump.elbows,
        valves=pump.valves,
        check_valves=pump.check_valves,
    )


def pipe_choice(pump: Pump, bore_mm: float, outside_mm: int | None = None) -> PipeChoice:
    """What a pump does at full power on a pipe of some bore."""
    curve, pipe = curve_of(pump), pipe_of(pump, bore_mm)
    flow = flow_on_pipe_l_min(curve, pipe)
    price = None
    if outside_mm is not None:
        price = PIPE_PRICES[outside_mm] * MATERIAL_PRICE[pump.pipe] * pump.pipe_length_m
    return PipeChoice(
        outside_mm=outside_mm,
        bore_mm=bore_mm,
        price=price,
        flow_l_min=flow,
        head_m=pipe.head_m(flow),
        power_w=curve.power(flow),
        velocity_m_s=velocity_m_s(flow_l_min=flow, bore_mm=bore_mm),
    )


def pump_jobs(design: Design, civil: CivilYear) -> tuple[PumpJob, ...]:
    """Every pump of a design with its tank and pipe.

    Parameters
    ----------
    design : Design
        Pumps and tanks.
    civil : CivilYear
        The year at the place.

    Returns
    -------
    tuple of PumpJob
        In the order of the document.

    Raises
    ------
    InputError
        When a pump cannot reach its outlet, or contradicts itself.
    """
    tanks = {tank.name: tank for tank in tank_demands(design, civil)}
    jobs = []
    for position, pump in enumerate(design.pumps, start=1):
        tank = tanks[pump.into] if pump.into is not None else next(iter(tanks.values()))
        offered = tuple(
            pipe_choice(pump, bore_mm, outside) for outside, bore_mm in PIPE_BORES_MM.items()
        )
        daily_l = _most_daily_l(tank, civil)
        if pump.pipe_bore_mm is not None:
            sold_as = {bore: outside for outside, bore in PIPE_BORES_MM.items()}
            pipe = pipe_choice(pump, pump.pipe_bore_mm, sold_as.get(pump.pipe_bore_mm))
        else:
            yearly_l = float(tank.drawn_l.sum())
            pipe = best_pipe(offered, yearly_l=yearly_l, daily_l=daily_l, years=design.money.years)
        if pipe.flow_l_min <= 0.0:
            raise InputError.one(
                f"pump[{position}].static_head",
                f"{pump.static_head_m:g} m",
                phrase(
                    "less than the {head_m:.1f} m this pump reaches at no flow",
                    head_m=curve_of(pump).head_m[0],
                ),
                phrase("choose a pump with more head"),
            )
        jobs.append(
            PumpJob(
                pump=pump,
                tank=tank,
                pipe=pipe,
                offered=offered,
                importance=min(IMPORTANCES.index(pump.importance), tank.importance),
            )
        )
    return tuple(jobs)


def best_pipe(
    offered: tuple[PipeChoice, ...], *, yearly_l: float, daily_l: float, years: float
) -> PipeChoice:
    """Cheapest pipe over the years, its energy counted.

    Parameters
    ----------
    offered : tuple of PipeChoice
        Sizes to choose from, the smallest first.
    yearly_l : float
        Water pumped in a year [L].
    daily_l : float
        Most that is drawn on a day [L].
    years : float
        Time looked at [years].

    Returns
    -------
    PipeChoice
        Of those in which the water is no faster than 2 m/s and the pump fills the day's
        need within a day; the widest where there is none.
    """
    fit = [one for one in offered if one.is_calm and one.flow_l_min * 60.0 * 24.0 >= daily_l > 0.0]
    if not fit:
        return offered[-1]
    return min(
        fit,
        key=lambda one: (
            (one.price or 0.0) + years * yearly_l * one.wh_per_l / 1000.0 * ENERGY_WORTH
        ),
    )


def pump_series(job: PumpJob, civil: CivilYear) -> LoadSeries:
    """A pump on the battery or the inverter as a load that waits for room in its tank.

    Parameters
    ----------
    job : PumpJob
        Not a direct one.
    civil : CivilYear
        The year at the place.
    """
    pump, tank, pipe = job.pump, job.tank, job.pipe
    supply = pump.supply
    if supply == "panel":
        raise ValueError("a pump that hangs on a panel is no load of the battery")
    steps = civil.grid.steps_per_year
    start = MAINS_START if supply == "mains" else 1.0
    return LoadSeries(
        name=pump.name,
        supply=supply,
        importance=job.importance,
        power_w=np.zeros(steps),
        running=np.ones(steps, dtype=bool),
        peak_w=pipe.power_w,
        surge_w=max(pump.surge_w or start * pipe.power_w, pipe.power_w),
        flexible=Flexible(
            arrivals_wh=tank.drawn_l * pipe.wh_per_l,
            job_wh=0.0,
            deadline_steps=steps,
            power_w=pipe.power_w,
            battery_above=0.0 if pump.rule is None else CanWait(rule=pump.rule).battery_above,
            holds_wh=tank.volume_l * pipe.wh_per_l,
            start_wh=(tank.volume_l - tank.start_l) * pipe.wh_per_l,
            most_wh_per_day=(pump.well_yield_l_per_day or 0.0) * pipe.wh_per_l,
        ),
        typical=() if pump.surge_w or supply != "mains" else ("surge",),
        kind="motor",
    )


def _most_daily_l(tank: TankDemand, civil: CivilYear) -> float:
    return float(tank.drawn_l.reshape(-1, civil.grid.steps_per_day).sum(axis=1).max())

"""Referee and kernel side by side on the same weather.

The year of weather is turned so that it begins with the dark season; the kernel runs the
whole of it, the referee the first days.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache, lru_cache

import numpy as np
from tests.referee.designs import PLACES, Case
from tests.referee.roof import Sky
from tests.referee.system import Referee, Source
from tests.referee.told import Told

from sunpantry.demand import demand_of
from sunpantry.demand.series import Demand
from sunpantry.design.document import parse_design
from sunpantry.parts.system import System
from sunpantry.simulate import layout as at
from sunpantry.simulate.bus import Habits
from sunpantry.simulate.run import Runs, run_systems
from sunpantry.simulate.second_source import SecondSource
from sunpantry.simulate.setting import Setting
from sunpantry.sky.climate import Climate, climate_of
from sunpantry.sky.generator import weather_years
from sunpantry.sky.losses import default_losses
from sunpantry.sky.place import place_at
from sunpantry.sky.plane import light_on_plane
from sunpantry.sky.weather import Weather
from sunpantry.timegrid import FloatArray, TimeGrid

SEED = 11
FIRST_OF_NOVEMBER, FIRST_OF_MAY = 305, 121
START_BELOW, STOP_ABOVE = 0.35, 0.80
# Further apart than this in state of charge, a step earlier a decision fell differently.
APART = 0.0025
TIE_REACH = 48  # steps between a decision and its showing
MOST_TURNED = 6


@lru_cache(maxsize=16)
def dark_year(place: str, step_h: float) -> tuple[Climate, Weather]:
    """A year of weather that begins with the dark season."""
    where = place_at(*PLACES[place], altitude_m=100.0)
    climate = climate_of(where)
    whole = weather_years(climate, years=1, seed=SEED, step_h=step_h)
    first = FIRST_OF_NOVEMBER if where.latitude >= 0.0 else FIRST_OF_MAY
    grid = TimeGrid(step_h=step_h, start_day=first)
    days = (first - whole.grid.start_day) % 365
    moved = {
        name: np.roll(getattr(whole, name), -days * grid.steps_per_day, axis=1)
        for name in ("ghi_w_m2", "dni_w_m2", "dhi_w_m2", "air_temperature_c")
    }
    return climate, replace(whole, grid=grid, **moved)


def demand_for(loads: str, weather: Weather) -> Demand:
    """What the loads of a case ask for."""
    head = f"""schema = 1
name = "Comparison"
[site]
latitude = {weather.place.latitude}
longitude = {weather.place.longitude}
"""
    return demand_of(parse_design(head + loads), weather.place, weather.grid, library=())


def light_for(system: System, climate: Climate, weather: Weather) -> list[FloatArray]:
    """Light on each array, by the sky's own room."""
    found = []
    for array in system.arrays:
        losses = default_losses(
            climate.monthly_temperature_c, tilt_deg=float(np.mean(array.tilt_deg))
        )
        plane = light_on_plane(
            weather,
            weather.place,
            tilt_deg=array.tilt_deg,
            azimuth_deg=array.azimuth_deg,
            losses=losses,
        )
        found.append(plane.poa_w_m2[0])
    return found


@dataclass(frozen=True)
class Sides:
    """Both answers to one case.

    Parameters
    ----------
    told : Told
        The referee's.
    runs : Runs
        The kernel's.
    steps : int
        Compared.
    turned : tuple of (int, str)
        Ties that had to fall the kernel's way: step and name of the decision.
    """

    case: Case
    told: Told
    runs: Runs
    steps: int
    turned: tuple[tuple[int, str], ...] = ()

    @property
    def charge_apart(self) -> FloatArray:
        """Difference in state of charge, step by step, as a share of the capacity."""
        if self.case.system.bank is None:
            return np.zeros(self.steps)
        kernel = self.runs.traces[0, at.TR_SOC, : self.steps]
        return np.asarray(np.abs(kernel - np.array(self.told.filled)))

    @property
    def kernel_unserved_wh(self) -> float:
        """Energy asked for at once and not delivered, by the kernel."""
        return float(self.runs.traces[0, at.TR_UNSERVED, : self.steps].sum() * self.case.step_h)

    @property
    def referee_unserved_wh(self) -> float:
        """The same by the referee."""
        return float(sum(self.told.unserved_w) * self.case.step_h)

    @property
    def first_apart(self) -> int:
        """First step at which the two are further apart than rounding explains."""
        return int(np.append(self.charge_apart > APART, True).argmax())


def _habits(case: Case, inverter_on: FloatArray | None) -> Habits:
    return Habits(
        inverter_on=inverter_on,
        dc_on_terminals=case.dc_on_terminals,
        inverter_on_terminals=case.inverter_on_terminals,
    )


@cache
def both(case: Case) -> Sides:
    """Run a case twice; where they part after a tie, let the referee decide it again."""
    climate, weather = dark_year(case.place, case.step_h)
    demand = demand_for(case.loads, weather)
    second = source = None
    if case.source_w > 0.0:
        second = SecondSource("generator", case.source_w, START_BELOW, STOP_ABOVE)
        source = Source(case.source_w, START_BELOW, STOP_ABOVE)
    by_day = weather.grid.hour_utc
    on = ((by_day >= 6.0) & (by_day < 18.0)).astype(float) if case.inverter_by_day else None
    setting = Setting(climate, weather, demand, habits=_habits(case, on))
    left = case.capacity_left
    runs = run_systems(
        setting, [case.system], capacity_left=left, traced=(0,), second_source=second
    )
    steps = case.days * weather.grid.steps_per_day
    sky = Sky(
        [one[:steps] for one in light_for(case.system, climate, weather)],
        [bool(one <= 0.0) for one in weather.ghi_w_m2[0, :steps]],
        weather.air_temperature_c[0],
    )

    def referee(turned: tuple[tuple[int, str], ...]) -> Sides:
        one = Referee(
            case.system,
            demand,
            sky,
            step_h=case.step_h,
            capacity_left=left,
            source=source,
            inverter_on=None if on is None else on.tolist(),
            on_terminals=(case.dc_on_terminals, case.inverter_on_terminals),
            turned=turned,
        )
        return Sides(case, one.run(steps), runs, steps, turned)

    found = referee(())
    while found.first_apart < steps and len(found.turned) < MOST_TURNED:
        apart = found.first_apart
        near = [tie for tie in found.told.ties if apart - TIE_REACH <= tie[0] <= apart]
        tries = (referee((*found.turned, tie)) for tie in reversed(near))
        better = next((one for one in tries if one.first_apart > apart), None)
        if better is None:
            break
        found = better
    return found

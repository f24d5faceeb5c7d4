"""Everything that is the same for every system under test: the sky and what is asked.

A ``Setting`` keeps what is costly and shared: light on each plane, what each kind of
string makes of it, battery temperatures and the loads as the battery bus sees them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np

from sunpantry.parts.curves import panel_model
from sunpantry.parts.system import Array, System
from sunpantry.physics.array_losses import (
    ageing_factor,
    bypassed_v,
    joining_factor,
    unshaded_v,
)
from sunpantry.physics.enclosure import HOUSINGS, housed_temperature_c
from sunpantry.physics.joined_arrays import common_maximum
from sunpantry.physics.panel_table import PanelTable, panel_table
from sunpantry.simulate.bus import BusLoads, Habits, bus_loads
from sunpantry.simulate.columns import NODE_LOW_V, NODE_STEP_V
from sunpantry.sky.losses import MonthlyLosses, default_losses
from sunpantry.sky.plane import PlaneLight, Skyline, cell_temperature_c, light_on_plane
from sunpantry.timegrid import FloatArray, IntArray

if TYPE_CHECKING:
    from sunpantry.demand.series import Demand
    from sunpantry.design.nameplates import PanelNameplate
    from sunpantry.sky.climate import Climate
    from sunpantry.sky.weather import Weather

# The proof is given for panels in the middle of their working life [years].
PANEL_AGE_YEARS = 10.0

SourceKey = tuple[object, ...]


@dataclass(frozen=True, eq=False)
class Ground:
    """What lies round the array.

    Parameters
    ----------
    albedo : float
        Share of the light the ground throws back [-].
    horizon : Skyline or None
        What stands in the sun.
    losses : MonthlyLosses or None
        Dirt and snow; ``None`` takes the defaults for the climate and the tilt.
    """

    albedo: float = 0.2
    horizon: Skyline | None = None
    losses: MonthlyLosses | None = None


@dataclass(eq=False)
class Setting:
    """Sky, ground and demand, with caches of what systems share.

    Parameters
    ----------
    climate, weather : Climate, Weather
        The place and its years.
    demand : Demand
        What must run.
    ground : Ground
        Round the array.
    habits : Habits
        Switching of the inverter and of the second source.
    """

    climate: Climate
    weather: Weather
    demand: Demand
    ground: Ground = field(default_factory=Ground)
    habits: Habits = field(default_factory=Habits)
    _planes: dict[object, PlaneLight] = field(default_factory=dict, repr=False)
    _sources: dict[SourceKey, FloatArray] = field(default_factory=dict, repr=False)
    _tables: dict[PanelNameplate, PanelTable] = field(default_factory=dict, repr=False)
    _cells: dict[str, FloatArray] = field(default_factory=dict, repr=False)
    _loads: dict[object, BusLoads] = field(default_factory=dict, repr=False)

    def __post_init__(self) -> None:
        lit = np.nonzero(self.weather.ghi_w_m2.max(axis=0) > 0.0)[0]
        place = np.full(self.weather.grid.steps_per_year, -1, dtype=np.int64)
        place[lit] = np.arange(lit.size)
        self.lit: IntArray = lit.astype(np.int64)
        self.sun_place: IntArray = place
        self.month_of: IntArray = self.weather.grid.month

    @property
    def years(self) -> int:
        """Years of weather."""
        return self.weather.years

    @property
    def step_h(self) -> float:
        """Length of a step [h]."""
        return self.weather.grid.step_h

    def plane(self, tilt_deg: tuple[float, ...], azimuth_deg: float) -> PlaneLight:
        """Light on a plane; kept for the next system that faces the same way."""
        key = (tilt_deg, azimuth_deg)
        if key not in self._planes:
            losses = self.ground.losses or default_losses(
                self.climate.monthly_temperature_c, tilt_deg=float(np.mean(tilt_deg))
            )
            self._planes[key] = light_on_plane(
                self.weather,
                self.weather.place,
                tilt_deg=tilt_deg,
                azimuth_deg=azimuth_deg,
                albedo=self.ground.albedo,
                horizon=self.ground.horizon,
                losses=losses,
            )
        return self._planes[key]

    def source_key(self, system: System) -> SourceKey:
        """What distinguishes the sun arrays of one system from those of another."""
        switched = system.controller is not None and system.controller.kind == "pwm"
        kind = "pwm" if switched and system.bank is not None else "mppt"
        volts = system.bank_v if kind == "pwm" else 0.0
        if len(system.arrays) == 1:
            one = system.arrays[0]
            lone = one.count == 1
            faces = (one.tilt_deg, one.azimuth_deg, one.shaded_groups)
            return (kind, volts, one.panel, one.series, lone, *faces)
        return (kind, volts, *system.arrays)

    def source(self, system: System) -> FloatArray:
        """Sun arrays of a system, shape (3, years * lit), float32: see the kernel.

        For one array the numbers are those of one string, to be multiplied by the
        strings in parallel; several arrays are added up.
        """
        key = self.source_key(system)
        if key not in self._sources:
            pwm = key[0] == "pwm"
            build = self._pwm_source if pwm else self._mppt_source
            alone = len(system.arrays) == 1
            parts = [
                build(array, 1 if alone else array.parallel, system.bank_v)
                for array in system.arrays
            ]
            whole = parts[0]
            if not alone:
                joined = np.stack(parts)
                whole = joined.sum(axis=0) if pwm else _on_one_tracker(joined)
            self._sources[key] = whole.astype(np.float32)
        return self._sources[key]

    def strings(self, system: System) -> float:
        """Multiplier that goes with :meth:`source`."""
        return float(system.arrays[0].parallel) if len(system.arrays) == 1 else 1.0

    def _lit_conditions(self, array: Array) -> tuple[FloatArray, FloatArray]:
        light = self.plane(array.tilt_deg, array.azimuth_deg)
        poa = np.ascontiguousarray(light.poa_w_m2[:, self.lit]).reshape(-1)
        air = light.air_temperature_c[:, self.lit].reshape(-1)
        warmth = cell_temperature_c(poa, air, noct_c=array.panel.noct_c)
        return poa, warmth

    def _table(self, panel: PanelNameplate) -> PanelTable:
        if panel not in self._tables:
            self._tables[panel] = panel_table(panel_model(panel))
        return self._tables[panel]

    def _mppt_source(self, array: Array, strings: int, bank_v: float) -> FloatArray:
        del bank_v
        poa, warmth = self._lit_conditions(array)
        table = self._table(array.panel)
        factor = derating(array)
        power = table.power_at_max(poa, warmth) * (array.series * strings * factor)
        volts = table.voltage_at_max(poa, warmth)
        open_volts = table.voltage_at_no_load(poa, warmth)
        if array.shaded_groups:
            shade = {"cells": array.panel.cells, "shaded_groups": array.shaded_groups}
            left_v = bypassed_v(volts, **shade)
            power *= np.divide(left_v, volts, out=np.zeros_like(volts), where=volts > 0.0)
            volts, open_volts = left_v, bypassed_v(open_volts, **shade)
        return np.stack([power, volts * array.series, open_volts * array.series])

    def _pwm_source(self, array: Array, strings: int, bank_v: float) -> FloatArray:
        poa, warmth = self._lit_conditions(array)
        scale = bank_v / 12.0 / array.series
        nodes: FloatArray = np.asarray((NODE_LOW_V + NODE_STEP_V * np.arange(3)) * scale)
        if array.shaded_groups:
            nodes = unshaded_v(nodes, cells=array.panel.cells, shaded_groups=array.shaded_groups)
        amps = self._table(array.panel).current_at(nodes, poa, warmth)
        return np.asarray(amps * (strings * derating(array)))

    def cells_c(self, housing: str) -> FloatArray:
        """Battery temperature, shape (years * steps,) [°C]."""
        if housing not in self._cells:
            self._cells[housing] = housed_temperature_c(
                self.weather.air_temperature_c, housing=housing, step_h=self.step_h
            )
        return self._cells[housing]

    def loads_key(self, system: System) -> object:
        """What distinguishes the loads at the battery bus of one system from another's."""
        battery = system.bank.battery if system.bank is not None else None
        own_output = (
            battery.output_efficiency_pct
            if battery is not None and battery.chemistry == "power_bank"
            else None
        )
        return (system.bank_v, system.converters, system.inverter is not None, own_output)

    def loads(self, system: System) -> BusLoads:
        """Loads as the battery bus of the system sees them."""
        key = self.loads_key(system)
        if key not in self._loads:
            self._loads[key] = bus_loads(self.demand, system, self.habits)
        return self._loads[key]

    def excerpt(self, years: Sequence[int]) -> Setting:
        """Only some of the years, in any order, each as it is in the whole.

        Parameters
        ----------
        years : sequence of int
            Years to keep, 0 for the first.

        Returns
        -------
        Setting
            Battery temperatures are those of the whole run, lag included; stores of the
            loads begin full.
        """
        rows = list(years)
        weather = self.weather
        part = Setting(
            self.climate,
            replace(
                weather,
                ghi_w_m2=weather.ghi_w_m2[rows],
                dni_w_m2=weather.dni_w_m2[rows],
                dhi_w_m2=weather.dhi_w_m2[rows],
                air_temperature_c=weather.air_temperature_c[rows],
            ),
            self.demand.begun_full(),
            self.ground,
            self.habits,
        )
        part._tables = self._tables
        if part.demand is self.demand:
            part._loads = self._loads
        for housing in HOUSINGS:
            whole = self.cells_c(housing).reshape(self.years, -1)
            part._cells[housing] = np.ascontiguousarray(whole[rows]).reshape(-1)
        return part

    def with_demand(self, demand: Demand) -> Setting:
        """Return the same sky with another demand; what does not depend on it is shared."""
        other = replace(self, demand=demand)
        other._loads = {}
        return other

    @property
    def sources_bytes(self) -> int:
        """Memory held by the sun arrays [bytes]."""
        return sum(source.nbytes for source in self._sources.values())

    def forget_sources(self) -> None:
        """Let go of the sun arrays, the largest thing kept."""
        self._sources.clear()


def _on_one_tracker(parts: FloatArray) -> FloatArray:
    """Power and voltages of several arrays together, shape (3, n)."""
    return np.stack(common_maximum(parts[:, 0], parts[:, 1], parts[:, 2]))


def derating(array: Array) -> float:
    """What is left of the label's power in the middle of the array's life, joined up [-]."""
    return joining_factor(panels=array.count) * ageing_factor(
        years=PANEL_AGE_YEARS, loss_pct_per_year=array.panel.ageing_pct_per_year
    )

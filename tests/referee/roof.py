"""The referee's arrays and their controller, from docs/model.md sections 1.1, 1.4 and 2.3."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from tests.referee.battery import Store
from tests.referee.panel import Condition, Diode, Floats, diode_of, zero

from sunpantry.design.nameplates import PanelNameplate
from sunpantry.parts.system import Array, System

PANEL_AGE_YEARS = 10.0
HUGE = 1e9


@dataclass(frozen=True)
class Sky:
    """What shines on each array of a system, and the air, step by step.

    Parameters
    ----------
    light_w_m2 : sequence of numpy.ndarray, shape (steps,)
        One for each array [W/m²].
    dark : sequence of bool
        Steps without any light of the sky.
    air_c : numpy.ndarray, shape (steps or more,)
        Air temperature [°C].
    """

    light_w_m2: Sequence[Floats]
    dark: Sequence[bool]
    air_c: Floats


@dataclass(frozen=True)
class Poles:
    """What the array finds at the battery's poles in a step."""

    v0: float
    charge_ohm: float
    out_ohm: float
    load_w: float
    target_v: float


@dataclass(frozen=True)
class SetPoints:
    """Voltages and times of the controller, for the whole bank."""

    absorb_v: float
    float_v: float
    equalise_v: float | None
    absorb_h: float
    per_k: float
    open_below_v: float
    close_above_v: float


def set_points(system: System, store: Store | None) -> SetPoints:
    """Section 1.4."""
    if store is None:
        return SetPoints(system.bank_v, system.bank_v, None, HUGE, 0.0, 0.0, 0.0)
    plate, table, v12 = system.controller, store.table, system.bank_v / 12.0
    low, high = table.disconnect_v * store.cells, table.reconnect_v * store.cells
    absorb, floating = store.absorption_v, store.float_v
    if plate is None:
        return SetPoints(absorb, floating, None, HUGE, 0.0, low, high)
    if not plate.adjustable:
        absorb, floating = plate.absorption_v * v12, plate.float_v * v12
        low, high = plate.disconnect_v * v12, plate.reconnect_v * v12
    flooded = system.bank is not None and system.bank.battery.chemistry == "flooded"
    senses = plate.temperature_sensor and table.is_lead_acid
    return SetPoints(
        absorb_v=absorb,
        float_v=floating,
        equalise_v=plate.equalise_v * v12 if plate.equalise_v is not None and flooded else None,
        absorb_h=plate.absorption_h,
        per_k=plate.temp_comp_mv_per_cell_k / 1000.0 * store.cells if senses else 0.0,
        open_below_v=low,
        close_above_v=high,
    )


@dataclass(frozen=True)
class Controller:
    """What a controller, or the regulators of the panels, let through."""

    pwm: bool
    part: float
    rated_a: float
    headroom_v: float
    limit_w: float

    @classmethod
    def of(cls, system: System) -> Controller:
        """From the labels."""
        plate, bank = system.controller, system.bank
        if plate is not None and bank is not None:
            count, limit_w = system.controller_count, HUGE
            if plate.max_pv_power_w_at_12v is not None:
                limit_w = plate.max_pv_power_w_at_12v * system.bank_v / 12.0 * count
            pwm = plate.kind == "pwm"
            part = 1.0 if pwm else plate.efficiency_pct / 100.0
            return cls(pwm, part, plate.rated_a * count, plate.start_headroom_v, limit_w)
        panel = system.arrays[0].panel
        into_store = bank.battery.input_efficiency_pct / 100.0 if bank is not None else 1.0
        limit_w = HUGE
        if panel.regulated_max_a is not None and panel.regulated_output_v is not None:
            panels = sum(array.series * array.parallel for array in system.arrays)
            limit_w = panel.regulated_max_a * panel.regulated_output_v * panels * into_store
        part = panel.regulated_efficiency_pct / 100.0 * into_store
        return cls(pwm=False, part=part, rated_a=HUGE, headroom_v=-HUGE, limit_w=limit_w)


@lru_cache(maxsize=64)
def _diode(panel: PanelNameplate) -> Diode:
    return diode_of(panel)


class _Part:
    """One array in every step."""

    def __init__(self, array: Array, light: Floats, air_c: Floats) -> None:
        left = (1.0 - array.panel.ageing_pct_per_year / 100.0) ** PANEL_AGE_YEARS
        count = array.series * array.parallel
        factor = 0.99 * (0.98 if count > 1 else 1.0) * left
        self.series, self.strings = array.series, array.parallel * factor
        self.lit = light > 0.0
        warmth = air_c[: len(light)] + light * (array.panel.noct_c - 20.0) / 800.0
        diode = _diode(array.panel)
        there = diode.there(light[self.lit], warmth[self.lit])
        power, volts = diode.best(light[self.lit], warmth[self.lit])
        self.groups, self.shaded = -(-array.panel.cells // 24), array.shaded_groups
        sunny = np.array([self.shaded_v(float(one)) for one in volts])
        power, volts = power * sunny / volts, sunny
        self.there = {
            int(t): tuple(float(one[k]) for one in (*there, power, volts))
            for k, t in enumerate(np.flatnonzero(self.lit))
        }

    def shaded_v(self, volts: float) -> float:
        """Voltage at the same current when bypass diodes cut some groups of cells out."""
        return max(volts * (1.0 - self.shaded / self.groups) - 0.5 * self.shaded, 0.0)

    def current_a(self, t: int, volts: float) -> float:
        """Current of all strings at a voltage of one panel."""
        whole_v = (volts + 0.5 * self.shaded) / (1.0 - self.shaded / self.groups)
        amps: float = self.condition(t).current_a(whole_v)
        all_a: float = amps * self.strings
        return all_a

    def no_load_v(self, t: int) -> float:
        """Voltage of one panel without load."""
        return self.shaded_v(self.condition(t).no_load_v())

    def condition(self, t: int) -> Condition:
        """Curve of one panel."""
        return Condition(self.there[t][:5])


class Roof:
    """Every array of a system behind its controller."""

    def __init__(self, system: System, sky: Sky) -> None:
        self.parts = [
            _Part(array, light, sky.air_c)
            for array, light in zip(system.arrays, sky.light_w_m2, strict=True)
        ]
        self.dark = sky.dark
        self.controller = Controller.of(system)

    def _best(self, t: int) -> tuple[float, float, float]:
        """Maximum power of all arrays at one voltage, that voltage, and that at no load."""
        lit = [part for part in self.parts if part.lit[t]]
        powers = [part.there[t][5] * part.strings * part.series for part in lit]
        volts = [part.there[t][6] * part.series for part in lit]
        unloaded = [part.no_load_v(t) * part.series for part in lit]
        no_load_v = math.fsum(p * v for p, v in zip(powers, unloaded, strict=True)) / sum(powers)
        if len(lit) == 1:
            return powers[0], volts[0], no_load_v
        tried = np.linspace(min(volts), max(volts), 201)
        best = max((float(v) * self.current_a(t, float(v)), float(v)) for v in tried)
        return *best, no_load_v

    def current_a(self, t: int, volts: float) -> float:
        """Current of all arrays held at a voltage."""
        return math.fsum(
            part.current_a(t, volts / part.series) for part in self.parts if part.lit[t]
        )

    def gives(self, t: int, poles: Poles) -> tuple[float, float]:
        """Power at the bus, and at the array."""
        if not any(part.lit[t] for part in self.parts):
            return 0.0, 0.0
        control, v0 = self.controller, poles.v0
        if control.pwm:
            power = self._tied(t, poles)
            return power, power
        offered, best_v, no_load_v = self._best(t)
        if no_load_v < v0 + control.headroom_v:
            return 0.0, offered
        useful = offered * control.part
        risen_v = v0 + poles.charge_ohm * max(useful - poles.load_w, 0.0) / v0
        volts = max(min(risen_v, poles.target_v), v0)
        needed_v = volts + min(control.headroom_v, 1.0)
        if best_v < needed_v:
            useful = needed_v * self.current_a(t, needed_v) * control.part
        return min(useful, control.rated_a * volts, control.limit_w), offered

    def _tied(self, t: int, poles: Poles) -> float:
        """Power of an array tied to the bank by a PWM controller."""
        rated_a, v0 = self.controller.rated_a, poles.v0

        def excess(volts: float) -> float:
            net = min(self.current_a(t, volts), rated_a) - poles.load_w / volts
            return volts - v0 - (poles.charge_ohm if net > 0.0 else poles.out_ohm) * net

        lowest = v0 - 1.5 * poles.out_ohm * poles.load_w / v0
        highest = min(max(poles.target_v, v0), v0 + poles.charge_ohm * rated_a)
        volts = zero(excess, lowest, highest)
        return volts * min(self.current_a(t, volts), rated_a)

"""Bounds that hold for every system of a space: what it must at least have and cost.

Everything is worked out on the darkest years alone, each begun with a full store, which
is a bound as well. See :mod:`sunpantry.sizing.relaxed` for the ideal store.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from sunpantry.design.nameplates import PanelNameplate
from sunpantry.parts.system import Array, Bank, System
from sunpantry.physics.ageing import arrhenius_factor, battery_life
from sunpantry.physics.battery import BatteryModel
from sunpantry.physics.battery_step import capacity_out_of_reach
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
)
from sunpantry.simulate.second_source import SecondSource
from sunpantry.simulate.setting import Setting, derating
from sunpantry.sizing import relaxed as rx
from sunpantry.sizing.promise import Demanded
from sunpantry.timegrid import FloatArray, IntArray

# Energy that may be missing where nothing may: rounding [Wh].
ROUNDING_WH = 1e-3
# A switch-off by voltage is noticed at the end of the step after the one that caused it,
# and losses in the bank come on top of the loads.
STEPS_UNNOTICED = 2.4
LOSSES_ON_TOP = 1.2
# Currents of an array under PWM are looked at at so many battery voltages.
PWM_POINTS = 17
# A bank being charged, volts for each 12 V of its class: common practice, no source.
MIDDLE_V_AT_12V = 13.0


@dataclass(frozen=True)
class Face:
    """A panel and the way it faces."""

    panel: PanelNameplate
    tilt_deg: tuple[float, ...]
    azimuth_deg: float


@dataclass(frozen=True, eq=False)
class BusDraw:
    """Least power that each class draws from the bus, and the most of it.

    Parameters
    ----------
    by_class_w : numpy.ndarray, shape (steps, 3)
        Each class with its share of the inverter's losses on top of the classes before [W].
    most_w : numpy.ndarray, shape (3,)
        Largest of each [W].
    most_together_w : float
        Largest sum [W].
    idle_w : float
        Drawn by converters all the time [W].
    should_above, may_above : float
        State of charge below which each class is switched off; negative: never [-].
    """

    by_class_w: FloatArray
    most_w: FloatArray
    most_together_w: float
    idle_w: float
    should_above: float
    may_above: float


def bus_draw(loads: BusLoads, system: System) -> BusDraw:
    """Sum up what the loads of a system draw at least."""
    row = np.zeros(at.DESIGN_COLUMNS)
    inverter_columns(row, system)
    loads.fill_columns(row, system)
    steps = loads.steps.reshape(-1, loads.steps_per_year, at.LOAD_COLUMNS).min(axis=0)
    ac = np.cumsum(steps[:, at.L_AC : at.L_AC + at.CLASSES], axis=1)
    running = ac > 0.0
    losses = running * row[at.INVERTER_P0] + row[at.INVERTER_K1] * ac + row[at.INVERTER_K2] * ac**2
    losses += ~running * (steps[:, [at.L_IDLE]] > 0.0) * row[at.INVERTER_IDLE_W]
    together = np.cumsum(steps[:, at.L_DC : at.L_DC + at.CLASSES], axis=1) + ac + losses
    by_class = np.diff(together, axis=1, prepend=0.0)
    by_class = np.maximum(by_class, 0.0)
    return BusDraw(
        by_class_w=by_class,
        most_w=by_class.max(axis=0),
        most_together_w=float(by_class.sum(axis=1).max()),
        idle_w=loads.idle_w,
        should_above=float(row[at.SHED_SHOULD]),
        may_above=float(row[at.SHED_MAY]),
    )


@dataclass(eq=False)
class Bounds:
    """Bounds on the dark years of a setting.

    Parameters
    ----------
    setting : Setting
        The dark years alone.
    whole : Setting
        All years that the promise is the mean of.
    spans : numpy.ndarray, shape (n, 2)
        Parts of the year that are looked at: first step and end of each.
    capacity_left : float
        Share of the battery's capacity left [-].
    second_source : SecondSource or None
        What helps out.
    """

    setting: Setting
    whole: Setting
    spans: IntArray
    capacity_left: float
    second_source: SecondSource | None = None
    _rows: dict[object, int] = field(default_factory=dict)
    _power: list[FloatArray] = field(default_factory=list)
    _stacked: FloatArray | None = None
    _draws: dict[object, int] = field(default_factory=dict)
    _draw_list: list[BusDraw] = field(default_factory=list)
    _housings: dict[str, int] = field(default_factory=dict)
    _scarce_wh: dict[int, float] = field(default_factory=dict)
    _warmths: dict[str, float] = field(default_factory=dict)
    _dark_wh: dict[tuple[int, float], FloatArray] = field(default_factory=dict)

    # --- what the sun gives at most --------------------------------------------------------

    def _row(self, key: object, power_w: FloatArray) -> int:
        self._rows[key] = len(self._power)
        self._power.append(power_w.astype(np.float32))
        self._stacked = None
        return self._rows[key]

    def panel_row(self, panel: PanelNameplate, tilt: tuple[float, ...], azimuth: float) -> int:
        """Row of the maximum power of one panel alone."""
        key = ("panel", panel, tilt, azimuth)
        if key in self._rows:
            return self._rows[key]
        alone = System(0.0, (Array(panel, 1, 1, tilt, azimuth),), None, None)
        return self._row(key, self.setting.source(alone)[0])

    def pwm_row(self, system: System, array: Array, low_v: float, high_v: float) -> int:
        """Row of the most that one string gives at any battery voltage in a span."""
        key = ("pwm", array.panel, array.series, array.tilt_deg, array.azimuth_deg)
        key = (*key, system.bank_v, low_v, high_v)
        if key in self._rows:
            return self._rows[key]
        string = replace(array, parallel=1)
        amps = self.setting.source(replace(system, arrays=(string,))).astype(np.float64)
        scale = system.bank_v / 12.0
        most = np.zeros(amps.shape[1])
        for volts in np.unique(np.linspace(low_v, high_v, PWM_POINTS)):
            x = (volts - 11.0 * scale) / (2.0 * scale)
            bend = amps[2] - 2.0 * amps[1] + amps[0]
            most = np.maximum(most, volts * (amps[0] + x * (amps[1] - amps[0] + 0.5 * (x - 1) * bend)))
        # Between two of the voltages looked at, the curve lies a little higher.
        return self._row(key, most * 1.002)

    def envelope_row(self, faces: tuple[Face, ...]) -> int:
        """Row of the best light for each rated watt among some panels, hour by hour."""
        key = ("best", faces)
        if key in self._rows:
            return self._rows[key]
        best = np.zeros(0)
        for face in faces:
            row = self.panel_row(face.panel, face.tilt_deg, face.azimuth_deg)
            mine = self._power[row] / face.panel.power_w
            best = np.maximum(best, mine) if best.size else mine
        return self._row(key, best)

    # --- what the loads draw at least ----------------------------------------------------

    def draw_row(self, system: System) -> int:
        """Row of what the loads draw from the bus of a system."""
        key = (self.setting.loads_key(system), system.inverter)
        if key not in self._draws:
            self._draws[key] = len(self._draw_list)
            self._draw_list.append(bus_draw(self.setting.loads(system), system))
        return self._draws[key]

    def least_draw_row(self, systems: Sequence[System]) -> int:
        """Row of the least that any of some ways of feeding the loads draws."""
        rows = tuple(self.draw_row(system) for system in systems)
        key = ("least", rows)
        if key not in self._draws:
            draws = [self._draw_list[row] for row in rows]
            self._draws[key] = len(self._draw_list)
            self._draw_list.append(
                BusDraw(
                    by_class_w=np.min([one.by_class_w for one in draws], axis=0),
                    most_w=np.max([one.most_w for one in draws], axis=0),
                    most_together_w=max(one.most_together_w for one in draws),
                    idle_w=min(one.idle_w for one in draws),
                    should_above=min(one.should_above for one in draws),
                    may_above=min(one.may_above for one in draws),
                )
            )
        return self._draws[key]

    def mean_draws_w(self, systems: Sequence[System]) -> list[float]:
        """Mean power that the loads of each system draw [W]."""
        draws = [self._draw_list[self.draw_row(system)] for system in systems]
        return [float(one.by_class_w.sum(axis=1).mean()) + one.idle_w for one in draws]

    def no_easier_feeds(self, systems: Sequence[System]) -> list[list[int]]:
        """For each way of feeding the loads, those that draw no less in any hour.

        Parameters
        ----------
        systems : sequence of System
            One for each way.
        """
        draws = [self._draw_list[self.draw_row(system)] for system in systems]
        cut_v = [0.0 if one.inverter is None else one.inverter.cutoff_v for one in systems]
        return [
            [
                other
                for other, theirs in enumerate(draws)
                if theirs.idle_w >= mine.idle_w
                and cut_v[other] >= cut_v[number]
                and bool(np.all(theirs.by_class_w >= mine.by_class_w - 1e-12))
            ]
            for number, mine in enumerate(draws)
        ]

    def budgets_wh(self, draw: BusDraw, demanded: Demanded) -> FloatArray:
        """Energy that may stay unserved by each of the three stores, all years [Wh]."""
        limits = np.array(demanded.class_limits_h) * self.whole.years
        each = np.where(draw.most_w > 0.0, limits * draw.most_w, 0.0)
        if self._firm(draw, demanded):
            sums = np.array([0.0, each[1], each[1] + each[2]])
        else:
            sums = np.cumsum(each)
        sums = np.minimum(sums, demanded.any_h * self.whole.years * draw.most_together_w)
        return np.asarray(sums * (1.0 + 1e-9) + ROUNDING_WH)

    @staticmethod
    def _firm(draw: BusDraw, demanded: Demanded) -> bool:
        return demanded.class_limits_h[0] == 0.0 or draw.most_w[0] == 0.0

    # --- cases for the ideal store --------------------------------------------------------

    def case(
        self, system: System, demanded: Demanded, *, draw: int | None = None
    ) -> FloatArray:
        """Row of one system for the ideal store, without its array.

        Parameters
        ----------
        system : System
            The system.
        demanded : Demanded
            The promise.
        draw : int, optional
            Row of what the loads draw, in place of the system's own.
        """
        drawn = self.draw_row(system) if draw is None else draw
        row = np.zeros(at.DESIGN_COLUMNS)
        model = None
        if system.bank is None:
            no_bank_columns(row, system.bank_v)
        else:
            model = bank_model(system.bank, capacity_left=self.capacity_left)
            battery_columns(row, model, step_h=self.setting.step_h)
        if system.controller is not None and model is not None:
            controller_columns(
                row,
                system.controller,
                count=system.controller_count,
                bank_v=system.bank_v,
                model=model,
            )
        elif system.arrays:
            panels = sum(array.count for array in system.arrays)
            regulated_columns(row, system.arrays[0].panel, model, panels=panels)
        curve = curve_of(model, system.bank_v)
        draws = self._draw_list[drawn]
        housing = system.bank.housing if system.bank is not None else "shed"
        cells_c = self.setting.cells_c(housing)
        case = np.zeros(rx.C_COLUMNS)
        floor_wh = self._floor_wh(row, curve, draws, float(cells_c.max()))
        _, high_v = charging_span_v(row, curve, float(cells_c.min()))
        case[rx.C_FULL] = row[at.FULL_WH] - floor_wh
        case[rx.C_ETA] = row[at.COULOMBIC]
        case[rx.C_CONVERSION] = row[at.CONVERSION]
        case[rx.C_CLIP_W] = row[at.RATED_A] * high_v
        if row[at.PANEL_LIMIT_W] > 0.0:
            case[rx.C_CLIP_W] = min(case[rx.C_CLIP_W], row[at.PANEL_LIMIT_W])
        case[rx.C_OWN_W] = (row[at.OWN_A] + draws.idle_w / system.bank_v) * curve[0]
        case[rx.C_MOST_IN_W] = row[at.MAX_CHARGE_A] * curve[-1] * row[at.COULOMBIC]
        case[rx.C_COLD_IN_W] = row[at.COLD_CHARGE_A] * curve[-1] * row[at.COULOMBIC]
        case[rx.C_MIN_C] = row[at.MIN_CHARGE_C]
        case[rx.C_HEATED] = 1.0 if row[at.HEATER_W] > 0.0 else 0.0
        case[rx.C_LOADS] = drawn
        case[rx.C_HOUSING] = self._housings.setdefault(housing, len(self._housings))
        room_wh = floor_wh + LOSSES_ON_TOP * draws.most_together_w * self.setting.step_h
        case[rx.C_SHOULD_ABOVE] = max(draws.should_above * row[at.FULL_WH] - room_wh, 0.0)
        case[rx.C_MAY_ABOVE] = max(
            draws.may_above * row[at.FULL_WH] - room_wh, case[rx.C_SHOULD_ABOVE]
        )
        case[rx.C_FIRM] = 1.0 if self._firm(draws, demanded) else 0.0
        case[rx.C_BUDGET : rx.C_BUDGET + rx.STORES] = self.budgets_wh(draws, demanded)
        if self.second_source is not None:
            case[rx.C_EXTRA_W] = self.second_source.power_w
        return case

    def _floor_wh(
        self, row: FloatArray, curve: FloatArray, draw: BusDraw, warmest_c: float
    ) -> float:
        """Content below which the loads are surely switched off [Wh].

        Both wells stand at least as high as the head at which the open-circuit voltage
        itself is below the disconnect voltage, less what is drawn before it is noticed.
        """
        heads = np.linspace(0.0, 1.0, curve.size)
        below = np.interp(row[at.DISCONNECT_V], curve, heads, left=0.0)
        kept_back = capacity_out_of_reach(row[at.COLD_CAPACITY], warmest_c)
        share = kept_back + below * (1.0 - kept_back)
        unnoticed = STEPS_UNNOTICED * draw.most_together_w * self.setting.step_h
        return float(max(share * row[at.FULL_WH] - unnoticed, 0.0))

    def parts(self, system: System, *, pwm_exact: bool = False) -> tuple[tuple[int, float], ...]:
        """Power row of each array of a system, and how many times it counts.

        Parameters
        ----------
        system : System
            The system.
        pwm_exact : bool
            Look at what panels give at the voltage of the bank under PWM; without it they
            are taken at their maximum power, which is quicker and a bound as well.
        """
        one = system.controller
        if not pwm_exact or one is None or one.kind != "pwm" or system.bank is None:
            return tuple(self._at_maximum(array) for array in system.arrays)
        row = np.zeros(at.DESIGN_COLUMNS)
        model = bank_model(system.bank)
        controller_columns(row, one, count=1, bank_v=system.bank_v, model=model)
        coldest_c = float(self.setting.cells_c(system.bank.housing).min())
        low_v, high_v = charging_span_v(row, curve_of(model, system.bank_v), coldest_c)
        # Rounded outwards, so that few spans are told apart.
        span_v = (math.floor(low_v), math.ceil(2.0 * high_v) / 2.0)
        return tuple(self._under_pwm(system, array, *span_v) for array in system.arrays)

    def middle_parts(self, system: System) -> tuple[tuple[int, float], ...]:
        """Like :meth:`parts`, under PWM at one middling voltage of the bank: no bound."""
        one = system.controller
        if one is None or one.kind != "pwm":
            return tuple(self._at_maximum(array) for array in system.arrays)
        middle_v = MIDDLE_V_AT_12V * system.bank_v / 12.0
        return tuple(
            self._under_pwm(system, array, middle_v, middle_v) for array in system.arrays
        )

    def scarce_wh_per_day(self, row: int) -> float:
        """Mean energy of a power row in the scarce parts of the dark years [Wh/d]."""
        if row not in self._scarce_wh:
            setting = self.setting
            inside = np.zeros(setting.sun_place.size, dtype=bool)
            for first, end in self.spans:
                inside[first:end] = True
            power = self._power[row].reshape(setting.years, -1)
            lit = power[:, setting.sun_place[inside & (setting.sun_place >= 0)]]
            self._scarce_wh[row] = float(lit.sum() / setting.years / inside.sum() * 24.0)
        return self._scarce_wh[row]

    def broken(
        self, cases: Sequence[FloatArray], parts: Sequence[tuple[tuple[int, float], ...]]
    ) -> FloatArray:
        """Which systems surely break the promise: 1 where they do, shape (n,).

        Parameters
        ----------
        cases, parts : sequence
            From :meth:`case` and :meth:`parts`, one for each system.
        """
        found = np.zeros(len(cases))
        if not len(cases):
            return found
        most = max(len(each) for each in parts)
        strings = np.zeros((len(cases), most))
        rows = np.zeros((len(cases), most), dtype=np.int64)
        for number, each in enumerate(parts):
            for place, (row, count) in enumerate(each):
                rows[number, place], strings[number, place] = row, count
        rx.breaking(np.stack(cases), strings, rows, *self._shared(), found)
        return found

    def _at_maximum(self, array: Array) -> tuple[int, float]:
        """Row of the maximum power of an array's panel and how many times it counts."""
        alone = replace(array, series=1, parallel=1)
        row = self.panel_row(array.panel, array.tilt_deg, array.azimuth_deg)
        return row, array.count * derating(array) / derating(alone)

    def _under_pwm(
        self, system: System, array: Array, low_v: float, high_v: float
    ) -> tuple[int, float]:
        """Row of a string's power under PWM and how many times it counts."""
        string = replace(array, parallel=1)
        row = self.pwm_row(system, array, low_v, high_v)
        return row, array.parallel * derating(array) / derating(string)

    @staticmethod
    def easiest(cases: Sequence[FloatArray]) -> FloatArray:
        """The best of several cases of one bank, without losses or limits of the controller."""
        stacked = np.stack(cases)
        easiest: FloatArray = stacked.max(axis=0)
        for column in (rx.C_OWN_W, rx.C_SHOULD_ABOVE, rx.C_MAY_ABOVE):
            easiest[column] = stacked[:, column].min()
        easiest[rx.C_CLIP_W] = np.inf
        easiest[rx.C_CONVERSION] = 1.0
        return easiest

    def least_power_w(
        self,
        cases: Sequence[FloatArray],
        *,
        envelope: int,
        guess_w: float,
        most_w: FloatArray,
    ) -> FloatArray:
        """Rated power at or below which no array saves a bank, whatever its controller [W].

        Parameters
        ----------
        cases : sequence
            From :meth:`easiest`, one for each bank.
        envelope : int
            From :meth:`envelope_row`.
        guess_w : float
            Where to begin [W].
        most_w : numpy.ndarray
            Largest array power there is for each [W].
        """
        found = np.zeros(len(cases))
        rx.least_power(np.stack(cases), envelope, guess_w, most_w, *self._shared(), found)
        return found

    def _shared(
        self,
    ) -> tuple[FloatArray, IntArray, FloatArray, FloatArray, IntArray, int, float]:
        if self._stacked is None:
            self._stacked = np.stack(self._power)
        setting = self.setting
        cells = np.stack([setting.cells_c(housing) for housing in self._housings])
        loads = np.stack([draw.by_class_w.T for draw in self._draw_list])
        place, spans = setting.sun_place, self.spans
        return self._stacked, place, cells, loads, spans, setting.years, setting.step_h

    # --- how long a battery can last ----------------------------------------------------------

    def longest_life_years(
        self, bank: Bank, draw: int, case: FloatArray, demanded: Demanded
    ) -> float:
        """Life of the batteries that no array can better [years].

        What is drawn in the dark hours of a day comes out of the bank, so that the day's
        swing is at least as deep; what may stay unserved in a year is taken off.

        Parameters
        ----------
        bank : Bank
            The bank.
        draw : int
            Row of what the loads draw.
        case : numpy.ndarray
            From :meth:`easiest`.
        demanded : Demanded
            The promise.
        """
        wear = 0.0
        if self.second_source is None:
            model = bank_model(bank, capacity_left=self.capacity_left)
            wear = self._least_wear(model, draw, float(case[rx.C_OWN_W]), demanded)
        life = battery_life(
            bank_model(bank),
            wear_per_year=wear,
            low_h_per_year=0.0,
            unfilled_h_per_year=0.0,
            warmth=self._warmth(bank.housing),
        )
        return life.years

    def _warmth(self, housing: str) -> float:
        if housing not in self._warmths:
            self._warmths[housing] = arrhenius_factor(self.whole.cells_c(housing))
        return self._warmths[housing]

    def _least_wear(
        self, model: BatteryModel, draw: int, own_w: float, demanded: Demanded
    ) -> float:
        draws = self._draw_list[draw]
        asking = draws.most_w > 0.0
        limits_h = np.array(demanded.class_limits_h)[asking]
        allowed_wh = float((limits_h * draws.most_w[asking]).sum())
        if not np.isfinite(allowed_wh):
            return 0.0
        row = np.zeros(at.DESIGN_COLUMNS)
        battery_columns(row, model, step_h=self.setting.step_h)
        power, per_cycle = row[at.WEAR_EXPONENT], row[at.WEAR_PER_CYCLE]
        depth = np.minimum(self._dark_energy_wh(draw, own_w) / row[at.FULL_WH], 1.0)
        wear = float(per_cycle * (depth**power).sum())
        steepest = per_cycle * power * float(depth.max()) ** (power - 1.0)
        return max(wear - steepest * allowed_wh / row[at.FULL_WH], 0.0)

    def _dark_energy_wh(self, draw: int, own_w: float) -> FloatArray:
        """Energy drawn in the longest dark stretch of each day of the grid, (365,) [Wh]."""
        key = (draw, own_w)
        if key not in self._dark_wh:
            dark = (self.setting.sun_place < 0).reshape(365, -1)
            power_w = self._draw_list[draw].by_class_w.sum(axis=1) + own_w
            energy = power_w.reshape(dark.shape) * self.setting.step_h
            stretch = np.zeros(365)
            longest = np.zeros(365)
            for step in range(dark.shape[1]):
                stretch = np.where(dark[:, step], stretch + energy[:, step], 0.0)
                longest = np.maximum(longest, stretch)
            self._dark_wh[key] = longest
        return self._dark_wh[key]


def charging_span_v(row: FloatArray, curve: FloatArray, coldest_c: float) -> tuple[float, float]:
    """Lowest and highest voltage of the bank while it is charged [V]."""
    target = max(row[at.ABSORB_V], row[at.FLOAT_V], row[at.EQUALISE_V])
    target += max(row[at.COMP_V_PER_K] * (coldest_c - 25.0), 0.0)
    return float(curve[0]), float(max(target, curve[-1]))

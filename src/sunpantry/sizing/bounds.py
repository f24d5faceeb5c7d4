"""Bounds that hold for every system of a space: what it must at least have and cost.

Everything is worked out on the darkest years alone, each begun with a full store, which
is a bound as well. See :mod:`sunpantry.sizing.relaxed` for the ideal store.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from sunpantry.parts.system import System
from sunpantry.physics.battery_step import capacity_out_of_reach
from sunpantry.simulate import layout as at
from sunpantry.simulate.columns import (
    bank_model,
    battery_columns,
    controller_columns,
    curve_of,
    no_bank_columns,
    regulated_columns,
)
from sunpantry.simulate.second_source import SecondSource
from sunpantry.simulate.setting import Setting
from sunpantry.sizing import relaxed as rx
from sunpantry.sizing.draws import BusDraw, Draws
from sunpantry.sizing.light import Light, charging_span_v
from sunpantry.sizing.longest_life import LongestLife
from sunpantry.sizing.promise import Demanded
from sunpantry.timegrid import FloatArray, IntArray

# Energy that may be missing where nothing may: rounding [Wh].
ROUNDING_WH = 1e-3
# A switch-off by voltage is noticed at the end of the step after the one that caused it,
# and losses in the bank come on top of the loads.
STEPS_UNNOTICED = 2.4
LOSSES_ON_TOP = 1.2


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
    light: Light = field(init=False)
    draws: Draws = field(init=False)
    longest_life: LongestLife = field(init=False)
    _housings: dict[str, int] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.light = Light(self.setting, self.spans)
        self.draws = Draws(self.setting)
        self.longest_life = LongestLife(self.whole, self.draws, self.capacity_left)

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

    def case(self, system: System, demanded: Demanded, *, draw: int | None = None) -> FloatArray:
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
        drawn = self.draws.row(system) if draw is None else draw
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
        draws = self.draws.rows[drawn]
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
        case[rx.C_ASKS : rx.C_ASKS + rx.STORES] = draws.most_w > 0.0
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

    def broken(
        self, cases: Sequence[FloatArray], parts: Sequence[tuple[tuple[int, float], ...]]
    ) -> FloatArray:
        """Which systems surely break the promise: 1 where they do, shape (n,).

        Parameters
        ----------
        cases, parts : sequence
            From :meth:`case` and :meth:`Light.parts`, one for each system.
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
        guess_w: FloatArray,
        most_w: FloatArray,
    ) -> FloatArray:
        """Rated power at or below which no array saves a bank, whatever its controller [W].

        Parameters
        ----------
        cases : sequence
            From :meth:`easiest`, one for each bank.
        envelope : int
            From :meth:`Light.envelope_row`.
        guess_w : numpy.ndarray
            Where to begin with each; without influence but on the time it takes [W].
        most_w : numpy.ndarray
            Largest array power there is for each [W].
        """
        found = np.zeros(len(cases))
        rx.least_power(np.stack(cases), envelope, guess_w, most_w, *self._shared(), found)
        return found

    def _shared(
        self,
    ) -> tuple[FloatArray, IntArray, FloatArray, FloatArray, IntArray, int, float]:
        setting = self.setting
        cells = np.stack([setting.cells_c(housing) for housing in self._housings])
        loads = np.stack([draw.by_class_w.T for draw in self.draws.rows])
        place, spans = setting.sun_place, self.light.spans
        return self.light.stacked(), place, cells, loads, spans, setting.years, setting.step_h

"""What the sun gives at most in the dark years: one row of power for each kind of string."""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from sunpantry.design.nameplates import PanelNameplate
from sunpantry.parts.system import Array, System
from sunpantry.simulate import layout as at
from sunpantry.simulate.columns import bank_model, controller_columns, curve_of
from sunpantry.simulate.setting import Setting, derating
from sunpantry.timegrid import FloatArray, IntArray

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


@dataclass(eq=False)
class Light:
    """Rows of power in the dark years.

    Parameters
    ----------
    setting : Setting
        The dark years alone.
    spans : numpy.ndarray, shape (n, 2)
        Scarce parts of the year: first step and end of each.
    """

    setting: Setting
    spans: IntArray
    _rows: dict[object, int] = field(default_factory=dict)
    _power: list[FloatArray] = field(default_factory=list)
    _stacked: FloatArray | None = None
    _scarce_wh: dict[int, float] = field(default_factory=dict)

    def stacked(self) -> FloatArray:
        """All rows, shape (rows, years * lit steps), float32 [W]."""
        if self._stacked is None:
            self._stacked = np.stack(self._power)
            self._power = list(self._stacked)  # the same memory, not a second copy
        return self._stacked

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
        kind = ("pwm", array.panel, array.series, array.tilt_deg, array.azimuth_deg)
        key = (*kind, array.shaded_groups, system.bank_v, low_v, high_v)
        if key in self._rows:
            return self._rows[key]
        string = replace(array, parallel=1)
        amps = self.setting.source(replace(system, arrays=(string,))).astype(np.float64)
        scale = system.bank_v / 12.0
        most = np.zeros(amps.shape[1])
        for volts in np.unique(np.linspace(low_v, high_v, PWM_POINTS)):
            x = (volts - 11.0 * scale) / (2.0 * scale)
            bend = amps[2] - 2.0 * amps[1] + amps[0]
            most = np.maximum(
                most, volts * (amps[0] + x * (amps[1] - amps[0] + 0.5 * (x - 1) * bend))
            )
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
        return tuple(self._under_pwm(system, array, middle_v, middle_v) for array in system.arrays)

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


def charging_span_v(row: FloatArray, curve: FloatArray, coldest_c: float) -> tuple[float, float]:
    """Lowest and highest voltage of the bank while it is charged [V]."""
    target = max(row[at.ABSORB_V], row[at.FLOAT_V], row[at.EQUALISE_V])
    target += max(row[at.COMP_V_PER_K] * (coldest_c - 25.0), 0.0)
    return float(curve[0]), float(max(target, curve[-1]))

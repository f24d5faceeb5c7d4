"""The referee's panel: five parameters from the label, currents by pvlib's own functions."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
import pvlib
from numpy.typing import NDArray

from sunpantry.design.nameplates import PanelNameplate

Floats = NDArray[np.float64]

STC_K = 298.15
GAP_EV = 1.121
GAP_SLOPE = -0.0002677
BOLTZMANN_EV = 8.617333262e-5


def zero(rising: Callable[[float], float], low: float, high: float) -> float:
    """Zero of a rising function, by false position with halved weights; else the nearer end."""
    at_low, at_high = rising(low), rising(high)
    if at_low >= 0.0:
        return low
    if at_high <= 0.0:
        return high
    middle, side = low, 0
    for _ in range(100):
        middle = (low * at_high - high * at_low) / (at_high - at_low)
        value = rising(middle)
        if abs(value) < 1e-10 or high - low < 1e-12:
            break
        if value < 0.0:
            low, at_low = middle, value
            at_high /= 2.0 if side < 0 else 1.0
            side = -1
        else:
            high, at_high = middle, value
            at_low /= 2.0 if side > 0 else 1.0
            side = 1
    return middle


@dataclass(frozen=True)
class Diode:
    """Single-diode parameters of one panel at 1000 W/m² and 25 °C."""

    light_a: float
    leak_a: float
    series_ohm: float
    shunt_s: float
    soft_v: float
    alpha_a_k: float

    def there(self, light: Floats, warmth: Floats) -> tuple[Floats, ...]:
        """Photocurrent, saturation current, series and shunt resistance, nNsVth."""
        found = pvlib.pvsystem.calcparams_desoto(
            light,
            warmth,
            alpha_sc=self.alpha_a_k,
            a_ref=self.soft_v,
            I_L_ref=self.light_a,
            I_o_ref=self.leak_a,
            R_sh_ref=1.0 / self.shunt_s,
            R_s=self.series_ohm,
            EgRef=GAP_EV,
            dEgdT=GAP_SLOPE,
        )
        return tuple(np.asarray(one, dtype=np.float64) for one in found)

    def best(self, light: Floats, warmth: Floats) -> tuple[Floats, Floats]:
        """Maximum power [W] and its voltage [V]."""
        there = self.there(light, warmth)
        low = np.zeros(len(light))
        high = there[4] * np.log1p(there[0] / there[1])
        # pvlib's own search fails in the faintest light: halve where dP/dV changes sign.
        found = pvlib.singlediode.bishop88(low, *there, gradients=True)
        for _ in range(60):
            inner = 0.5 * (low + high)
            found = pvlib.singlediode.bishop88(inner, *there, gradients=True)
            rising = found[6] > 0.0
            low, high = np.where(rising, inner, low), np.where(rising, high, inner)
        return np.asarray(found[2]), np.asarray(found[1])


@dataclass
class Condition:
    """One panel in one step.

    Parameters
    ----------
    parameters : tuple of float
        Photocurrent, saturation current, series and shunt resistance, nNsVth.
    """

    parameters: tuple[float, ...]
    highest_v: float = field(init=False)

    def __post_init__(self) -> None:
        light_a, leak_a, _, _, soft_v = self.parameters
        self.highest_v = soft_v * math.log1p(light_a / leak_a)

    def point(self, inner_v: float) -> tuple[float, float]:
        """Current and terminal voltage for a voltage inside the series resistance."""
        current, voltage, _ = pvlib.singlediode.bishop88(inner_v, *self.parameters)
        return float(current), float(voltage)

    def no_load_v(self) -> float:
        """Voltage at no load."""
        return self.point(zero(lambda v: -self.point(v)[0], 0.0, self.highest_v))[1]

    def current_a(self, volts: float) -> float:
        """Current when held at a voltage; none flows backwards."""
        if self.point(volts)[0] <= 0.0:
            return 0.0
        highest = volts + self.parameters[0] * self.parameters[2]
        inner = zero(lambda v: self.point(v)[1] - volts, volts, highest)
        return max(self.point(inner)[0], 0.0)


def _solve(equations: Callable[[Floats], Floats], start: Floats) -> Floats:
    """Newton's method with a numerical Jacobian and halved steps where it does not improve."""
    here, lack = start.copy(), equations(start)
    for _ in range(60):
        jacobian = np.empty((len(here), len(here)))
        for k in range(len(here)):
            moved = here.copy()
            moved[k] += 1e-7
            jacobian[:, k] = (equations(moved) - lack) / 1e-7
        step = np.linalg.solve(jacobian, -lack)
        for halving in range(20):
            there = here + 0.5**halving * step
            new = equations(there)
            if np.all(np.isfinite(new)) and np.abs(new).max() < np.abs(lack).max():
                break
        else:
            break
        here, lack = there, new
        if np.abs(lack).max() < 1e-13:
            break
    assert np.abs(lack).max() < 1e-9, "the label lies on no single-diode curve"
    return here


def _through_label(plate: PanelNameplate, turned: float) -> Diode:
    """Curve through the four points with both coefficients turned by a share."""
    voc, isc, vmp, imp = plate.voc_v, plate.isc_a, plate.vmp_v, plate.imp_a
    alpha = (1.0 - turned) * plate.temp_coeff_isc_pct_per_k / 100.0 * isc
    beta = (1.0 + turned) * plate.temp_coeff_voc_pct_per_k / 100.0 * voc
    usual_a = (voc - beta * STC_K) / (3.0 + 1.08 * GAP_EV / (BOLTZMANN_EV * STC_K))
    hot = STC_K + 2.0
    gap = GAP_EV * (1.0 + GAP_SLOPE * 2.0)
    growth = (hot / STC_K) ** 3 * math.exp((GAP_EV / STC_K - gap / hot) / BOLTZMANN_EV)

    # Unknowns, all near one: light current, ln(saturation current), Rs, 1/Rsh, a.
    def spread(x: Floats) -> tuple[float, float, float, float, float]:
        a = float(x[4]) * usual_a
        io = isc * math.exp(-voc / a + float(x[1]))
        rs, gsh = 0.01 * float(x[2]) * voc / isc, 0.01 * float(x[3]) * isc / voc
        return float(x[0]) * isc, io, rs, gsh, a

    def equations(x: Floats) -> Floats:
        il, io, rs, gsh, a = spread(x)

        def excess(v: float, i: float) -> float:
            return il - io * math.expm1((v + i * rs) / a) - (v + i * rs) * gsh - i

        steep = io / a * math.exp((vmp + imp * rs) / a) + gsh
        v_hot = voc + 2.0 * beta
        warm = il + 2.0 * alpha - io * growth * math.expm1(v_hot / (a * hot / STC_K)) - v_hot * gsh
        flat = imp - vmp * steep / (1.0 + rs * steep)
        return np.array([excess(0.0, isc), excess(voc, 0.0), excess(vmp, imp), flat, warm]) / isc

    return Diode(*spread(_solve(equations, np.array([1.0, 0.0, 3.0, 0.5, 1.0]))), alpha_a_k=alpha)


def _power_slope_pct(diode: Diode) -> float:
    power, _ = diode.best(np.full(3, 1000.0), np.array([-10.0, 25.0, 50.0]))
    return float((power[2] - power[0]) / (60.0 * power[1]) * 100.0)


def diode_of(plate: PanelNameplate) -> Diode:
    """Parameters of a panel, its power coefficient met too (secant method)."""
    wanted = plate.temp_coeff_power_pct_per_k
    low, high = 0.0, 0.05
    at_low = _power_slope_pct(_through_label(plate, low)) - wanted
    for _ in range(20):
        diode = _through_label(plate, high)
        at_high = _power_slope_pct(diode) - wanted
        if abs(at_high) < 1e-7:
            return diode
        low, high, at_low = high, high - at_high * (high - low) / (at_high - at_low), at_high
    raise AssertionError(f"{plate.name}: the power coefficient cannot be met")

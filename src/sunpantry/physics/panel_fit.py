"""From the figures on the back of a panel to the curve it follows.

A label gives four points of the curve at standard test conditions (open circuit, short
circuit, voltage and current at maximum power) and three temperature coefficients. They
decide the five parameters of the single-diode model [1]_: for a trial ideality and
series resistance the other three follow from linear equations; the series resistance
makes the slope of the power vanish at the labelled point; the ideality gives the
voltage coefficient. As in [2]_ the coefficients of current and voltage are then turned
against each other by one percentage until the power coefficient is met as well.

How good: over the matrix of IEC 61853-1 the power agrees with the open CEC list, made by
the same method, to 0.01 % (median of 21 291 modules; 0.02 % at the 95th percentile).
Against 381 crystalline modules measured outdoors (Sandia list) the median error is
2.9 %; the model promises about 1.5 % too much on the whole and 4 % at 200 W/m².

Validity: crystalline panels, -20 to 75 °C and 50 to 1100 W/m².

Departures. One label in five lies on no curve with its own voltage coefficient (it would
need a negative resistance, mostly because Isc is printed too near Imp): then the shunt
resistance takes a usual value, the short-circuit current comes out up to a few percent
above the label, and ``label_error_pct`` says so. Where that fails too, the series
resistance is zero and the band gap carries the voltage coefficient. Where the power
coefficient cannot be reached, the adjustment stops at the nearest and
``power_coeff_error_pct_per_k`` says so.

References
----------
.. [1] W. De Soto, S. A. Klein, W. A. Beckman, Solar Energy 80 (2006) 78-88,
   doi:10.1016/j.solener.2005.06.010.
.. [2] A. P. Dobos, "An improved coefficient calculator for the California Energy
   Commission 6 parameter photovoltaic module model", J. Solar Energy Eng. 134 (2012)
   021011, doi:10.1115/1.4005759.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

from sunpantry.errors import PartError
from sunpantry.phrases import phrase
from sunpantry.physics.panel import REFERENCE_K, SILICON_GAP_EV, PanelModel
from sunpantry.physics.panel_label import THERMAL_VOLTAGE_V, PanelLabel, check_label

_USUAL_SHUNT = 100.0  # shunt resistance in units of Voc/Isc where the label leaves it open
_PROBE_K = 2.0  # as in De Soto et al.: the coefficient is met over 2 K
_ADJUST_LIMIT_PCT = 60.0
_ADJUST_STEP_PCT = 10.0
_COLD_C, _HOT_C = -10.0, 50.0  # the power coefficient is the mean slope between these
_WORST_LABEL_ERROR_PCT = 6.0


@dataclass(frozen=True, slots=True)
class _Label:
    """Four points and two coefficients in absolute units [V], [A], [A/K], [V/K]."""

    voc: float
    isc: float
    vmp: float
    imp: float
    cells: int
    alpha: float
    beta: float


def fit_panel(
    *,
    power_w: float,
    voc_v: float,
    isc_a: float,
    vmp_v: float,
    imp_a: float,
    cells: int,
    temp_coeff_voc_pct_per_k: float = -0.33,
    temp_coeff_isc_pct_per_k: float = 0.05,
    temp_coeff_power_pct_per_k: float | None = None,
    power_tolerance_pct: float = 5.0,
    name: str = "panel",
) -> PanelModel:
    """Fit the single-diode model to a label.

    Parameters
    ----------
    power_w : float
        Rated power [W]; checked against ``vmp_v`` × ``imp_a``.
    voc_v, vmp_v : float
        Voltages at open circuit and at maximum power [V].
    isc_a, imp_a : float
        Currents at short circuit and at maximum power [A].
    cells : int
        Cells in series; of a half-cut panel, those of one half [-].
    temp_coeff_voc_pct_per_k, temp_coeff_isc_pct_per_k : float
        Temperature coefficients [%/K].
    temp_coeff_power_pct_per_k : float or None
        Temperature coefficient of the power [%/K]; ``None`` leaves it to follow.
    power_tolerance_pct : float
        How far the rated power may lie from voltage × current [%].
    name : str
        Name of the panel for messages [-].

    Returns
    -------
    PanelModel
        The parameters; ``label_error_pct`` says how well they meet the label.

    Raises
    ------
    PartError
        When the figures contradict each other or no diode could give them; one problem
        for each contradiction.

    Examples
    --------
    >>> model = fit_panel(power_w=270, voc_v=38.3, isc_a=9.43, vmp_v=31.0, imp_a=8.71, cells=60,
    ...                   temp_coeff_voc_pct_per_k=-0.36, temp_coeff_isc_pct_per_k=0.06)
    >>> round(model.rs_ohm, 3)
    0.298

    References
    ----------
    [1]_, [2]_ in the module docstring.
    """
    label = PanelLabel(
        power_w, voc_v, isc_a, vmp_v, imp_a, cells, power_tolerance_pct,
        temp_coeff_voc_pct_per_k, temp_coeff_isc_pct_per_k, temp_coeff_power_pct_per_k,
    )  # fmt: skip
    check_label(label, name=name)
    return _fit(
        _Label(
            voc=voc_v,
            isc=isc_a,
            vmp=vmp_v,
            imp=imp_a,
            cells=cells,
            alpha=temp_coeff_isc_pct_per_k / 100.0 * isc_a,
            beta=temp_coeff_voc_pct_per_k / 100.0 * voc_v,
        ),
        temp_coeff_power_pct_per_k,
        name,
    )


@lru_cache(maxsize=4096)
def _fit(label: _Label, gamma_pct: float | None, name: str) -> PanelModel:
    if gamma_pct is None:
        best = _fit_adjusted(label, 0.0, name)
    else:
        best = _fit_adjusted(label, _adjustment_pct(label, gamma_pct, name), name)
    error = _label_error_pct(best, label)
    if error > _WORST_LABEL_ERROR_PCT:
        raise PartError.one(
            f"{name}.vmp",
            f"{label.vmp:g} V at {label.imp:g} A",
            phrase(
                "no solar cell has such a curve: the nearest misses the label by {error:.1f}%",
                error=error,
            ),
            phrase("read Voc, Isc, Vmp and Imp again from the label"),
        )
    missed = 0.0 if gamma_pct is None else _power_slope_pct(best) - gamma_pct
    return replace(best, label_error_pct=error, power_coeff_error_pct_per_k=missed)


def _adjustment_pct(label: _Label, gamma_pct: float, name: str) -> float:
    """Adjustment that meets the power coefficient, sought outwards from none [%]."""

    def lack(adjust_pct: float) -> float:
        return gamma_pct - _power_slope_pct(_fit_adjusted(label, adjust_pct, name))

    near, at_near = 0.0, lack(0.0)
    outwards = -_ADJUST_STEP_PCT if at_near > 0.0 else _ADJUST_STEP_PCT
    while abs(near) < _ADJUST_LIMIT_PCT:
        far = near + outwards
        at_far = lack(far)
        if at_near * at_far <= 0.0:
            return _root(lack, min(near, far), max(near, far), 1e-4) or 0.0
        if abs(at_far) >= abs(at_near):
            return near
        near, at_near = far, at_far
    return near


def _power_slope_pct(model: PanelModel) -> float:
    """Mean temperature coefficient of the maximum power at 1000 W/m² [%/K]."""
    return (_power(model, _HOT_C) - _power(model, _COLD_C)) / (
        (_HOT_C - _COLD_C) * _power(model, 25.0) / 100.0
    )


def _power(model: PanelModel, temperature_c: float) -> float:
    from sunpantry.physics import panel_kernels

    there = panel_kernels.condition(model.reference(), 1000.0, temperature_c)
    voltage, current = panel_kernels.maximum_power(there)
    return float(voltage * current)


def _label_error_pct(model: PanelModel, label: _Label) -> float:
    from sunpantry.physics import panel_kernels

    there = panel_kernels.condition(model.reference(), 1000.0, 25.0)
    voltage, current = panel_kernels.maximum_power(there)
    return 100.0 * max(
        abs(panel_kernels.current_at(0.0, there) / label.isc - 1.0),
        abs(voltage / label.vmp - 1.0),
        abs(current / label.imp - 1.0),
        abs(voltage * current / (label.vmp * label.imp) - 1.0),
    )


def _fit_adjusted(label: _Label, adjust_pct: float, name: str) -> PanelModel:
    """Fit with both coefficients turned against each other by ``adjust_pct``."""
    turned = replace(
        label,
        alpha=label.alpha * (1.0 - adjust_pct / 100.0),
        beta=label.beta * (1.0 + adjust_pct / 100.0),
    )
    for attempt in (_through_all_points, _with_free_short_circuit, _without_series_resistance):
        model = attempt(turned)
        if model is not None:
            return model
    raise PartError.one(
        f"{name}.vmp",
        f"{label.vmp:g} V at {label.imp:g} A",
        phrase("no solar cell has a curve with these four points and this voltage coefficient"),
        phrase("read Voc, Isc, Vmp, Imp and the coefficients again from the label"),
    )


def _through_all_points(label: _Label) -> PanelModel | None:
    """All conditions met, or ``None`` when that needs a negative resistance."""
    model = _match_voltage_slope(label, None)
    if model is None or model.rs_ohm < 0.0 or model.rsh_ohm < 0.0:
        return None
    return model


def _with_free_short_circuit(label: _Label) -> PanelModel | None:
    """As above, but with a usual shunt resistance and no word on the short circuit."""
    model = _match_voltage_slope(label, label.isc / (_USUAL_SHUNT * label.voc))
    return model if model is not None and model.rs_ohm >= 0.0 else None


def _match_voltage_slope(label: _Label, shunt: float | None) -> PanelModel | None:
    """Curve with the ideality that gives the voltage coefficient, if there is one."""

    def excess(a: float) -> float:
        model = _curve(label, a, shunt)
        return math.nan if model is None else _warm_residual(model, label)

    # Ideality by the derivative of Voc = a·ln(IL/Io) with temperature, near enough to
    # bracket the answer; 1.08 stands for the change of the band gap.
    gap_over_kt = 1.08 * SILICON_GAP_EV / THERMAL_VOLTAGE_V
    guess = (label.voc - label.beta * REFERENCE_K) / (3.0 + gap_over_kt)
    a = _root(excess, 0.7 * guess, 1.3 * guess, 1e-11 * guess)
    return None if a is None else _curve(label, a, shunt)


def _without_series_resistance(label: _Label) -> PanelModel | None:
    """No series resistance, the ideality that follows, and a band gap to match."""
    thermal_v = label.cells * THERMAL_VOLTAGE_V

    def slope(a: float) -> float:
        return _points(label, a, 0.0)[2]

    a = _root(slope, 0.5 * thermal_v, 5.0 * thermal_v, 1e-11)
    if a is None:
        return None
    diode, shunt, _ = _points(label, a, 0.0)
    if shunt < 0.0:
        return None
    model = _model(label, a, 0.0, diode, shunt)

    def excess(gap_ev: float) -> float:
        return _warm_residual(replace(model, gap_ev=gap_ev), label)

    gap_ev = _root(excess, 0.3, 4.0, 1e-9)
    return None if gap_ev is None else replace(model, gap_ev=gap_ev)


def _warm_residual(model: PanelModel, label: _Label) -> float:
    """Current left at the open-circuit voltage the label asks for, 2 K warmer [A].

    It grows with the ideality: a softer diode loses more voltage with warmth, so that
    at the labelled voltage it is nearer to open circuit or beyond it.
    """
    from sunpantry.physics import panel_kernels

    il, io, _, gsh, a = panel_kernels.condition(model.reference(), 1000.0, 25.0 + _PROBE_K)
    voltage = label.voc + label.beta * _PROBE_K
    return -float(il - io * math.expm1(voltage / a) - voltage * gsh)


def _points(label: _Label, a: float, rs: float) -> tuple[float, float, float]:
    """Solve the three points on the curve for a trial ideality and series resistance.

    Returns the diode current at open circuit io·exp(Voc/a) [A], the shunt conductance
    [S], and the slope of the power at the labelled point, dP/dV [A].
    """
    at_isc = math.exp((label.isc * rs - label.voc) / a)
    inner = label.vmp + label.imp * rs
    at_mp = math.exp((inner - label.voc) / a)
    c11, c12, r1 = 1.0 - at_isc, label.voc - label.isc * rs, label.isc
    c21, c22, r2 = 1.0 - at_mp, label.voc - inner, label.imp
    determinant = c11 * c22 - c12 * c21
    diode = (r1 * c22 - c12 * r2) / determinant
    shunt = (c11 * r2 - c21 * r1) / determinant
    return diode, shunt, _slope(label, rs, diode * at_mp / a + shunt)


def _two_points(label: _Label, a: float, rs: float, shunt: float) -> tuple[float, float, float]:
    """As ``_points`` with a given shunt conductance and the short circuit left free."""
    inner = label.vmp + label.imp * rs
    at_mp = math.exp((inner - label.voc) / a)
    diode = (label.imp - (label.voc - inner) * shunt) / (1.0 - at_mp)
    return diode, shunt, _slope(label, rs, diode * at_mp / a + shunt)


def _slope(label: _Label, rs: float, steep: float) -> float:
    return label.imp - label.vmp * steep / (1.0 + rs * steep)


def _curve(label: _Label, a: float, shunt: float | None) -> PanelModel | None:
    """Curve of a given ideality whose maximum is at the labelled point.

    The series resistance may come out negative; the caller judges. ``None`` when no
    series resistance puts the maximum there.
    """

    def solve(rs: float) -> tuple[float, float, float]:
        if shunt is None:
            return _points(label, a, rs)
        return _two_points(label, a, rs, shunt)

    ceiling = 0.995 * (label.voc - label.vmp) / label.imp
    rs = _root(lambda trial: solve(trial)[2], -ceiling, ceiling, 1e-13)
    if rs is None:
        return None
    diode, leak, _ = solve(rs)
    return _model(label, a, rs, diode, leak)


def _model(label: _Label, a: float, rs: float, diode: float, shunt: float) -> PanelModel:
    io = diode * math.exp(-label.voc / a)
    return PanelModel(
        il_a=diode - io + label.voc * shunt,
        io_a=io,
        rs_ohm=rs,
        rsh_ohm=1.0 / shunt if shunt != 0.0 else math.inf,
        a_v=a,
        alpha_a_per_k=label.alpha,
        cells=label.cells,
    )


def _root(
    function: Callable[[float], float], low: float, high: float, tolerance: float
) -> float | None:
    """Zero of a function between two ends, or ``None`` when it has none there."""
    from scipy.optimize import brentq

    if not function(low) * function(high) <= 0.0:
        return None
    return float(brentq(function, low, high, xtol=tolerance, rtol=1e-14))

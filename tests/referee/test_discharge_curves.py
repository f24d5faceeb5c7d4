"""Discharge curves of the bank against published electrochemical models, run by PyBaMM.

The figures below were found with PyBaMM 26.10.1.1 and typed in; the last tests run PyBaMM again
and hold the figures against it (``make test`` installs it where its solver has a wheel, which is
Linux on x86-64; elsewhere they are skipped and the typed figures stand alone). The deviations
stand in a table of ``docs/model.md``, section 4, and a test keeps that table true.

References
----------
E. Prada et al., J. Electrochem. Soc. 160 (2013) A616: LiFePO4/graphite cell of 2.3 Ah. PyBaMM's
set "Prada2013" adds the two rest potentials that the paper does not print: LiFePO4 after
S. Afshar et al., arXiv 1709.03970 (2017), graphite after C.-H. Chen et al., J. Electrochem. Soc.
167 (2020) 080534. Doyle-Fuller-Newman model.
V. Sulzer et al., J. Electrochem. Soc. 166 (2019) A2363: sealed lead-acid battery, 12 V, nominal
17 Ah ("Sulzer2019"), full porous-electrode model; rest voltage after H. Bode, Lead-Acid
Batteries (1977).
V. Sulzer et al., J. Open Research Software 9 (2021) 14: PyBaMM.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from sunpantry.physics.battery import BatteryModel, battery_model, voltage_curve
from sunpantry.physics.battery_step import discharge_growth
from sunpantry.physics.chemistry import AGM, LIFEPO4
from sunpantry.physics.kinetic import capacity_at, fit_wells, step_coefficients
from sunpantry.timegrid import FloatArray

NOT_INSTALLED = "PyBaMM is not installed: the typed-in figures stand alone"
MODEL_PAGE = Path(__file__).parents[2] / "docs" / "model.md"

# Share of the capacity taken at which terminal voltages [V/cell] are told, by rate [1/h].
TAKEN = (0.02, 0.05, 0.10, 0.20, 0.30, 0.40, 0.50, 0.60, 0.70, 0.80, 0.90)
# Prada2013, 25 °C; share of 2.3 Ah.
LITHIUM_AH = 2.3
LITHIUM_V = {
    0.05: (3.3434, 3.3111, 3.3092, 3.3039, 3.2685, 3.2644, 3.2613, 3.2459, 3.1976, 3.1592, 2.9541),
    0.20: (3.3241, 3.2962, 3.2950, 3.2841, 3.2537, 3.2512, 3.2467, 3.2236, 3.1729, 3.1207, 2.8592),
    0.50: (3.2917, 3.2710, 3.2704, 3.2405, 3.2297, 3.2271, 3.2172, 3.1752, 3.1305, 2.9871, 2.4508),
}
# Charge taken when the terminals have fallen to the disconnect of the program, 3.00 V [Ah].
LITHIUM_AT_DISCONNECT_AH = {0.05: 2.030, 0.20: 1.960, 0.50: 1.829}
# Equilibrium voltage [V] at 2, 5, 10 ... 90 % taken.
LITHIUM_REST_V = (
    3.3503, 3.3164, 3.3142, 3.3097, 3.2741, 3.2688, 3.2661, 3.2528, 3.2063, 3.1691, 2.9816,
)  # fmt: skip

# Sulzer2019, 21.7 °C; rates and shares of the charge it gives in 20 hours down to 1.75 V/cell.
LEAD_AH = 21.62
LEAD_CELLS = 6
LEAD_AH_BY_RATE = {0.01: 22.292, 0.05: 21.620, 0.1: 21.094, 0.2: 20.321, 0.4: 19.181, 0.8: 17.482}
LEAD_V = {
    0.05: (2.1547, 2.1474, 2.1352, 2.1104, 2.0850, 2.0589, 2.0316, 2.0023, 1.9695, 1.9291, 1.8701),
    0.10: (2.1493, 2.1417, 2.1291, 2.1037, 2.0774, 2.0500, 2.0209, 1.9888, 1.9516, 1.9049, 1.8377),
    0.20: (2.1390, 2.1305, 2.1173, 2.0905, 2.0626, 2.0330, 2.0008, 1.9647, 1.9225, 1.8696, 1.7943),
}
# Charge taken when the terminals have fallen to the disconnect of the program, 1.90 V/cell [Ah].
LEAD_AT_DISCONNECT_AH = {0.05: 18.494, 0.10: 17.488, 0.20: 16.123}
# Equilibrium voltage [V/cell] at 0, 10 ... 100 % taken.
LEAD_REST_V = (
    2.1651, 2.1412, 2.1170, 2.0926, 2.0678, 2.0423, 2.0161, 1.9885, 1.9587, 1.9237, 1.8700,
)  # fmt: skip


def discharge(model: BatteryModel, *, amps: float) -> tuple[FloatArray, FloatArray]:
    """Charge taken [Ah] and terminal voltage [V/cell] of a full bank at 25 °C, constant current."""
    steps = 1500
    step_h = 1.1 * model.rated_ah / amps / steps
    step = step_coefficients(model.wells, step_h)
    heads = np.linspace(0.0, 1.0, len(model.curve_v))
    whole_wh = model.slow_energy_wh
    share = model.wells.available_fraction
    whole = whole_wh
    available = share * whole
    open_v = model.curve_v[-1]
    volts = [open_v - amps * model.discharge_ohm]
    for _ in range(steps):
        flow_w = open_v * amps
        available = step.keep * available + step.refill * whole - step.draw_h * flow_w
        whole -= flow_w * step_h
        open_v = float(np.interp(available / (share * whole_wh), heads, model.curve_v))
        growth = discharge_growth(whole / whole_wh, model.constants.drain, model.drain_reach)
        volts.append(open_v - amps * model.discharge_ohm * growth)
    taken_ah = np.linspace(0.0, amps * step_h * steps, steps + 1)
    return taken_ah, np.array(volts) / model.cells


@dataclass(frozen=True)
class Deviation:
    """The program's curve less the published model's; the fields are the columns of the table.

    Voltages [V/cell] between 2 and 80 % of the capacity taken, the last at 90 %; charge down to
    the program's disconnect as a share of the capacity, the program's and the model's [%].
    """

    rms_v: float
    worst_v: float
    at_90_v: float
    ours_percent: float
    theirs_percent: float


def deviation(
    model: BatteryModel, *, rate: float, volts: tuple[float, ...], at_disconnect_ah: float
) -> Deviation:
    """Hold one curve of the program against the typed one."""
    taken_ah, ours = discharge(model, amps=rate * model.rated_ah)
    apart = np.interp(np.array(TAKEN) * model.rated_ah, taken_ah, ours) - np.array(volts)
    used = apart[np.array(TAKEN) <= 0.80]
    cut_ah = float(taken_ah[np.argmax(ours < model.constants.disconnect_v)])
    return Deviation(
        rms_v=float(np.sqrt(np.mean(used**2))),
        worst_v=float(used[np.argmax(np.abs(used))]),
        at_90_v=float(apart[-1]),
        ours_percent=100.0 * cut_ah / model.rated_ah,
        theirs_percent=100.0 * at_disconnect_ah / model.rated_ah,
    )


def lithium(rate: float) -> Deviation:
    """One cell as the program sees it."""
    model = battery_model(chemistry="lifepo4", nominal_v=3.2, capacity_ah=LITHIUM_AH)
    at_ah = LITHIUM_AT_DISCONNECT_AH[rate]
    return deviation(model, rate=rate, volts=LITHIUM_V[rate], at_disconnect_ah=at_ah)


def lead_label() -> dict[float, float]:
    """Capacities the published battery would have on its label, by hours."""
    return {ah / (rate * LEAD_AH): ah for rate, ah in LEAD_AH_BY_RATE.items()}


def lead_model(*, whole_label: bool) -> BatteryModel:
    """The same battery from its label: the 20-hour capacity, and the others if asked."""
    others = {hours: ah for hours, ah in lead_label().items() if hours != 20.0}
    return battery_model(
        chemistry="agm",
        nominal_v=12.0,
        capacity_ah=LEAD_AH,
        other_capacities_ah=others if whole_label else None,
    )


def at_its_own_rest(model: BatteryModel) -> BatteryModel:
    """The model with the published battery's rest voltages in place of the handbooks'."""
    points = tuple(zip(np.linspace(0.0, 1.0, 11).tolist(), reversed(LEAD_REST_V), strict=True))
    chemistry = replace(AGM, rest_points=points)
    curve = voltage_curve(chemistry, rest_head=model.empty_head, cells=model.cells)
    energy_wh = model.wells.slow_capacity_ah * float(np.trapezoid(curve, dx=1 / (curve.size - 1)))
    return replace(model, curve_v=tuple(curve.tolist()), slow_energy_wh=energy_wh)


def lead(model: BatteryModel, rate: float) -> Deviation:
    """The lead-acid battery as the program sees it."""
    at_ah = LEAD_AT_DISCONNECT_AH[rate]
    return deviation(model, rate=rate, volts=LEAD_V[rate], at_disconnect_ah=at_ah)


@pytest.mark.published
def test_lithium_rest_voltages_are_the_sets() -> None:
    """The program's rest voltages between 5 and 95 % of charge, against the set's.

    6 mV: the table has 13 points and was rounded. At the ends the program leaves the set on
    purpose: a cell at rest is called full at 3.40 V, not at 3.6, and empty at 2.5, not at 2.0.
    """
    charge, volts = zip(*LIFEPO4.rest_points, strict=True)
    ours = np.interp(1.0 - np.array(TAKEN[1:]), charge, volts)
    assert np.abs(ours - np.array(LITHIUM_REST_V[1:])).max() <= 0.006


@pytest.mark.independent
@pytest.mark.parametrize("rate", sorted(LITHIUM_V))
def test_lithium_discharge(rate: float) -> None:
    """Terminal voltage of a cell from 98 to 20 % of charge, and the charge down to disconnecting.

    The rest voltages are the set's own, so what is tested here is resistance and bookkeeping.
    The program's resistance is that of a battery in its box, with leads and electronics,
    0.25 Ω·Ah; the bare cell built for power has 0.08 to 0.2, in the mean 0.12. So the program
    lies lower by 0.13 V times the rate. 0.01 V in the mean and 0.03 V at worst come from the
    bends: the table has a point every tenth, and the program counts shares of the energy where
    the set counts charge, 1 % apart at the foot, where that is worth 0.02 V. For the same reason
    the charge down to the disconnect, 3.00 V, is good to 2 % of the capacity.
    """
    found = lithium(rate)
    assert found.rms_v <= 0.01 + 0.13 * rate
    assert abs(found.worst_v) <= 0.03 + 0.13 * rate
    assert found.ours_percent == pytest.approx(found.theirs_percent, abs=2.0)


@pytest.mark.independent
def test_two_wells_follow_a_porous_electrode() -> None:
    """Capacity from an hour to four days, two wells against the full model.

    1.5 %: two wells have three constants, an electrode has a continuum of them; the label
    of a battery is itself good to about 5 % (common practice, no source).
    """
    label = lead_label()
    wells = fit_wells(label)
    for hours, ah in label.items():
        assert capacity_at(wells, hours) == pytest.approx(ah, rel=0.015)


@pytest.mark.independent
@pytest.mark.parametrize("rate", sorted(LEAD_V))
def test_lead_acid_discharge_from_the_same_rest_voltages(rate: float) -> None:
    """Wells and resistance alone: the program with the published battery's rest voltages.

    What a current takes off the voltage is worth 0.27 to 0.32 Ω·Ah per cell here, wells
    included, and 0.11 there when full, 0.15 at 30 % taken, 0.38 at 70 and 0.6 at 80. So the two
    part by at most 0.19 V times the rate, and 5 mV. Then the published one steepens, as the
    acid in its plates is used up, and meets the disconnect earlier: by up to 4 % of the capacity.
    """
    found = lead(at_its_own_rest(lead_model(whole_label=True)), rate)
    assert abs(found.worst_v) <= 0.005 + 0.19 * rate
    assert found.ours_percent == pytest.approx(found.theirs_percent, abs=4.0)


@pytest.mark.independent
@pytest.mark.parametrize("whole_label", [True, False])
@pytest.mark.parametrize("rate", sorted(LEAD_V))
def test_lead_acid_discharge(rate: float, whole_label: bool) -> None:
    """The battery as the program sees it, with the handbooks' rest voltages.

    They run from 2.138 to 1.972 V per cell, the published battery's from 2.165 to 1.870: it is
    filled with stronger acid and uses it up. That is 0.027 V too low when full and up to 0.068 V
    too high at 80 % taken; the test above comes on top, mostly the other way. The disconnect lies
    where the published curve falls by 0.006 V per per cent: up to 11 % of the capacity more here.
    """
    found = lead(lead_model(whole_label=whole_label), rate)
    assert abs(found.worst_v) <= 0.075
    assert found.theirs_percent <= found.ours_percent <= found.theirs_percent + 11.0


def documented() -> dict[tuple[str, str], Deviation]:
    """Rows of the table in the model's page, by curve and rate."""
    row = r"^\| ([^|]+?) \| C/(\d+) \| ([^|]+) \| ([^|]+) \| ([^|]+) \| (\d+\.\d) \| (\d+\.\d) \|$"
    return {
        (curve, hours): Deviation(*(float(value.replace("−", "-")) for value in values))
        for curve, hours, *values in re.findall(row, MODEL_PAGE.read_text("utf-8"), re.MULTILINE)
    }


@pytest.mark.regression
def test_the_page_tells_the_deviations() -> None:
    """The table of docs/model.md is what is computed here; half its last digit, and rounding."""
    whole = lead_model(whole_label=True)
    leads = {
        "AGM, its whole label": whole,
        "AGM, its 20-hour capacity": lead_model(whole_label=False),
        "AGM, whole label, the set's rest voltages": at_its_own_rest(whole),
    }
    computed = {("LiFePO4", f"{1 / rate:.0f}"): lithium(rate) for rate in LITHIUM_V}
    for name, model in leads.items():
        computed |= {(name, f"{1 / rate:.0f}"): lead(model, rate) for rate in LEAD_V}
    told = documented()
    assert told.keys() == computed.keys()
    for key, found in computed.items():
        assert told[key].rms_v == pytest.approx(found.rms_v, abs=0.0006), (key, found)
        assert told[key].worst_v == pytest.approx(found.worst_v, abs=0.0006), (key, found)
        assert told[key].at_90_v == pytest.approx(found.at_90_v, abs=0.0006), (key, found)
        assert told[key].ours_percent == pytest.approx(found.ours_percent, abs=0.1), (key, found)
        assert told[key].theirs_percent == pytest.approx(found.theirs_percent, abs=0.1), key


@pytest.fixture(scope="module")
def pybamm() -> Iterator[Any]:
    """PyBaMM, kept from reporting its use to its makers (it would at import)."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PYBAMM_DISABLE_TELEMETRY", "true")
        yield pytest.importorskip("pybamm", reason=NOT_INSTALLED)


@pytest.fixture(scope="module")
def lithium_cell(pybamm: Any) -> Any:
    """The published LiFePO4 cell, at a current given later."""
    values = pybamm.ParameterValues("Prada2013")
    values["Current function [A]"] = "[input]"
    return pybamm.Simulation(pybamm.lithium_ion.DFN(), parameter_values=values)


@pytest.fixture(scope="module")
def lead_battery(pybamm: Any) -> Any:
    """The published lead-acid battery, at a current given later."""
    model = pybamm.lead_acid.Full()
    values = pybamm.ParameterValues("Sulzer2019")
    values["Current function [A]"] = "[input]"
    return pybamm.Simulation(model, parameter_values=values)


def run(simulation: Any, *, amps: float, longest_h: float, **start: float) -> Any:
    """Discharge from full down to the model's lowest voltage."""
    times_s = np.linspace(0.0, 3600.0 * longest_h, 4001)
    inputs = {"Current function [A]": amps}
    return simulation.solve([0.0, times_s[-1]], t_interp=times_s, inputs=inputs, **start)


@pytest.mark.independent
@pytest.mark.parametrize("rate", sorted(LITHIUM_V))
def test_lithium_figures_are_pybamms(lithium_cell: Any, rate: float) -> None:
    """The typed figures, made again: half a millivolt, half a thousandth of the capacity."""
    found = run(lithium_cell, amps=rate * LITHIUM_AH, longest_h=1.1 / rate, initial_soc=1.0)
    taken = found.t / 3600.0 * rate
    volts = found["Terminal voltage [V]"].entries
    rest = found["Battery open-circuit voltage [V]"].entries
    assert np.interp(TAKEN, taken, volts) == pytest.approx(LITHIUM_V[rate], abs=0.0005)
    assert np.interp(TAKEN, taken, rest)[:10] == pytest.approx(LITHIUM_REST_V[:10], abs=0.0005)
    cut_ah = np.interp(-LIFEPO4.disconnect_v, -volts, taken) * LITHIUM_AH
    assert cut_ah == pytest.approx(LITHIUM_AT_DISCONNECT_AH[rate], rel=0.0005)


@pytest.mark.independent
@pytest.mark.parametrize("rate", sorted(LEAD_AH_BY_RATE))
def test_lead_acid_figures_are_pybamms(lead_battery: Any, rate: float) -> None:
    """The typed figures, made again: half a millivolt, half a thousandth of the capacity."""
    found = run(lead_battery, amps=rate * LEAD_AH, longest_h=1.2 / rate)
    taken = found.t / 3600.0 * rate
    assert taken[-1] * LEAD_AH == pytest.approx(LEAD_AH_BY_RATE[rate], rel=0.0005)
    if rate in LEAD_V:
        volts = found["Battery voltage [V]"].entries / LEAD_CELLS
        assert np.interp(TAKEN, taken, volts) == pytest.approx(LEAD_V[rate], abs=0.0005)
        cut_ah = np.interp(-AGM.disconnect_v, -volts, taken) * LEAD_AH
        assert cut_ah == pytest.approx(LEAD_AT_DISCONNECT_AH[rate], rel=0.0005)


@pytest.mark.independent
def test_lead_acid_rest_voltages_are_pybamms(lead_battery: Any) -> None:
    """The typed rest voltages, made again at C/100, where the acid is almost even throughout."""
    found = run(lead_battery, amps=0.01 * LEAD_AH, longest_h=120.0)
    rest = found["Battery open-circuit voltage [V]"].entries / LEAD_CELLS
    again = np.interp(np.linspace(0.0, 1.0, 11), found.t / 3600.0 * 0.01, rest)
    assert again == pytest.approx(LEAD_REST_V, abs=0.0005)

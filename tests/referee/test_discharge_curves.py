"""Discharge curves of the bank against published electrochemical models, run by PyBaMM.

The figures below are PyBaMM 26.10's, typed in; the last tests run PyBaMM again where it is
installed (``pip install --group pybamm``) and hold the figures against it.

References
----------
E. Prada et al., J. Electrochem. Soc. 160 (2013) A616: LiFePO4/graphite cell of 2.3 Ah
("Prada2013", single-particle model with electrolyte).
V. Sulzer et al., J. Electrochem. Soc. 166 (2019) A2363: sealed lead-acid battery, 12 V,
nominal 17 Ah ("Sulzer2019", full porous-electrode model).
V. Sulzer et al., J. Open Research Software 9 (2021) 14: PyBaMM.
"""

from __future__ import annotations

import numpy as np
import pytest

from sunpantry.physics.battery import BatteryModel, battery_model
from sunpantry.physics.battery_step import discharge_growth
from sunpantry.physics.kinetic import capacity_at, fit_wells, step_coefficients

NOT_INSTALLED = "PyBaMM is not installed: the typed-in figures stand alone"

# Prada2013, 25 °C: terminal voltage [V] at a share of 2.3 Ah taken, by rate [1/h].
LITHIUM_AH = 2.3
LITHIUM_TAKEN = (0.05, 0.10, 0.20, 0.30, 0.40, 0.50, 0.60, 0.70, 0.80)
LITHIUM_V = {
    0.05: (3.3111, 3.3092, 3.3039, 3.2685, 3.2644, 3.2613, 3.2459, 3.1976, 3.1592),
    0.20: (3.2962, 3.2950, 3.2841, 3.2537, 3.2512, 3.2467, 3.2236, 3.1729, 3.1207),
    0.50: (3.2710, 3.2703, 3.2405, 3.2297, 3.2271, 3.2172, 3.1752, 3.1305, 2.9871),
}
# Sulzer2019, 21.7 °C: capacity down to 10.5 V [Ah] at constant currents [A].
LEAD_AH_BY_A = {0.17: 22.352, 0.85: 21.760, 1.7: 21.299, 3.4: 20.623, 8.5: 19.216, 17.0: 17.533}
# Terminal voltage [V] at a share of 17 Ah taken, by current [A].
LEAD_TAKEN = (0.05, 0.10, 0.20, 0.30, 0.40, 0.50, 0.60, 0.70, 0.80, 0.90, 1.00)
LEAD_V = {
    0.85: (12.907, 12.850, 12.734, 12.617, 12.498, 12.375, 12.250, 12.118, 11.979, 11.825, 11.646),
    1.7: (12.881, 12.822, 12.704, 12.584, 12.461, 12.334, 12.202, 12.061, 11.909, 11.736, 11.528),
    3.4: (12.828, 12.767, 12.644, 12.519, 12.389, 12.253, 12.109, 11.953, 11.781, 11.583, 11.346),
}
LEAD_NOMINAL_AH = 17.0


def discharge(
    model: BatteryModel, *, amps: float, taken_ah: tuple[float, ...], steps: int = 400
) -> list[float]:
    """Terminal voltage at 25 °C of a full bank under a constant current."""
    step_h = taken_ah[-1] / amps / steps
    step = step_coefficients(model.wells, step_h)
    heads = np.linspace(0.0, 1.0, len(model.curve_v))
    share = model.wells.available_fraction
    whole = model.slow_energy_wh
    available = share * whole
    times, volts = [0.0], [model.curve_v[-1] - amps * model.discharge_ohm]
    drain = model.constants.drain
    for k in range(steps):
        open_v = float(np.interp(available / (share * model.slow_energy_wh), heads, model.curve_v))
        flow_w = open_v * amps
        available = step.keep * available + step.refill * whole - step.draw_h * flow_w
        whole -= flow_w * step_h
        open_v = float(np.interp(available / (share * model.slow_energy_wh), heads, model.curve_v))
        times.append((k + 1) * step_h)
        growth = discharge_growth(whole / model.slow_energy_wh, drain, model.drain_reach)
        volts.append(open_v - amps * model.discharge_ohm * growth)
    return [float(np.interp(ah / amps, times, volts)) for ah in taken_ah]


def lithium() -> BatteryModel:
    """One cell as the program sees it."""
    return battery_model(chemistry="lifepo4", nominal_v=3.2, capacity_ah=LITHIUM_AH)


def lead() -> BatteryModel:
    """The same battery, with the capacities PyBaMM finds as its label."""
    label = {ah / amps: ah for amps, ah in LEAD_AH_BY_A.items()}
    rated = LEAD_AH_BY_A[0.85]
    hours = rated / 0.85
    del label[hours]
    return battery_model(
        chemistry="agm",
        nominal_v=12.0,
        capacity_ah=rated,
        capacity_hours=hours,
        other_capacities_ah=label,
    )


@pytest.mark.independent
@pytest.mark.parametrize(
    ("rate", "tolerance_v"),
    [(0.05, 0.04), (0.20, 0.04), (0.50, 0.10)],
)
def test_lithium_discharge(rate: float, tolerance_v: float) -> None:
    """Terminal voltage of a cell down to 20 % of charge.

    The program's rest voltages are the parameter set's own, in steps of 10 %: 0.03 V, and
    0.01 V more on the knee, where 2 % of charge is worth 0.04 V. At C/2 the resistance tells:
    the program's is that of a battery in its box, with leads and electronics, 0.25 Ω·Ah, some
    0.08 V more than the paper's bare cell built for power.
    """
    amps = rate * LITHIUM_AH
    taken_ah = tuple(share * LITHIUM_AH for share in LITHIUM_TAKEN)
    ours = discharge(lithium(), amps=amps, taken_ah=taken_ah)
    assert np.abs(np.array(ours) - np.array(LITHIUM_V[rate])).max() <= tolerance_v


@pytest.mark.independent
def test_two_wells_follow_a_porous_electrode() -> None:
    """Capacity from an hour to five days, two wells against the full model.

    1.5 %: two wells have three constants, an electrode has a continuum of them; the label
    of a battery is itself good to about 5 % (common practice, no source).
    """
    label = {ah / amps: ah for amps, ah in LEAD_AH_BY_A.items()}
    wells = fit_wells(label)
    for hours, ah in label.items():
        assert capacity_at(wells, hours) == pytest.approx(ah, rel=0.015)


@pytest.mark.independent
@pytest.mark.parametrize("amps", sorted(LEAD_V))
def test_lead_acid_discharge(amps: float) -> None:
    """Terminal voltage of a 12 V battery over 17 of its 22 Ah.

    0.30 V over the range in which such a battery is used, 0.45 V to the end. The program's
    rest voltages are the handbooks', 12.83 to 11.83 V for sealed cells; the paper's small
    battery is filled with stronger acid (12.99 V when full) and falls further, because its
    acid is used up before its plates.
    """
    taken_ah = tuple(share * LEAD_NOMINAL_AH for share in LEAD_TAKEN)
    ours = np.array(discharge(lead(), amps=amps, taken_ah=taken_ah))
    apart = np.abs(ours - np.array(LEAD_V[amps]))
    assert apart[np.array(LEAD_TAKEN) <= 0.80].max() <= 0.30
    assert apart.max() <= 0.45


@pytest.mark.independent
@pytest.mark.parametrize("rate", sorted(LITHIUM_V))
def test_lithium_figures_are_pybamms(rate: float) -> None:
    """The typed figures, made again."""
    pybamm = pytest.importorskip("pybamm", reason=NOT_INSTALLED)
    values = pybamm.ParameterValues("Prada2013")
    amps = rate * LITHIUM_AH
    values["Current function [A]"] = amps
    simulation = pybamm.Simulation(pybamm.lithium_ion.SPMe(), parameter_values=values)
    found = simulation.solve(np.linspace(0.0, 3600.0 / rate * 1.1, 4001), initial_soc=1.0)
    volts = found["Terminal voltage [V]"].entries
    again = np.interp(np.array(LITHIUM_TAKEN) * LITHIUM_AH, found.t * amps / 3600.0, volts)
    assert again == pytest.approx(LITHIUM_V[rate], abs=0.002)


@pytest.mark.independent
@pytest.mark.parametrize("amps", sorted(LEAD_AH_BY_A))
def test_lead_acid_figures_are_pybamms(amps: float) -> None:
    """The typed figures, made again."""
    pybamm = pytest.importorskip("pybamm", reason=NOT_INSTALLED)
    model = pybamm.lead_acid.Full()
    values = model.default_parameter_values
    values["Current function [A]"] = amps
    simulation = pybamm.Simulation(model, parameter_values=values)
    found = simulation.solve(np.linspace(0.0, 3600.0 * 17.0 / amps * 2.5, 2001))
    gone_ah = found.t * amps / 3600.0
    assert gone_ah[-1] == pytest.approx(LEAD_AH_BY_A[amps], rel=0.002)
    if amps in LEAD_V:
        volts = found["Battery voltage [V]"].entries
        again = np.interp(np.array(LEAD_TAKEN) * LEAD_NOMINAL_AH, gone_ah, volts)
        assert again == pytest.approx(LEAD_V[amps], abs=0.003)

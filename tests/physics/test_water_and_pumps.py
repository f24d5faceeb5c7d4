"""Pipes and pumps against handbook tables and worked examples."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sunpantry.errors import InputError
from sunpantry.physics.pump import (
    curve_from_points,
    curve_from_rating,
    flow_on_pipe_l_min,
    pump_table,
)
from sunpantry.physics.water import (
    PIPE_BORES_MM,
    Pipe,
    friction_factor,
    friction_head_m,
    hydraulic_energy_wh,
    hydraulic_power_w,
    pump_array_w,
    sensible_lift_m,
    velocity_m_s,
)

FOOT_M = 0.3048
GALLON_L = 3.785411784


# WA1, WA2: the handbook constant, 2.725 Wh for a cubic metre and a metre.
@pytest.mark.published
def test_hydraulic_energy() -> None:
    assert_allclose(hydraulic_energy_wh(volume_m3=1.0, head_m=1.0), 2.725, atol=0.0005)
    assert_allclose(hydraulic_energy_wh(volume_m3=20.0, head_m=30.0), 1635, atol=0.5)


# WA3: Masters (2004) pumping example, 170 ft and 4 US gallons a minute, 0.1885·H·Q.
@pytest.mark.published
def test_hydraulic_power_in_feet_and_gallons() -> None:
    power = hydraulic_power_w(flow_l_min=4 * GALLON_L, head_m=170 * FOOT_M)
    assert_allclose(power, 128.2, rtol=0.002)


# WA4: the same example (from memory): 240 ft of ¾ inch plastic, 3 elbows, check and gate
# valve at 4 gallons a minute make 9.6 ft, 170 ft in all; stated tolerance 2 ft.
@pytest.mark.published
def test_total_head_of_a_worked_example() -> None:
    pipe = Pipe(
        static_head_m=160 * FOOT_M,
        length_m=240 * FOOT_M,
        bore_mm=20.9,
        elbows=3,
        valves=1,
        check_valves=1,
    )
    assert_allclose(pipe.head_m(4 * GALLON_L) / FOOT_M, 170.0, atol=2.0)


# WA5: 30 m, 20 m³ a day, 6 kWh/m² a day: 800 W (rule of GIZ and FAO, from memory).
@pytest.mark.published
def test_pumping_rule() -> None:
    assert_allclose(pump_array_w(head_m=30.0, volume_m3=20.0, sun_kwh_m2=6.0), 800.0)
    # What the rule implies: a third of the label's energy ends up in the water.
    assert_allclose(
        hydraulic_energy_wh(volume_m3=20.0, head_m=30.0) / (800.0 * 6.0), 0.34, atol=0.005
    )


# WA6: a text on pipe networks, problem 0.2, stated tolerance 1 %.
@pytest.mark.published
def test_worked_problem_of_a_large_pipe() -> None:
    flow = 2.0 * np.pi / 4 * 0.3**2 * 60_000
    assert_allclose(velocity_m_s(flow_l_min=flow, bore_mm=300.0), 2.0, rtol=1e-12)
    assert_allclose(
        friction_factor(reynolds=6.0e5, relative_roughness=0.12 / 300), 0.0169, rtol=0.01
    )
    head = friction_head_m(
        flow_l_min=flow, length_m=6.0, bore_mm=300.0, roughness_mm=0.12, viscosity_m2_s=1e-6
    )
    assert_allclose(head, 0.0689, rtol=0.01)


# WA7: White, "Fluid Mechanics", example 6.6: asphalted cast iron, 4.5 ft; tolerance 2 %.
@pytest.mark.published
def test_worked_example_of_a_textbook() -> None:
    flow = 1.829 * np.pi / 4 * 0.1524**2 * 60_000
    head = friction_head_m(
        flow_l_min=flow,
        length_m=60.96,
        bore_mm=152.4,
        roughness_mm=0.0008 * 152.4,
        viscosity_m2_s=1.02e-6,
    )
    assert_allclose(head, 1.37, rtol=0.02)


# WA8, WA9: Colebrook's equation solved to five digits; 64/Re when laminar.
@pytest.mark.published
def test_friction_factors() -> None:
    cases = {
        (1e5, 0.0): 0.01799,
        (1e5, 1e-4): 0.018514,
        (1e5, 1e-3): 0.022175,
        (1e5, 1e-2): 0.038504,
        (1e6, 1e-4): 0.013441,
        (1e4, 0.0): 0.030883,
        (4e3, 0.0): 0.039907,
        (1e7, 1e-5): 0.008996,
        (1e3, 0.0): 0.064,
    }
    for (reynolds, rough), want in cases.items():
        got = friction_factor(reynolds=reynolds, relative_roughness=rough)
        assert_allclose(got, want, rtol=1e-3)


# WA10 to WA12: smooth polyethylene by Darcy-Weisbach, three digits, and the older formula
# of Hazen and Williams with C = 150, within the 8 % by which the two differ there.
@pytest.mark.published
@pytest.mark.parametrize(
    ("bore", "litres_per_s", "length", "smooth", "old"),
    [
        (26.0, 0.5, 100.0, 4.31, 4.02),
        (32.6, 1.0, 100.0, 5.00, 4.82),
        (40.8, 1.5, 200.0, 7.02, 6.85),
    ],
)
def test_head_loss_of_small_pipes(
    bore: float, litres_per_s: float, length: float, smooth: float, old: float
) -> None:
    head = friction_head_m(
        flow_l_min=60 * litres_per_s, length_m=length, bore_mm=bore, roughness_mm=0.0015
    )
    formula = (
        10.67 * length * (litres_per_s / 1000) ** 1.852 / (150**1.852 * (bore / 1000) ** 4.8704)
    )
    assert_allclose(formula, old, rtol=0.01)
    assert_allclose(head, smooth, rtol=0.01)
    assert_allclose(head, old, rtol=0.08)


# WA15 and WA18 (from memory): bores of SDR 11 pipe within 0.3 mm, lift of 6 to 7 m.
@pytest.mark.published
def test_pipe_bores_and_suction() -> None:
    bores = {20: 16.2, 25: 20.4, 32: 26.2, 40: 32.6, 50: 40.8, 63: 51.4}
    assert set(PIPE_BORES_MM) == set(bores)
    for outside, bore in bores.items():
        assert_allclose(PIPE_BORES_MM[outside], bore, atol=0.3)
    assert 6.0 <= sensible_lift_m() <= 7.0
    assert_allclose(sensible_lift_m() - sensible_lift_m(1000.0), 1.2, rtol=1e-12)


PIPE = Pipe(static_head_m=12.0, length_m=80.0, bore_mm=26.0, elbows=2)
PUMP = curve_from_rating(flow_l_min=20.0, head_m=18.0, power_w=150.0)


@pytest.mark.analytic
def test_head_of_a_pipe_is_its_lift_and_its_losses() -> None:
    assert PIPE.head_m(0.0) == 12.0
    # Entry 0.5, outlet 1.0, two elbows of 0.9, a check valve of 2.0.
    assert_allclose(PIPE.loss_coefficient, 5.3, rtol=1e-12)
    lost = friction_head_m(flow_l_min=20.0, length_m=80.0, bore_mm=26.0, loss_coefficient=5.3)
    assert_allclose(PIPE.head_m(20.0), 12.0 + lost, rtol=1e-12)
    heads = velocity_m_s(flow_l_min=20.0, bore_mm=26.0) ** 2 / (2 * 9.81)
    bare = friction_head_m(flow_l_min=20.0, length_m=80.0, bore_mm=26.0)
    assert_allclose(lost - bare, 5.3 * heads, rtol=1e-9)


@pytest.mark.analytic
def test_operating_point_lies_on_both_curves() -> None:
    flow = flow_on_pipe_l_min(PUMP, PIPE)
    assert_allclose(PUMP.head(flow), PIPE.head_m(flow), rtol=1e-6)
    table = pump_table(PUMP, PIPE)
    assert_allclose(table.full_flow_l_min, flow, rtol=1e-9)
    assert_allclose(table.pumped_l_min([1e-3, 1e6]), [0.0, flow], rtol=1e-9)
    assert_allclose(PUMP.head(20.0), 18.0, rtol=1e-12)
    assert_allclose(PUMP.power(20.0), 150.0, rtol=1e-12)


# Similarity rules: without static head, friction alone growing with the square of the flow
# (fully rough), the flow goes with the cube root of the power.
@pytest.mark.analytic
def test_flow_follows_the_cube_root_of_power_without_a_lift() -> None:
    rough = Pipe(static_head_m=0.0, length_m=1e-6, bore_mm=10.0, elbows=10)
    table = pump_table(PUMP, rough)
    full = table.full_power_w
    flows = table.pumped_l_min([full / 8, full / 27])
    assert_allclose(flows / table.full_flow_l_min, [1 / 2, 1 / 3], rtol=2e-3)


# Water starts where the shut-off head at that speed reaches the outlet: s² H0 = static.
@pytest.mark.analytic
def test_water_comes_only_above_some_power() -> None:
    table = pump_table(PUMP, PIPE)
    speed = np.sqrt(12.0 / 24.0)
    assert_allclose(table.start_power_w, speed**3 * 100.0, rtol=1e-6)
    assert table.pumped_l_min(0.98 * table.start_power_w) == 0.0
    assert table.pumped_l_min(1.10 * table.start_power_w) > 0.0
    late = pump_table(PUMP, PIPE, start_power_w=60.0)
    assert late.start_power_w >= 60.0
    assert late.pumped_l_min(59.0) == 0.0
    high = Pipe(static_head_m=40.0, length_m=80.0, bore_mm=26.0)
    assert pump_table(PUMP, high).pumped_l_min(1000.0) == 0.0


@pytest.mark.conservation
def test_never_more_power_in_the_water_than_in_the_wire() -> None:
    table = pump_table(PUMP, PIPE)
    power = np.linspace(0.0, 200.0, 400)
    flow = table.pumped_l_min(power)
    assert (np.diff(flow) >= -1e-12).all()
    lifted = np.array([hydraulic_power_w(flow_l_min=q, head_m=PIPE.head_m(q)) for q in flow])
    assert (lifted <= np.maximum(power, 1e-9) * 0.6).all()
    wider = pump_table(PUMP, Pipe(static_head_m=12.0, length_m=80.0, bore_mm=40.8, elbows=2))
    assert (wider.pumped_l_min(power[1:]) >= flow[1:] - 1e-9).all()


@pytest.mark.analytic
def test_curves_from_points() -> None:
    with_power = curve_from_points([[10, 20, 120], [30, 5, 180]])
    assert_allclose(with_power.head(0.0), 27.5, rtol=1e-12)
    assert_allclose(with_power.head(20.0), 12.5, rtol=1e-12)
    assert_allclose(with_power.head(40.0), -2.5, rtol=1e-12)
    without = curve_from_points([[0, 24], [20, 18], [40, 0]], efficiency=0.4)
    assert_allclose(without.power_w[-1], hydraulic_power_w(flow_l_min=20, head_m=18) / 0.4)


@pytest.mark.regression
def test_impossible_pumps_and_pipes_are_refused() -> None:
    with pytest.raises(InputError, match="head falls"):
        curve_from_points([[0, 10], [10, 12]])
    with pytest.raises(InputError, match="more than the 654 W"):
        curve_from_rating(flow_l_min=100.0, head_m=40.0, power_w=60.0)
    with pytest.raises(InputError, match="plastic, copper"):
        Pipe(static_head_m=1.0, length_m=1.0, bore_mm=20.0, material="bamboo")

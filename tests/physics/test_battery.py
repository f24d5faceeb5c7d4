"""From the label of a battery to its model, against handbook tables."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.testing import assert_allclose

from sunpantry.physics.battery import CURVE_POINTS, BatteryModel, battery_model
from sunpantry.physics.chemistry import CHEMISTRIES
from sunpantry.physics.kinetic import capacity_at


def model_of(chemistry: str = "flooded", capacity_ah: float = 100.0) -> BatteryModel:
    """One 12 V battery."""
    volts = 12.8 if chemistry == "lifepo4" else 12.0
    return battery_model(chemistry=chemistry, nominal_v=volts, capacity_ah=capacity_ah)


def rest_v(model: BatteryModel, rated_charge: float) -> float:
    """Voltage at rest with a share of the rated capacity left [V]."""
    head = model.empty_head + (1.0 - model.empty_head) * rated_charge
    return float(np.interp(head, np.linspace(0.0, 1.0, CURVE_POINTS), model.curve_v))


# The table printed in many battery handbooks, 12 V flooded at 25-27 °C.
HANDBOOK = {1.0: 12.65, 0.75: 12.45, 0.5: 12.24, 0.25: 12.06, 0.0: 11.89}
# Specific gravity beside it.
GRAVITY = {1.0: 1.265, 0.75: 1.225, 0.5: 1.190, 0.25: 1.155, 0.0: 1.120}


@pytest.mark.published
@pytest.mark.parametrize("charge", HANDBOOK)
def test_rest_voltage_of_flooded_lead_acid(charge: float) -> None:
    # The table prints hundredths of a volt (and is good to 0.1 V between batteries); the
    # curve is laid out in 65 points, which cut the corner where it falls off at the empty end.
    tolerance = 0.005 if charge > 0.0 else 0.04
    assert_allclose(rest_v(model_of(), charge), HANDBOOK[charge], atol=tolerance)


# Open-circuit voltage of a cell is its specific gravity plus 0.84 (handbook rule).
@pytest.mark.published
@pytest.mark.parametrize("charge", GRAVITY)
def test_rest_voltage_follows_the_acid(charge: float) -> None:
    # The rule is good to 0.01 V a cell; from half charge down the table of voltages, printed
    # beside the gravities, itself lies 0.010 to 0.022 above it.
    tolerance = 0.01 if charge > 0.5 else 0.022
    assert_allclose(rest_v(model_of(), charge) / 6.0, GRAVITY[charge] + 0.84, atol=tolerance)


# Sealed batteries stand 0.1-0.2 V higher when full: 12.8-12.9 V, half 12.3, empty 11.8
# (common practice, from memory; tolerance 0.1 V).
@pytest.mark.published
@pytest.mark.parametrize("chemistry", ["agm", "gel"])
@pytest.mark.parametrize(("charge", "volts"), [(1.0, 12.85), (0.5, 12.3), (0.0, 11.8)])
def test_rest_voltage_of_sealed_lead_acid(chemistry: str, charge: float, volts: float) -> None:
    assert_allclose(rest_v(model_of(chemistry), charge), volts, atol=0.1)


# E. Prada et al., J. Electrochem. Soc. 160 (2013) A616, equilibrium of an LFP/graphite
# cell; stated tolerance 0.03 V from 20 to 95 %, wider on the steep foot.
PRADA = {
    0.05: 2.785,
    0.10: 2.978,
    0.20: 3.169,
    0.30: 3.206,
    0.40: 3.253,
    0.50: 3.266,
    0.60: 3.269,
    0.70: 3.274,
    0.80: 3.310,
    0.90: 3.314,
    0.95: 3.316,
}


@pytest.mark.published
@pytest.mark.parametrize("charge", PRADA)
def test_rest_voltage_of_lifepo4(charge: float) -> None:
    told = rest_v(model_of("lifepo4"), charge) / 4.0
    assert_allclose(told, PRADA[charge], atol=0.03)


# Typical catalogue capacities over that at 20 h, deep-cycle lead-acid (check sheet RT1,
# practice): C100 1.10-1.20, C10 0.88-0.95, C5 0.80-0.88, C1 0.50-0.65.
@pytest.mark.published
@pytest.mark.parametrize("chemistry", ["flooded", "agm", "gel"])
def test_capacity_against_rate(chemistry: str) -> None:
    wells = model_of(chemistry).wells
    spans = {100.0: (1.10, 1.20), 20.0: (1.0, 1.0), 10.0: (0.88, 0.95), 5.0: (0.80, 0.88)}
    for hours, (low, high) in spans.items():
        share = capacity_at(wells, hours) / 100.0
        assert low - 0.01 <= share <= high + 0.01, (hours, share)


@pytest.mark.analytic
def test_the_label_is_met() -> None:
    model = battery_model(
        chemistry="flooded",
        nominal_v=6.0,
        capacity_ah=220.0,
        capacity_hours=20.0,
        other_capacities_ah={5.0: 175.0, 100.0: 250.0},
        series=2,
        parallel=3,
    )
    assert_allclose(capacity_at(model.wells, 20.0), 3 * 220.0, rtol=1e-9)
    # Four points (10 h is typical), three constants: within a hundredth.
    assert_allclose(capacity_at(model.wells, 5.0), 3 * 175.0, rtol=0.01)
    assert_allclose(capacity_at(model.wells, 100.0), 3 * 250.0, rtol=0.01)
    assert_allclose([model.nominal_v, model.cells, model.rated_ah], [12.0, 6.0, 660.0])


@pytest.mark.analytic
def test_a_label_at_another_rate() -> None:
    at_100 = battery_model(chemistry="agm", nominal_v=12.0, capacity_ah=110.0, capacity_hours=100.0)
    assert_allclose(capacity_at(at_100.wells, 100.0), 110.0, rtol=1e-9)
    # A typical AGM battery gives 1.10 times its 20-hour capacity in 100 hours: 100 Ah.
    assert_allclose(capacity_at(at_100.wells, 20.0), 100.0, rtol=0.01)


@pytest.mark.analytic
@pytest.mark.parametrize("chemistry", ["flooded", "agm", "gel"])
@pytest.mark.parametrize("hours", [10.0, 100.0])
def test_one_battery_by_two_labels(chemistry: str, hours: float) -> None:
    """Rest voltages go by the charge of 20 hours, whichever rate the label tells."""
    by_20 = model_of(chemistry)
    ah = 100.0 * dict(CHEMISTRIES[chemistry].rate_ratios)[hours]
    by_other = battery_model(
        chemistry=chemistry, nominal_v=12.0, capacity_ah=ah, capacity_hours=hours
    )
    assert_allclose(by_other.slow_energy_wh, by_20.slow_energy_wh, rtol=0.015)
    # Two wells meet the typical capacities to 1 %, which shifts the knee by 0.01 of the head: on
    # the drop below it, 1.1 V over 0.11 to 0.19, that is up to 0.1 V, above it 0.012 V.
    below = np.linspace(0.0, 1.0, CURVE_POINTS) < 0.22
    apart = np.array(by_other.curve_v) - np.array(by_20.curve_v)
    assert_allclose(apart[below], 0.0, atol=0.1)
    assert_allclose(apart[~below], 0.0, atol=0.015)


@pytest.mark.independent
def test_the_end_of_the_discharge_is_never_a_cliff() -> None:
    """A label with one capacity for all rates leaves a knee of a tenth, as typical ones do.

    ``tests/referee/test_discharge_curves.py`` holds it against a published battery.
    """
    flat = battery_model(
        chemistry="agm",
        nominal_v=2.0,
        capacity_ah=100.0,
        other_capacities_ah={5.0: 97.0, 10.0: 99.0, 100.0: 101.0},
    )
    assert flat.empty_head < 0.02
    # 1.987 V/cell by the handbooks at a head of 0.10, straight down to 1.78 from there.
    assert_allclose(flat.curve_v[4], 1.78 + 0.625 * (1.987 - 1.78), atol=0.003)
    assert_allclose(flat.curve_v[8], 1.992, atol=0.003)


@pytest.mark.analytic
def test_wiring_scales_resistance() -> None:
    one = battery_model(
        chemistry="agm", nominal_v=12.0, capacity_ah=100.0, internal_resistance_ohm=0.005
    )
    four = battery_model(
        chemistry="agm",
        nominal_v=12.0,
        capacity_ah=100.0,
        internal_resistance_ohm=0.005,
        series=2,
        parallel=2,
    )
    assert_allclose(one.surge_ohm, 0.005)
    assert_allclose(four.surge_ohm, one.surge_ohm)
    assert_allclose(four.slow_energy_wh, 4 * one.slow_energy_wh)
    assert_allclose(four.max_charge_a, 2 * one.max_charge_a)


# Resistance of a 12 V 100 Ah battery on the scale of a surge: 4-6 milliohms, so 2-3 kA into
# a short circuit (check sheet SF10, IEEE 946 rule, from memory; factor of two).
@pytest.mark.published
def test_surge_resistance() -> None:
    assert 0.002 < model_of("agm").surge_ohm < 0.012
    assert 0.002 < model_of("flooded").surge_ohm < 0.012


# Worn out is 80 % of the capacity (IEC 61427-1, IEEE 1013).
@pytest.mark.analytic
def test_a_worn_bank() -> None:
    new, worn = model_of("gel"), model_of("gel").worn(0.8)
    assert_allclose(worn.slow_energy_wh, 0.8 * new.slow_energy_wh)
    assert_allclose(capacity_at(worn.wells, 20.0), 80.0, rtol=1e-9)
    assert_allclose(worn.discharge_ohm, 1.5 * new.discharge_ohm)


# Charging set points in V a cell at 25 °C (check sheet 4.2 and LP3, from memory).
@pytest.mark.published
def test_set_points_and_compensation() -> None:
    spans = {
        "flooded": ((2.40, 2.47), (2.20, 2.25), (-5.0, -4.0)),
        "agm": ((2.40, 2.45), (2.25, 2.30), (-4.0, -3.0)),
        "gel": ((2.35, 2.40), (2.25, 2.30), (-5.0, -3.0)),
        "lifepo4": ((3.50, 3.65), (3.35, 3.40), (0.0, 0.0)),
    }
    for name, (absorption, floating, slope) in spans.items():
        cell = CHEMISTRIES[name]
        assert absorption[0] <= cell.absorption_v <= absorption[1]
        assert floating[0] <= cell.float_v <= floating[1]
        assert slope[0] <= cell.compensation_mv_per_k <= slope[1]


# Self-discharge a month at 20-25 °C: flooded 5-10 %, sealed 1-3 %, LiFePO4 1-3 % (practice).
@pytest.mark.published
def test_self_discharge() -> None:
    assert 0.05 <= CHEMISTRIES["flooded"].self_discharge_per_month <= 0.10
    for name in ("agm", "gel", "lifepo4"):
        assert 0.01 <= CHEMISTRIES[name].self_discharge_per_month <= 0.03

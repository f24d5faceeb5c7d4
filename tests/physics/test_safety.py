"""Protection, voltages, ventilation and acid against the standards' own figures."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from sunpantry.errors import InputError
from sunpantry.physics.electrolyte import (
    cell_voltage_from_density,
    charge_from_rest_voltage,
    density,
    freezing_point_c,
    freezing_point_of_acid_c,
    reading_at,
    rest_voltage_v,
)
from sunpantry.physics.protection import (
    BLADE_COLOURS,
    MAGNETIC_RELEASE,
    RATINGS_A,
    battery_main_fuse_a,
    battery_short_circuit_a,
    capacity_needed_a,
    choose_rating_a,
    code_pv_current_a,
    fusing_current_a,
    is_coordinated,
    next_rating_a,
    string_fuse_a,
    string_fuses_needed,
)
from sunpantry.physics.safe_voltage import cold_factor, cold_voltage_v, dc_band, limit_temperature_c
from sunpantry.physics.ventilation import (
    air_flow_m3_h,
    gas_current_ma_per_ah,
    opening_cm2,
    spark_distance_mm,
)


# IEC 60269-2, ISO 8820-3 and IEC 60898-1 (OC2, OC3 of the check sheet, from memory).
@pytest.mark.published
def test_conventional_fusing_currents() -> None:
    assert_allclose(fusing_current_a("gG", 2), 4.2)
    assert_allclose(fusing_current_a("gG", 10), 19.0)
    assert_allclose(fusing_current_a("gG", 16), 25.6)
    assert_allclose(fusing_current_a("breaker", 20), 29.0)
    assert_allclose(fusing_current_a("blade", 10), 13.5)
    assert MAGNETIC_RELEASE == {"B": (3, 5), "C": (5, 10), "D": (10, 20)}


# OC8 to OC13 of the check sheet: the standard series (from memory).
@pytest.mark.published
def test_standard_series() -> None:
    blade = (1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30, 35, 40)
    assert RATINGS_A["blade"] == blade
    assert set(BLADE_COLOURS) == set(blade) - {1}
    assert (BLADE_COLOURS[7.5], BLADE_COLOURS[10], BLADE_COLOURS[20]) == ("brown", "red", "yellow")
    assert RATINGS_A["breaker"] == (6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125)
    assert RATINGS_A["gG"][-3:] == (250, 315, 400)
    assert [next_rating_a("mega", amps) for amps in (1, 101, 500, 501)] == [60, 125, 500, None]
    assert next_rating_a("gPV", 14.2) == 15
    assert next_rating_a("tube", 3.0) == 3.15


# IEC 60364-4-43 §433.1: Ib ≤ In ≤ Iz, I2 ≤ 1.45 Iz.
@pytest.mark.published
def test_coordination() -> None:
    # A 10 A gG fuse opens at 19 A: 1.45 × 12 A is not enough, 1.45 × 13.2 A is.
    assert not is_coordinated("gG", rating_a=10, design_current_a=8, capacity_a=12)
    assert is_coordinated("gG", rating_a=10, design_current_a=8, capacity_a=13.2)
    assert is_coordinated("breaker", rating_a=10, design_current_a=10, capacity_a=10)
    assert not is_coordinated("breaker", rating_a=10, design_current_a=10.1, capacity_a=20)
    assert choose_rating_a("blade", design_current_a=5.2, capacity_a=13.5) == 7.5
    assert choose_rating_a("blade", design_current_a=11, capacity_a=13.5) is None


@pytest.mark.conservation
@given(
    device=st.sampled_from(sorted(RATINGS_A)),
    design=st.floats(0.1, 400.0),
    spare=st.floats(1.0, 3.0),
)
def test_a_chosen_rating_is_always_coordinated(device: str, design: float, spare: float) -> None:
    capacity = design * spare
    rating = choose_rating_a(device, design_current_a=design, capacity_a=capacity)  # type: ignore[arg-type]
    if rating is None:
        return
    assert design <= rating <= capacity
    assert fusing_current_a(device, rating) <= 1.45 * capacity * (1 + 1e-9)  # type: ignore[arg-type]
    assert capacity_needed_a(device, rating) <= capacity * (1 + 1e-9)  # type: ignore[arg-type]


# IEC 62548:2016 §6.3 with OC6 of the check sheet: Isc 9.43 A, three strings, fuse at most 20 A.
@pytest.mark.published
def test_string_fuses() -> None:
    assert string_fuse_a(isc_a=9.43, max_series_fuse_a=20.0) == 15.0
    assert string_fuse_a(isc_a=9.43, max_series_fuse_a=14.0) is None
    assert string_fuse_a(isc_a=30.0) is None
    assert not string_fuses_needed(parallel=2, isc_a=9.43, max_series_fuse_a=15.0)
    assert not string_fuses_needed(parallel=3, isc_a=9.43, max_series_fuse_a=20.0)
    assert string_fuses_needed(parallel=3, isc_a=9.43, max_series_fuse_a=15.0)
    assert string_fuses_needed(parallel=3, isc_a=9.43, max_series_fuse_a=None)
    assert not string_fuses_needed(parallel=2, isc_a=9.43, max_series_fuse_a=None)


# NEC 690.8(A)(1) and 690.9(B), OC7: 11.79 and 14.73 A.
@pytest.mark.published
def test_american_currents() -> None:
    assert_allclose(code_pv_current_a(9.43), (11.79, 14.73), atol=0.005)


# SF10 of the check sheet (from memory): 12 V 100 Ah of 4 to 6 mΩ gives 2 to 3 kA.
@pytest.mark.published
def test_battery_short_circuit_and_main_fuse() -> None:
    low = battery_short_circuit_a(open_circuit_v=12.7, internal_ohm=0.006)
    high = battery_short_circuit_a(open_circuit_v=12.7, internal_ohm=0.004)
    assert 2000 < low < high < 3200
    assert battery_short_circuit_a(open_circuit_v=12.7, internal_ohm=0.004, cable_ohm=0.004) < low
    with pytest.raises(InputError, match="above 0"):
        battery_short_circuit_a(open_circuit_v=12.7, internal_ohm=0.0)
    main = {"continuous_a": 60.0, "capacity_a": 129.0, "bank_v": 14.8}
    assert battery_main_fuse_a(**main, prospective_a=900.0) == ("maxi", 80.0)
    assert battery_main_fuse_a(**main, prospective_a=1900.0) == ("midi", 80.0)
    assert battery_main_fuse_a(**main, prospective_a=low) == ("gG", 80.0)
    assert battery_main_fuse_a(**{**main, "capacity_a": 70.0}, prospective_a=low) is None
    assert battery_main_fuse_a(**{**main, "bank_v": 58.4}, prospective_a=900.0) == ("gG", 80.0)


# NEC table 690.7(A), crystalline silicon (from memory).
@pytest.mark.published
def test_cold_factors() -> None:
    rows = {
        24: 1.02, 19: 1.04, 14: 1.06, 9: 1.08, 4: 1.10, -1: 1.12, -6: 1.14, -11: 1.16, -16: 1.18,
        -21: 1.20, -26: 1.21, -31: 1.23, -36: 1.25,
    }  # fmt: skip
    for upper, factor in rows.items():
        assert cold_factor(upper) == factor
        assert cold_factor(upper - 4) == factor
    assert cold_factor(25.0) == 1.0
    assert cold_factor(-60.0) == 1.25


# NE1, NE2 of the check sheet: two panels of 22.5 V at −12 °C.
@pytest.mark.published
def test_cold_voltages() -> None:
    assert_allclose(2 * 22.5 * cold_factor(-12.0), 52.2, atol=1e-9)
    string = {"voc_v": 22.5, "series": 2, "temp_coeff_voc_pct_per_k": -0.32}
    assert_allclose(cold_voltage_v(**string, temperature_c=-12.0), 50.33, atol=0.005)  # type: ignore[arg-type]
    limit = limit_temperature_c(**string, limit_v=50.0)  # type: ignore[arg-type]
    assert_allclose(cold_voltage_v(**string, temperature_c=limit), 50.0, rtol=1e-12)  # type: ignore[arg-type]


# EL1 to EL3 and EL5: IEC 61140, IEC 60364-4-41 §414 (from memory).
@pytest.mark.published
def test_voltage_bands() -> None:
    assert [dc_band(volts) for volts in (14.8, 52.2, 75.0, 104.0, 150.0)] == [
        "wet touch",
        "dry touch",
        "extra-low",
        "extra-low",
        "low",
    ]
    assert (dc_band(30.0), dc_band(60.0), dc_band(120.0)) == ("wet touch", "dry touch", "extra-low")


# SF1 to SF8 of the check sheet, computed from EN IEC 62485-2 §7.2; tolerance 0.001 m³/h.
@pytest.mark.published
@pytest.mark.parametrize(
    ("cells", "chemistry", "charging", "capacity", "flow"),
    [
        (6, "flooded", "boost", 100, 0.60),
        (6, "flooded", "float", 100, 0.15),
        (12, "flooded", "boost", 200, 2.40),
        (24, "flooded", "boost", 200, 4.80),
        (6, "agm", "boost", 100, 0.24),
        (4, "lifepo4", "boost", 100, 0.0),
    ],
)
def test_fresh_air(cells: int, chemistry: str, charging: str, capacity: float, flow: float) -> None:
    got = air_flow_m3_h(
        cells=cells,
        capacity_ah=capacity,
        chemistry=chemistry,
        charging=charging,  # type: ignore[arg-type]
    )
    assert_allclose(got, flow, rtol=0.0, atol=0.001)


@pytest.mark.published
def test_openings_distances_and_gas_currents() -> None:
    assert_allclose(opening_cm2(2.40), 67.2, atol=0.05)
    assert_allclose(spark_distance_mm(capacity_ah=100, chemistry="flooded"), 363, atol=1)
    assert_allclose(spark_distance_mm(capacity_ah=200, chemistry="flooded"), 457, atol=1)
    assert gas_current_ma_per_ah("gel", charging="float") == 1.0
    assert spark_distance_mm(capacity_ah=200, chemistry="lifepo4") == 0.0


# Check sheet 4.1: rest voltage and density by state of charge.
@pytest.mark.published
def test_rest_voltage_and_density() -> None:
    charge = [1.0, 0.75, 0.50, 0.25, 0.0]
    assert_allclose(rest_voltage_v(charge), [12.65, 12.45, 12.24, 12.06, 11.89], atol=1e-9)
    assert_allclose(density(charge), [1.265, 1.225, 1.190, 1.155, 1.120], atol=1e-9)
    assert_allclose(rest_voltage_v(0.5, cells=3), 6.12, atol=1e-9)
    assert_allclose(charge_from_rest_voltage([12.24, 10.0, 14.0]), [0.5, 0.0, 1.0], atol=1e-9)
    # Handbook rule, LA1: 0.01 V a cell.
    assert_allclose(cell_voltage_from_density([1.265, 1.190]), [2.105, 2.03], atol=1e-9)
    assert_allclose(
        rest_voltage_v([1.0, 0.5]) / 6, cell_voltage_from_density([1.265, 1.190]), atol=0.0101
    )
    assert_allclose(density(0.5, full_density=1.280), 1.205, atol=1e-9)
    assert_allclose(reading_at(1.265, temperature_c=26.7 + 5.556), 1.261, atol=2e-4)


# LA2: US Army TM 5-1185 table III and Ordnance course OD1002, tolerance 2 K.
@pytest.mark.published
def test_freezing_points() -> None:
    acid = [1.000, 1.100, 1.150, 1.200, 1.250, 1.280]
    assert_allclose(
        freezing_point_of_acid_c(acid), [0.0, -7.2, -15.0, -26.7, -52.2, -67.8], atol=1e-9
    )
    # A battery freezes as its acid does: 1.120, 1.190 and 1.265 by the table of densities.
    by_charge = freezing_point_c([0.0, 0.5, 1.0])
    assert_allclose(by_charge, freezing_point_of_acid_c([1.120, 1.190, 1.265]), rtol=1e-12)
    assert -12.0 < by_charge[0] < -9.0

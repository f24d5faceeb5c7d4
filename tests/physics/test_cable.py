"""Cables against IEC 60228, IEC 60364-5-52, BS 7671 and ASTM B258, and worked examples."""

from __future__ import annotations

from typing import Any, Literal

import pytest
from numpy.testing import assert_allclose

from sunpantry.errors import InputError
from sunpantry.physics.cable import (
    SIZES_MM2,
    ambient_factor,
    conductor_temperature_c,
    current_capacity_a,
    gauge_area_mm2,
    gauge_for,
    grouping_factor,
    resistance_ohm_per_km,
    smallest_size_mm2,
    voltage_drop_v,
)

SIZES = [0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120]
# IEC 60228, Ω/km at 20 °C (transcriptions; 0.5, 0.75 and class 5 from 35 mm² from memory).
FIXED = [
    36.0,
    24.5,
    18.1,
    12.1,
    7.41,
    4.61,
    3.08,
    1.83,
    1.15,
    0.727,
    0.524,
    0.387,
    0.268,
    0.193,
    0.153,
]
FLEXIBLE = [
    39.0,
    26.0,
    19.5,
    13.3,
    7.98,
    4.95,
    3.30,
    1.91,
    1.21,
    0.780,
    0.554,
    0.386,
    0.272,
    0.206,
    0.161,
]


@pytest.mark.published
def test_resistances_at_twenty_degrees() -> None:
    assert list(SIZES_MM2) == SIZES
    assert [resistance_ohm_per_km(size, conductor="fixed") for size in SIZES] == FIXED
    assert [resistance_ohm_per_km(size) for size in SIZES] == FLEXIBLE


# Copper 0.393 %/K: CB3 of the check sheet, four digits.
@pytest.mark.published
def test_warm_copper_resists_more() -> None:
    at_20 = resistance_ohm_per_km(4.0)
    assert_allclose(resistance_ohm_per_km(4.0, temperature_c=70.0) / at_20, 1.1965, atol=5e-5)
    assert_allclose(resistance_ohm_per_km(4.0, temperature_c=90.0) / at_20, 1.2751, atol=5e-5)


# BS 7671 appendix 4, tables 4D1B and 4D2B, direct current, mV/A/m at 70 °C. Two or three
# digits; the check sheet finds agreement within 2 %. The row for 0.5 mm² is that of flexible
# cable, the others of fixed wiring.
@pytest.mark.published
@pytest.mark.parametrize(
    ("size", "millivolts"),
    [
        (0.5, 93), (1.0, 44), (1.5, 29), (2.5, 18), (4, 11), (6, 7.3), (10, 4.4), (16, 2.8),
        (25, 1.75), (35, 1.25), (50, 0.93), (70, 0.63), (95, 0.46), (120, 0.36),
    ],
)  # fmt: skip
def test_drop_table_of_the_wiring_regulations(size: float, millivolts: float) -> None:
    conductor: Literal["flexible", "fixed"] = "flexible" if size < 1.0 else "fixed"
    drop = voltage_drop_v(current_a=1.0, length_m=1.0, size_mm2=size, conductor=conductor)
    assert_allclose(1000 * drop, millivolts, rtol=0.02)


# Worked examples VD1-VD4 of the check sheet: class 5, 20 and 70 °C, computed from IEC 60228.
@pytest.mark.published
@pytest.mark.parametrize(
    ("current", "length", "size", "cool_v", "hot_v"),
    [
        (10, 10, 4, 0.990, 1.185),
        (20, 5, 10, 0.382, 0.457),
        (5.56, 15, 6, 0.550, 0.659),
        (100, 1.5, 25, 0.234, 0.280),
    ],
)
def test_worked_drops(
    current: float, length: float, size: float, cool_v: float, hot_v: float
) -> None:
    run: dict[str, Any] = {"current_a": current, "length_m": length, "size_mm2": size}
    assert_allclose(voltage_drop_v(**run, temperature_c=20.0), cool_v, atol=6e-4)
    assert_allclose(voltage_drop_v(**run), hot_v, atol=6e-4)


# IEC 60364-5-52:2009 table B.52.2 by column, 1.5 to 120 mm² (four transcriptions agree).
CAPACITIES = {
    "A1": [14.5, 19.5, 26, 34, 46, 61, 80, 99, 119, 151, 182, 210],
    "A2": [14, 18.5, 25, 32, 43, 57, 75, 92, 110, 139, 167, 192],
    "B1": [17.5, 24, 32, 41, 57, 76, 101, 125, 151, 192, 232, 269],
    "B2": [16.5, 23, 30, 38, 52, 69, 90, 111, 133, 168, 201, 232],
    "C": [19.5, 27, 36, 46, 63, 85, 112, 138, 168, 213, 258, 299],
    "D1": [22, 29, 37, 46, 60, 78, 99, 119, 140, 173, 204, 231],
    "D2": [22, 28, 38, 48, 64, 83, 110, 132, 156, 192, 230, 261],
    "E": [22, 30, 40, 51, 70, 94, 119, 148, 180, 232, 282, 328],
}


@pytest.mark.published
@pytest.mark.parametrize("method", CAPACITIES)
def test_capacities(method: str) -> None:
    ground = 20.0 if method.startswith("D") else 30.0
    got = [current_capacity_a(size, method=method, ambient_c=ground) for size in SIZES[3:]]
    assert got == CAPACITIES[method]


@pytest.mark.published
def test_capacities_of_warmer_insulation() -> None:
    clipped = [current_capacity_a(s, method="C", insulation="xlpe") for s in SIZES[3:]]
    enclosed = [current_capacity_a(s, method="B1", insulation="xlpe") for s in SIZES[3:]]
    assert clipped == [24, 33, 45, 58, 80, 107, 138, 171, 209, 269, 328, 382]
    assert enclosed == [23, 31, 42, 54, 75, 100, 133, 164, 198, 253, 306, 354]


# IEC 60364-5-52 tables B.52.14 (printed with two digits) and B.52.17.
@pytest.mark.published
def test_ambient_and_grouping_factors() -> None:
    pvc = {10: 1.22, 15: 1.17, 20: 1.12, 25: 1.06, 30: 1.00, 35: 0.94, 40: 0.87, 45: 0.79,
           50: 0.71, 55: 0.61, 60: 0.50}  # fmt: skip
    xlpe = {10: 1.15, 20: 1.08, 30: 1.00, 40: 0.91, 50: 0.82, 60: 0.71, 70: 0.58, 80: 0.41}
    for ambient, factor in pvc.items():
        assert_allclose(ambient_factor(ambient), factor, atol=0.0051)
    for ambient, factor in xlpe.items():
        assert_allclose(ambient_factor(ambient, insulation="xlpe"), factor, atol=0.0051)
    assert ambient_factor(75.0) == 0.0
    want = [1.00, 0.80, 0.70, 0.65, 0.60, 0.57, 0.54, 0.52, 0.50, 0.45, 0.41, 0.38]
    assert [grouping_factor(n) for n in (1, 2, 3, 4, 5, 6, 7, 8, 9, 12, 16, 20)] == want
    assert grouping_factor(10) == 0.45
    assert grouping_factor(40) == 0.38


@pytest.mark.analytic
def test_factors_multiply_and_copper_settles_at_its_limit() -> None:
    full = current_capacity_a(4.0, method="C")
    less = current_capacity_a(4.0, method="C", ambient_c=50.0, circuits=3)
    assert full == 36.0
    assert less is not None
    assert_allclose(less, 36.0 * (20 / 40) ** 0.5 * 0.70, rtol=1e-12)
    settled = conductor_temperature_c(current_a=less, capacity_a=less, ambient_c=50.0)
    assert_allclose(settled, 70.0, rtol=1e-12)
    half = conductor_temperature_c(current_a=18.0, capacity_a=36.0, ambient_c=30.0)
    assert_allclose(half, 40.0, rtol=1e-12)


# ASTM B258, areas as printed with four digits.
@pytest.mark.published
def test_american_gauges() -> None:
    want = {18: 0.823, 16: 1.309, 14: 2.081, 12: 3.309, 10: 5.261, 8: 8.366, 6: 13.30, 4: 21.15,
            2: 33.63, 0: 53.48, -1: 67.43, -2: 85.03, -3: 107.2}  # fmt: skip
    for gauge, area in want.items():
        assert_allclose(gauge_area_mm2(gauge), area, rtol=5e-4)
    assert [gauge_for(size) for size in (1.5, 2.5, 4, 6, 10, 16, 35, 50, 70, 150)] == [
        "AWG 14",
        "AWG 12",
        "AWG 10",
        "AWG 8",
        "AWG 6",
        "AWG 4",
        "AWG 1/0",
        "AWG 1/0",
        "AWG 3/0",
        "larger than AWG 4/0",
    ]


@pytest.mark.conservation
def test_smallest_size_meets_both_and_the_next_smaller_does_not() -> None:
    for current, length, drop, fuse in ((5.0, 12.0, 0.36, 10.0), (60.0, 2.0, 0.2, 80.0)):
        size = smallest_size_mm2(
            current_a=current, capacity_needed_a=fuse, length_m=length, allowed_drop_v=drop
        )
        assert size is not None
        capacity = current_capacity_a(size)
        assert capacity is not None
        assert capacity >= fuse
        run: dict[str, Any] = {"current_a": current, "length_m": length}
        assert voltage_drop_v(**run, size_mm2=size) <= drop
        smaller = SIZES[SIZES.index(size) - 1]
        less = current_capacity_a(smaller)
        assert less is None or less < fuse or voltage_drop_v(**run, size_mm2=smaller) > drop
    assert (
        smallest_size_mm2(
            current_a=300.0, capacity_needed_a=400.0, length_m=1.0, allowed_drop_v=1.0
        )
        is None
    )


@pytest.mark.regression
def test_unknown_sizes_and_methods_are_told() -> None:
    with pytest.raises(InputError, match="a standard size"):
        resistance_ohm_per_km(3.0)
    with pytest.raises(InputError, match="for xlpe: B1, C"):
        current_capacity_a(4.0, method="A1", insulation="xlpe")
    assert current_capacity_a(1.0, method="C") is None
    assert current_capacity_a(1.0, method="air", insulation="cord") == 10.0
    assert current_capacity_a(4.0, method="air", insulation="solar", ambient_c=60.0) == 55.0

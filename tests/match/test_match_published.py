"""Rules and their arithmetic against published tables and worked examples."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from sunpantry.match.array_measures import (
    panel_current_a,
    string_vmp_v,
    string_voc_v,
)
from sunpantry.match.array_mix import parallel_power_w, series_power_w
from sunpantry.match.array_voltage import highest_dc_v
from sunpantry.match.bank_measures import WINDOWS, housed_coldest_c
from sunpantry.match.case import Case, ProofFacts
from sunpantry.match.cold import frost_margin
from sunpantry.match.finding import Finding, Severity
from sunpantry.match.place_rules import needed_opening_cm2, wind_force_n
from sunpantry.match.rules import RULES
from sunpantry.match.set_points import uncompensated_v
from sunpantry.match.sockets import USB_BUDGETS_A
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.curves import panel_model
from sunpantry.physics.panel import current_at_voltage, maximum_power

Build = Callable[..., Case]
BY_SLUG = {rule.slug: rule for rule in RULES}


def only(slug: str, case: Case) -> Finding:
    """The one finding of a rule."""
    (found,) = BY_SLUG[slug].check(case)
    return found


# NEC Table 690.7(A), crystalline silicon (from memory): two temperatures of each row.
NEC_ROWS = (
    (24, 20, 1.02),
    (19, 15, 1.04),
    (14, 10, 1.06),
    (9, 5, 1.08),
    (4, 0, 1.10),
    (-1, -5, 1.12),
    (-6, -10, 1.14),
    (-11, -15, 1.16),
    (-16, -20, 1.18),
    (-21, -25, 1.20),
    (-26, -30, 1.21),
    (-31, -35, 1.23),
    (-36, -40, 1.25),
)


@pytest.mark.published
@pytest.mark.parametrize(("warm_c", "cold_c", "factor"), NEC_ROWS)
def test_label_without_coefficient_takes_the_table(
    build: Build, warm_c: float, cold_c: float, factor: float
) -> None:
    """NEC 690.7(A): without a coefficient on the label, the factors of the table."""
    case = build()
    panel = case.system.arrays[0].panel
    bare = type(panel)(**panel.model_dump(exclude={"temp_coeff_voc_pct_per_k"}))
    array = build().with_array(0, panel=bare, series=2).system.arrays[0]
    for temperature_c in (warm_c, cold_c):
        assert string_voc_v(array, temperature_c) == pytest.approx(45.0 * factor, abs=1e-9)


@pytest.mark.published
def test_two_panels_at_minus_twelve(build: Build) -> None:
    """Worked: 2 × 22.5 V at −12 °C, 52.2 V by the table and 50.33 V by −0.32 %/K."""
    case = build(panel={"temp_coeff_voc_pct_per_k": -0.32}, wiring=(2, 1))
    assert string_voc_v(case.system.arrays[0], -12.0) == pytest.approx(50.33, abs=0.1)
    panel = case.system.arrays[0].panel
    bare = type(panel)(**panel.model_dump(exclude={"temp_coeff_voc_pct_per_k"}))
    assert string_voc_v(case.with_array(0, panel=bare).system.arrays[0], -12.0) == pytest.approx(
        52.2, abs=0.1
    )


@pytest.mark.published
@pytest.mark.parametrize(
    ("series", "voc_v", "severity"),
    [
        (2, 22.5, Severity.FINE),
        (2, 37.6, Severity.WORTH_KNOWING),
        (4, 22.5, Severity.WORTH_KNOWING),
    ],
)
def test_extra_low_voltage_examples(
    build: Build, series: int, voc_v: float, severity: Severity
) -> None:
    """Worked: 2 × 36 cells below 60 V; 2 × 60 and 4 × 36 cells above it, below 120 V."""
    case = build(
        panel={"voc_v": voc_v},
        wiring=(series, 1),
        controller={"kind": "mppt", "max_pv_voc_v": 150.0},
        coldest_c=-20.0,
    )
    assert only("extra-low-voltage", case).severity is severity
    if (series, voc_v) == (2, 22.5):
        assert highest_dc_v(case) == pytest.approx(52.0, abs=0.7)  # as printed, whole volts
    if series == 4:
        assert highest_dc_v(case) == pytest.approx(104.0, abs=1.0)


# 36-cell module of the open CEC list on a battery, W at 1000 W/m² (single-diode model of a
# reference library; tolerance 1 %).
ON_BATTERY = (
    (25.0, 12.5, 68.72),
    (25.0, 13.5, 74.17),
    (25.0, 14.4, 79.04),
    (55.0, 12.5, 69.26),
    (55.0, 13.5, 74.44),
    (55.0, 14.4, 78.58),
)


@pytest.mark.published
@pytest.mark.parametrize(("cell_c", "volts", "power_w"), ON_BATTERY)
def test_panel_tied_to_a_battery(build: Build, cell_c: float, volts: float, power_w: float) -> None:
    """The explicit curve gives the published power of a panel held at battery voltage."""
    panel = build().system.arrays[0].panel
    amps = panel_current_a(panel, voltage_v=volts, temperature_c=cell_c)
    assert volts * amps == pytest.approx(power_w, rel=0.01)


@pytest.mark.published
@pytest.mark.parametrize(("cell_c", "vmp_v"), [(45.0, 16.716), (55.0, 15.858), (70.0, 14.651)])
def test_working_voltage_in_the_heat(build: Build, cell_c: float, vmp_v: float) -> None:
    """The coefficient of power stands in for that of the voltage; same table, within 1 %."""
    array = build().system.arrays[0]
    assert string_vmp_v(array, cell_c) == pytest.approx(vmp_v, rel=0.01)


@pytest.mark.published
def test_sixty_cells_on_a_12_v_pwm_controller(build: Build) -> None:
    """Worked: a 60-cell panel by PWM on 12 V gives Isc × 13.5 V, about 47 % of its power."""
    panel = {"voc_v": 38.3, "isc_a": 9.43, "vmp_v": 31.0, "imp_a": 8.71, "power_w": 270.0}
    amps = panel_current_a(build(panel=panel).system.arrays[0].panel, voltage_v=13.5)
    assert amps * 13.5 / 270.0 == pytest.approx(0.47, abs=0.005)
    wasted = only("pwm-waste", build(panel=panel))
    assert wasted.severity is Severity.WILL_DISAPPOINT
    assert wasted.figures[0].value == pytest.approx(1.0 - 9.43 * 13.0 / 270.0, abs=0.005)


@pytest.mark.published
@pytest.mark.parametrize(
    ("chemistry", "series", "capacity_ah", "opening_cm2"),
    [
        ("flooded", 1, 100.0, 28 * 0.60),
        ("flooded", 2, 200.0, 67.2),
        ("flooded", 4, 200.0, 28 * 4.80),
        ("agm", 1, 100.0, 28 * 0.24),
        ("gel", 1, 100.0, 28 * 0.24),
    ],
)
def test_openings_for_air(
    build: Build, chemistry: str, series: int, capacity_ah: float, opening_cm2: float
) -> None:
    """EN IEC 62485-2: worked air flows, and an opening of 28 cm² for each m³/h."""
    case = build(
        battery={"chemistry": chemistry, "capacity_ah": capacity_ah},
        bank=(series, 1),
        bank_v=12.0 * series,
    )
    assert needed_opening_cm2(case) == pytest.approx(opening_cm2, abs=0.1)


@pytest.mark.published
def test_compensation_of_the_charge_voltage(build: Build) -> None:
    """Worked: 14.4 V at 25 °C and −4 mV per cell and kelvin make 15.00 V at 0 °C."""
    case = build(controller={"temperature_sensor": False}, proof=ProofFacts(coldest_battery_c=0.0))
    assert 14.4 + uncompensated_v(case) == pytest.approx(15.00, abs=0.01)


# Usual set points at 25 °C for a 12 V battery (from memory): absorption, highest float.
SET_POINTS = (
    ("flooded", 6, 14.4, 14.8, 13.5),
    ("agm", 6, 14.4, 14.7, 13.8),
    ("gel", 6, 14.1, 14.4, 13.8),
    ("lifepo4", 4, 14.0, 14.6, 13.6),
)


@pytest.mark.published
@pytest.mark.parametrize(("chemistry", "count", "low_v", "high_v", "float_v"), SET_POINTS)
def test_windows_of_set_points(
    chemistry: str, count: int, low_v: float, high_v: float, float_v: float
) -> None:
    """Windows per cell are those of the table for 12 V, to the digits it prints."""
    window = WINDOWS[chemistry]
    assert window.absorb_low_v * count == pytest.approx(low_v, abs=0.05)
    assert window.absorb_high_v * count == pytest.approx(high_v, abs=0.05)
    assert window.float_high_v * count == pytest.approx(float_v, abs=0.05)


@pytest.mark.published
def test_bright_cloud_edge(build: Build) -> None:
    """NEC 690.8(A)(1): Isc 9.43 A is reckoned as 11.79 A."""
    panel = {"isc_a": 9.43, "imp_a": 8.71, "power_w": 159.4}
    tight = build(panel=panel, controller={"rated_a": 11.78})
    loose = build(panel=panel, controller={"rated_a": 11.79})
    assert only("short-circuit-current", tight).severity is Severity.WORTH_KNOWING
    assert only("short-circuit-current", loose).severity is Severity.FINE
    assert "11.8 A" in only("short-circuit-current", tight).sentence


# Densities 1.120, 1.190 and 1.265 (rest-voltage table), each between two rows of the freezing
# points of US Army TM 5-1185 table III: −7.2/−15.0, −15.0/−26.7 and −52.2/−67.8 °C.
@pytest.mark.published
@pytest.mark.parametrize(("charge", "freezes_c"), [(0.0, -10.3), (0.5, -24.4), (1.0, -60.0)])
def test_freezing_by_charge(charge: float, freezes_c: float) -> None:
    """The margin uses the acid's own freezing points, interpolated to the density."""
    margin = frost_margin(ProofFacts(lowest_soc=charge, coldest_below=((charge + 0.1, -5.0),)))
    assert margin is not None
    assert margin[2] == pytest.approx(freezes_c, abs=2.0)


@pytest.mark.published
def test_usb_budgets() -> None:
    """USB 2.0 2.5 W, USB 3 4.5 W, Battery Charging 1.2 7.5 W, Type-C 15 W, at 5 V."""
    assert [5.0 * amps for _, amps in USB_BUDGETS_A] == [2.5, 4.5, 7.5, 15.0]


@pytest.mark.published
def test_earth_resistance_under_a_residual_current_device(build: Build) -> None:
    """IEC 60364-4-41: 50 V / 30 mA = 1667 Ω."""
    found = only("residual-current", build(inverter={}))
    assert found.figures[0].value == pytest.approx(1667.0, abs=0.5)


@pytest.mark.published
def test_wind_pressure(build: Build) -> None:
    """EN 1991-1-4: 40 m/s make a velocity pressure of 1000 Pa."""
    panel = {"length_m": 1.0, "width_m": 1.0}
    array = build(panel=panel).system.arrays[0]
    assert wind_force_n(array, 40.0) == pytest.approx(1000.0 * 1.5)


@pytest.mark.analytic
def test_daily_swing_is_damped_by_the_lag() -> None:
    """A 4 h lag passes 1/√(1 + (2π·4/24)²) = 0.691 of the swing; indoors never below 15 °C."""
    passed = 0.6905
    cold_c = housed_coldest_c(-10.0, "outdoors")
    assert cold_c == pytest.approx(-10.0 + 5.0 * (1 - passed) + 5.0 * 4 / 24, abs=0.01)
    assert housed_coldest_c(-30.0, "house") == 15.0


@pytest.mark.independent
@pytest.mark.parametrize("cell_c", [25.0, 70.0])
def test_explicit_curve_against_the_single_diode(cell_c: float) -> None:
    """Up to the working point the label's curve is within 3 % of Isc of the fitted model."""
    checked = 0
    for panel in shipped_catalogue().panels:
        if panel.regulated_output_v is not None:
            continue
        model = panel_model(panel)
        hot = 1.0 + panel.temp_coeff_power_pct_per_k / 100.0 * (cell_c - 25.0)
        for share in (0.2, 0.4, 0.6, 0.8, 0.9, 1.0):
            volts = share * hot * panel.vmp_v
            wanted = current_at_voltage(
                model, voltage_v=volts, irradiance_w_m2=1000.0, cell_temperature_c=cell_c
            )
            got = panel_current_a(panel, voltage_v=volts, temperature_c=cell_c)
            assert got == pytest.approx(float(wanted), abs=0.03 * panel.isc_a)
            checked += 1
    assert checked > 60


@pytest.mark.independent
def test_power_of_joined_panels_against_the_single_diode() -> None:
    """Two unlike panels side by side and in series: within 3 % of the fitted models' best."""
    parts = shipped_catalogue()
    one, two = parts.panel("100 W panel, 36 cells"), parts.panel("250 W panel, 60 cells")
    models = [panel_model(one), panel_model(two)]

    def amps(index: int, volts: float) -> float:
        return float(
            current_at_voltage(
                models[index], voltage_v=volts, irradiance_w_m2=1000.0, cell_temperature_c=25.0
            )
        )

    together = max(v * (amps(0, v) + amps(1, v)) for v in (0.1 * step for step in range(1, 380)))
    assert parallel_power_w([(one, 1, 1), (two, 1, 1)]) == pytest.approx(together, rel=0.03)
    best = [
        float(maximum_power(m, irradiance_w_m2=1000.0, cell_temperature_c=25.0).power_w)
        for m in models
    ]
    assert series_power_w([one, one]) == pytest.approx(2.0 * best[0], rel=0.03)
    # At the current of the weaker panel both give voltage: more than that of the stronger alone.
    mixed = series_power_w([one, two])
    assert max(best) * 0.97 < mixed < sum(best)


@pytest.mark.analytic
def test_equal_panels_lose_nothing_when_joined(build: Build) -> None:
    """Joining equals gives exactly as many times the power, both ways."""
    panel = build().system.arrays[0].panel
    alone = parallel_power_w([(panel, 1, 1)])
    assert parallel_power_w([(panel, 1, 3)]) == pytest.approx(3.0 * alone, rel=1e-9)
    assert series_power_w([panel] * 3) == pytest.approx(3.0 * series_power_w([panel]), rel=1e-9)

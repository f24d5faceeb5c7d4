"""Runs, fuses and set points against published tables and worked examples."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import pytest
from tests.wiring.systems import FLAT, PARTS, one_lamp, whole_house

from sunpantry.design.nameplates import PanelNameplate
from sunpantry.design.promise import Wiring
from sunpantry.parts.system import Array, System
from sunpantry.wiring import WiringInputs, wire
from sunpantry.wiring.cables import economic_size_mm2, price_per_m, size_run
from sunpantry.wiring.graph import Cable, Duty, Role, Terminal
from sunpantry.wiring.settings import compensated_v

ENDS = (Terminal("A", "+", "+", 1), Terminal("A", "−", "−", 2))
OTHER = (Terminal("B", "+", "+", 1), Terminal("B", "−", "−", 2))


def _cable(
    current_a: float, length_m: float, base_v: float, drop_pct: float, role: Role = "branch"
) -> Cable:
    duty = Duty(current_a, current_a, base_v, 1.2 * base_v, drop_pct / 100.0, "given", (), "given")
    return Cable("W1", "a cable", role, "a cable", ENDS, OTHER, length_m, duty)


def _inputs(**wiring: Any) -> WiringInputs:
    return WiringInputs(one_lamp().system, wiring=Wiring(**wiring))


@dataclass(frozen=True)
class Worked:
    """A worked example: current, length, nominal voltage, aim; size, drop at 70 °C."""

    current_a: float
    length_m: float
    base_v: float
    aim_pct: float
    size_mm2: float
    drop_v: float
    drop_pct: float


WORKED = {
    "VD1": Worked(10.0, 10.0, 12.0, 10.0, 4.0, 1.185, 9.87),
    "VD2": Worked(20.0, 5.0, 12.0, 4.0, 10.0, 0.457, 3.81),
    "VD3": Worked(5.56, 15.0, 18.0, 4.0, 6.0, 0.659, 3.66),
    "VD4": Worked(100.0, 1.5, 12.0, 2.5, 25.0, 0.280, 2.33),
}


@pytest.mark.published
@pytest.mark.parametrize("name", WORKED)
def test_worked_drops(name: str) -> None:
    """Worked examples at 70 °C from IEC 60228 class 5: the size is found, the drop is theirs.

    Tolerance 0.5 %, as the examples are given.
    """
    one = WORKED[name]
    cable = _cable(one.current_a, one.length_m, one.base_v, one.aim_pct)
    run = size_run(cable, _inputs(), capacity_needed_a=one.current_a)
    assert run.size_mm2 == one.size_mm2
    assert run.drop_v == pytest.approx(one.drop_v, rel=5e-3)
    assert run.drop_pct == pytest.approx(one.drop_pct, rel=5e-3)
    assert run.loss_w == pytest.approx(one.drop_v * one.current_a, rel=5e-3)


@pytest.mark.published
def test_worked_drop_with_the_wiring_table() -> None:
    """VD5: 15 A, 20 m, 4 mm² by the BS 7671 table (11 mV/A/m) 3.30 V; class 5 has 7 % more.

    The table is for stiff conductors: 4.95/4.61 of IEC 60228 is the difference.
    """
    run = size_run(_cable(15.0, 20.0, 24.0, 15.0), _inputs(), capacity_needed_a=15.0)
    assert run.size_mm2 == 4.0
    assert run.drop_v / (4.95 / 4.61) == pytest.approx(3.30, rel=0.02)


@pytest.mark.published
@pytest.mark.parametrize(
    ("wiring", "capacity_a"),
    [
        # IEC 60364-5-52 table B.52.2, two loaded conductors, PVC, 2.5 mm².
        ({"installation": "clipped"}, 27.0),
        ({"installation": "conduit"}, 24.0),
        ({"installation": "buried", "ambient_c": 20.0}, 28.0),
        ({"installation": "free_air"}, 30.0),
        # Tables B.52.3, B.52.14 and B.52.17: factors to two digits.
        ({"insulation": "xlpe"}, 33.0),
        ({"ambient_c": 40.0}, 27.0 * 0.87),
        ({"grouped": 3}, 27.0 * 0.70),
    ],
)
def test_capacity_by_installation(wiring: dict[str, Any], capacity_a: float) -> None:
    """Method, insulation, ambient and grouping of the design reach the tables."""
    inputs = _inputs(**wiring)
    run = size_run(_cable(0.1, 1.0, 24.0, 5.0), inputs, capacity_needed_a=0.98 * capacity_a)
    assert run.size_mm2 == 2.5
    assert run.capacity_a == pytest.approx(capacity_a, rel=6e-3)


@pytest.mark.published
def test_a_hot_place_takes_capacity_from_cables_in_air_only() -> None:
    """40 °C air: factor 0.87 on PVC (IEC 60364-5-52 table B.52.14); the ground stays cool."""
    cable = _cable(0.1, 1.0, 24.0, 5.0)
    hot = replace(_inputs(), hottest_c=40.0)
    assert size_run(cable, hot, capacity_needed_a=23.0).capacity_a == pytest.approx(
        27.0 * 0.87, rel=6e-3
    )
    below = replace(_inputs(installation="buried", ambient_c=20.0), hottest_c=40.0)
    assert size_run(cable, below, capacity_needed_a=28.0).capacity_a == pytest.approx(28.0)


@pytest.mark.published
def test_string_fuse_window() -> None:
    """OC6: Isc 9.43 A, three strings, panel bears 20 A: window 14.1 to 22.6 A, 15 A.

    IEC 62548:2016 §6.3.5, from memory.
    """
    panel = PanelNameplate(
        name="270 W, 60 cells", power_w=270.0, voc_v=38.3, isc_a=9.43, vmp_v=31.0, imp_a=8.71,
        cells=60, max_series_fuse_a=20.0,
    )  # fmt: skip
    base = whole_house().system
    system = System(base.bank_v, (Array(panel, 2, 3, FLAT, 180.0),), base.bank, base.controller)
    plan = wire(WiringInputs(system))
    fuses = [one for one in plan.protections if one.kind == "gPV"]
    assert [one.rating_a for one in fuses] == [15.0, 15.0, 15.0]
    for one in fuses:
        assert one.device.window_a == pytest.approx((14.1, 20.0), abs=0.05)


@pytest.mark.published
@pytest.mark.parametrize(("parallel", "fuses"), [(1, 0), (2, 0), (3, 3)])
def test_strings_are_fused_from_three_up(parallel: int, fuses: int) -> None:
    """OC5: practically Np ≥ 3 (IEC 62548 §6.3.3, from memory)."""
    base = whole_house().system
    array = Array(PARTS.panel("285 W panel, 60 cells"), 2, parallel, FLAT, 180.0)
    plan = wire(WiringInputs(System(24.0, (array,), base.bank, base.controller)))
    assert sum(one.kind == "gPV" for one in plan.protections) == fuses


@pytest.mark.published
def test_winter_set_points() -> None:
    """14.4 V at 25 °C with −4 mV per cell and kelvin: 15.00 V at 0 °C, 14.04 V at 40 °C."""
    at = {"cells": 6.0, "mv_per_cell_k": -4.0}
    assert compensated_v(14.4, temperature_c=0.0, **at) == pytest.approx(15.00, abs=0.005)
    assert compensated_v(14.4, temperature_c=40.0, **at) == pytest.approx(14.04, abs=0.005)


@pytest.mark.published
def test_set_points_of_the_sheet_lie_in_the_usual_windows() -> None:
    """AGM: absorption 2.40 to 2.45, float 2.25 to 2.30 V a cell (trade practice, from memory)."""
    plan = wire(whole_house())
    points = {one.name: one for one in plan.settings if one.part == "controller"}
    absorption, float_ = points["absorption voltage"], points["float voltage"]
    assert isinstance(absorption.value, float)
    assert isinstance(float_.value, float)
    assert 12 * 2.40 <= absorption.value <= 12 * 2.45
    assert 12 * 2.25 <= float_.value <= 12 * 2.30
    # 35 K below 25 °C, −4 mV per cell and kelvin, 12 cells: 1.68 V more.
    assert absorption.winter == pytest.approx(absorption.value + 1.68, abs=1e-3)


@pytest.mark.published
def test_gauges_are_not_thinner_than_asked() -> None:
    """ASTM B258: 4 mm² asks for AWG 10 (5.26 mm²), 1.5 mm² for AWG 14, 10 mm² for AWG 6."""
    inputs = _inputs(sizes="awg")
    for size_mm2, gauge in ((1.5, "AWG 14"), (4.0, "AWG 10"), (10.0, "AWG 6")):
        capacity_a = {1.5: 19.0, 4.0: 35.0, 10.0: 62.0}[size_mm2]
        run = size_run(_cable(0.1, 1.0, 24.0, 5.0), inputs, capacity_needed_a=capacity_a)
        assert (run.size_mm2, run.label) == (size_mm2, gauge)


@pytest.mark.analytic
def test_more_copper_stops_paying_where_the_sum_is_least() -> None:
    """Copper grows with the area, waste falls with it: the best size by trying them all."""
    cable = _cable(5.0, 20.0, 24.0, 10.0)
    base = _inputs()
    inputs = WiringInputs(
        base.system, mean_square_a2={"a cable": 9.0}, energy_price=0.40, copper_years=15.0
    )
    run = size_run(cable, inputs, capacity_needed_a=5.0)
    ohm_per_km = {2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91, 16.0: 1.21}
    warm = 1.0 + 0.00393 * 10.0

    def total(size_mm2: float) -> float:
        wasted_kwh = 9.0 * 2.0 * 20.0 * ohm_per_km[size_mm2] / 1000.0 * warm * 8.76
        return 2.0 * 20.0 * price_per_m(size_mm2) + wasted_kwh * 15.0 * 0.40

    best = min((size for size in ohm_per_km if size >= run.size_mm2), key=total)
    assert run.economic_mm2 == economic_size_mm2(cable, inputs, run.size_mm2) == best
    wasted_wh = 9.0 * 2.0 * 20.0 * ohm_per_km[run.size_mm2] / 1000.0 * warm * 8760.0
    assert run.yearly_loss_wh == pytest.approx(wasted_wh, rel=1e-9)

"""What the cables lose in a year: the currents behind it, the money, where copper stops paying."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import numpy as np
import pytest
from tests.wiring.systems import apiary_hut, array, bank, farmhouse, one_lamp

from sunpantry.demand.series import LoadSeries
from sunpantry.parts.system import System
from sunpantry.plan.wires import mean_squares
from sunpantry.simulate import layout as at
from sunpantry.wiring import wire
from sunpantry.wiring.cables import price_per_m

pytestmark = pytest.mark.analytic
STEPS = 8760


def _load(name: str, supply: Any, power_w: float, peak_w: float) -> LoadSeries:
    return LoadSeries(
        name, supply, 1, np.full(STEPS, power_w), np.ones(STEPS, dtype=bool), peak_w, peak_w
    )


def _squares(system: System, loads: tuple[LoadSeries, ...], **traces: float) -> dict[str, float]:
    trace = np.zeros((at.TRACE_COLUMNS, STEPS))
    for column, value in traces.items():
        trace[getattr(at, column)] = value
    demand = SimpleNamespace(loads=loads, grid=SimpleNamespace(steps_per_year=STEPS))
    setting, proof = SimpleNamespace(demand=demand), SimpleNamespace(traces=trace)
    return mean_squares(cast(Any, setting), system, cast(Any, proof))


def test_currents_of_a_constant_year() -> None:
    """Steady currents: their square; a load that works a quarter of the time: a quarter of it."""
    loads = (_load("Lamp", "12 V", 6.0, 24.0), _load("Radio", "mains", 18.0, 18.0))
    system = replace(apiary_hut().system, controller_count=1)
    found = _squares(system, loads, TR_VOLT=12.0, TR_PV=60.0, TR_LOAD=24.0, TR_CURRENT=3.0)
    assert found["main"] == pytest.approx(9.0)
    assert found["battery 1"] == pytest.approx(9.0 / 4.0)  # two batteries, half the current each
    assert found["controller 1"] == pytest.approx(25.0)
    assert found["array 1"] == pytest.approx((60.0 / (2 * 18.4)) ** 2)
    assert found["board"] == pytest.approx((6.0 / 12.0) ** 2)
    assert found["inverter"] == pytest.approx((18.0 / 12.0) ** 2)
    assert found["load Lamp"] == pytest.approx((24.0 / 12.0) ** 2 / 4.0)
    assert found["load Radio"] == pytest.approx((18.0 / 230.0) ** 2)


def test_arrays_on_one_controller_share_its_cable() -> None:
    """Two arrays joined in one box: the cable behind it carries both."""
    found = _squares(farmhouse().system, (), TR_VOLT=50.0, TR_PV=1000.0)
    assert found["array 1"] == pytest.approx((1000.0 / (2 * farmhouse_vmp())) ** 2)


def farmhouse_vmp() -> float:
    """Vmp of its panel [V]."""
    return farmhouse().system.arrays[0].panel.vmp_v


def test_loss_and_its_worth() -> None:
    """I²R over 8760 hours, at the price of a kilowatt-hour; the economic size by trying all."""
    base = replace(one_lamp(), mean_square_a2={"load Hen house lamp": 4.0}, energy_price=0.5)
    plan = wire(base)
    (run,) = [one for one in plan.runs if one.cable.key == "load Hen house lamp"]
    ohm = run.loop_ohm(temperature_c=base.wiring.ambient_c)
    assert run.yearly_loss_wh is not None
    assert run.yearly_loss_wh == pytest.approx(4.0 * ohm * 8760.0)
    row = next(one for one in plan.to_json()["runs"] if one["id"] == run.cable.id)
    assert row["yearly_loss_price"] == pytest.approx(0.5 * run.yearly_loss_wh / 1000.0)

    def whole_cost(size_mm2: float) -> float:
        lost_kwh = 4.0 * ohm * run.size_mm2 / size_mm2 * 8.76
        return 2 * run.cable.length_m * price_per_m(size_mm2) + 15.0 * 0.5 * lost_kwh

    sold = [1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0]
    assert run.economic_mm2 == min(sold, key=whole_cost)
    assert any(found.rule == "more-copper" for found in plan.findings)


def test_a_lead_with_plugs_is_not_to_be_thicker() -> None:
    """5 V leads are bought as they come."""
    base = replace(apiary_hut(), mean_square_a2={"load Telephones": 9.0})
    (run,) = [one for one in wire(base).runs if one.cable.key == "load Telephones"]
    assert run.cable.role == "lead"
    assert run.economic_mm2 is None


@pytest.mark.parametrize(
    ("battery", "told"),
    [("12 V 7 Ah sealed lead-acid (AGM)", True), ("12 V 75 Ah flooded leisure", False)],
)
def test_equalising_is_told_to_be_off(battery: str, told: bool) -> None:
    """Every battery but a flooded one has the row 'equalising: off'."""
    base = one_lamp()
    system = System(12.0, (array("20 W panel, 36 cells"),), bank(battery), base.system.controller)
    rows = [one for one in wire(replace(base, system=system)).settings if one.name == "equalising"]
    assert [one.value for one in rows] == (["off"] if told else [])

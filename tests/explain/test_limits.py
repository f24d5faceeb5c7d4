"""What may stand in for a part: the part itself always may, a plainly wrong one may not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from sunpantry.explain.asked import PlanLike
from sunpantry.explain.limits import Limit, replacement_limits, running_w
from sunpantry.parts.system import System


def by_role(told: PlanLike, role: str) -> dict[tuple[str, str], Limit]:
    """Limits of one part by what they limit."""
    part = next(one for one in replacement_limits(told.setting, told.system) if one.role == role)
    return {(one.label, one.relation): one for one in part.limits}


def number(limit: Limit) -> float:
    """A limit that is a number."""
    assert isinstance(limit.value, float | int)
    return float(limit.value)


@pytest.mark.analytic
def test_the_voltage_limit_of_a_panel(hut: PlanLike) -> None:
    """Label volts times the growth in the cold may not pass what the controller bears."""
    limits = by_role(hut, "panel")
    panel, controller = hut.system.arrays[0].panel, hut.system.controller
    assert controller is not None
    coldest = hut.setting.climate.mean_annual_minimum_c
    # The label's coefficient, straight line (IEC 60891); the curve bends by less than 1 %.
    growth = 1.0 + panel.temp_coeff_voc_pct_per_k / 100.0 * (coldest - 25.0)
    most = number(limits["open-circuit voltage Voc", "at most"])
    assert most == pytest.approx(controller.max_pv_voc_v / growth, rel=0.01)


@pytest.mark.conservation
def test_the_part_itself_meets_its_limits(hut: PlanLike) -> None:
    """Otherwise the list would refuse what the plan proposes."""
    system = hut.system
    panel = system.arrays[0].panel
    limits = by_role(hut, "panel")
    assert number(limits["power", "at least"]) <= panel.power_w
    assert number(limits["voltage at full power Vmp", "at least"]) <= panel.vmp_v
    assert number(limits["voltage at full power Vmp", "at most"]) >= panel.vmp_v
    assert number(limits["open-circuit voltage Voc", "at most"]) >= panel.voc_v
    assert number(limits["short-circuit current Isc", "at most"]) >= panel.isc_a
    assert system.bank is not None
    battery = by_role(hut, "battery")
    assert number(battery["capacity at 20 h", "at least"]) <= system.bank.battery.capacity_ah
    assert system.inverter is not None
    inverter = by_role(hut, "inverter")
    assert number(inverter["power", "at least"]) <= system.inverter.rated_w
    assert number(inverter["surge power", "at least"]) <= system.inverter.surge_w
    assert number(inverter["idle draw", "at most"]) >= system.inverter.idle_w


@pytest.mark.analytic
def test_in_series_the_limit_is_shared(
    hut: PlanLike, with_system: Callable[[System], PlanLike]
) -> None:
    """Two in a string: each may have half the volts."""
    array = replace(hut.system.arrays[0], series=2)
    told = with_system(replace(hut.system, arrays=(array,)))
    one = number(by_role(hut, "panel")["open-circuit voltage Voc", "at most"])
    two = number(by_role(told, "panel")["open-circuit voltage Voc", "at most"])
    assert two == pytest.approx(one / 2.0)
    assert ("all panels", "same") in by_role(told, "panel")


@pytest.mark.independent
def test_what_runs_at_once(hut: PlanLike) -> None:
    """Step by step in a plain loop."""
    most = 0.0
    for step in range(hut.demand.grid.steps_per_year):
        now = sum(one.peak_w for one in hut.demand.loads
                  if one.supply == "mains" and one.running[step])  # fmt: skip
        most = max(most, now)
    assert running_w(hut.demand, "mains") == most
    assert np.isclose(running_w(hut.demand, "48 V"), 0.0)

"""Every shipped design is planned, keeps its promise and balances."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from tests.situations.conftest import PlanOf

from sunpantry.examples import examples
from sunpantry.report.plain import as_json
from sunpantry.report.plan_json import plan_json
from sunpantry.report.plan_text import plan_text

NAMES = [one.name for one in examples()]
SCHEMA = json.loads(
    (Path(__file__).resolve().parents[2] / "docs" / "plan.schema.json").read_text("utf-8")
)


@pytest.mark.regression
def test_all_situations_are_there_and_teach_something() -> None:
    assert len(NAMES) >= 11
    for one in examples():
        if one.name != "apiary-hut":
            assert 300 <= len(one.teaches) <= 1000, one.name
    elsewhere = [one for one in examples() if "Carrowmoor" not in one.title]
    assert len(elsewhere) == 3


@pytest.mark.conservation
@pytest.mark.parametrize("name", NAMES)
def test_plan_keeps_its_promise_and_balances(name: str, shipped: PlanOf) -> None:
    """What is gathered goes somewhere, and what the loads drew adds up to what was served."""
    plan = shipped(name)
    assert plan.search.kept
    assert plan.verdict.startswith("Yes")
    assert not [finding.sentence for finding in plan.findings if finding.severity.is_hard]
    if plan.wiring is not None:
        assert not [one.sentence for one in plan.wiring.findings if one.severity.is_hard]
    for proof in (plan.proof, plan.proof_new, plan.proof_darker):
        audit = proof.audit
        through = audit.gathered_wh + audit.brought_in_wh
        assert abs(audit.residual_wh) <= 1e-9 * through
        drawn = sum(load.drawn_wh_per_year for load in proof.loads)
        assert drawn == pytest.approx(audit.served_wh, rel=1e-9)
        if plan.system.bank is None and plan.water:
            continue  # a pump on a panel takes less or more for a litre as the light goes
        for load in proof.loads:
            whole = load.delivered_wh_per_year + load.unserved_wh_per_year
            # What waits in a queue at the end, or fills a tank, is neither.
            room = 0.02 if load.uses_missed_per_year is not None or plan.water else 1e-9
            assert whole == pytest.approx(load.energy_wh_per_year, rel=room)


@pytest.mark.regression
@pytest.mark.parametrize("name", NAMES)
def test_plan_is_told(name: str, shipped: PlanOf) -> None:
    plan = shipped(name)
    jsonschema.validate(json.loads(as_json(plan_json(plan))), SCHEMA)
    text = plan_text(plan)
    assert text.startswith(plan.verdict.split()[0])
    assert "nan" not in text.split()
    assert "inf" not in text.split()


@pytest.mark.regression
def test_three_figures_to_measure(shipped: PlanOf) -> None:
    house = shipped("whole-house")
    assert len(house.uncertain) == 3
    assert all("Measure it" in one.words for one in house.uncertain)
    named = {load.name for load in house.demand.loads if load.typical}
    assert {one.load for one in house.uncertain} <= named

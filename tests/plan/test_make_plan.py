"""The plan as a whole: what it promises, what it is made of, that it is the same every time."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

import pytest

from sunpantry.design.document import parse_design
from sunpantry.errors import InputError, SearchError
from sunpantry.plan import Plan, make_plan
from sunpantry.plan.verdict import promise_hours, promise_kept
from sunpantry.report.plain import as_json
from sunpantry.report.plan_json import plan_json
from sunpantry.report.plan_text import plan_text

SITE = """\
schema = 1
name = "Hut"
winters = 12

[site]
latitude = 54.1
longitude = -9.2
altitude = "30 m"

[[load]]
name = "Lamp"
power = "8 W"
supply = "12 V"
hours_per_day = 4
importance = "must"

"""
FIXED = """\
[[array]]
part = "{panel}"
count = 1
series = 1
tilt = "65°"
azimuth = "south"

[battery]
part = "12 V 60 Ah AGM"
count = 1
owned = true

[controller]
part = "PWM 10 A, 12/24 V"
count = 1
"""
Planner = Callable[[str], Plan]


@pytest.fixture(scope="module")
def planned() -> Planner:
    """Plan a document, once for each."""
    made: dict[str, Plan] = {}

    def plan(text: str) -> Plan:
        if text not in made:
            made[text] = make_plan(parse_design(text))
        return made[text]

    return plan


@pytest.mark.conservation
def test_energy_balance_closes_in_every_proof(planned: Planner) -> None:
    """What is gathered is delivered, lost or stored, to rounding."""
    plan = planned(SITE)
    for proof in (plan.proof, plan.proof_new, plan.proof_darker):
        audit = proof.audit
        assert abs(audit.residual_wh) < 1e-9 * audit.gathered_wh
        asked = sum(load.energy_wh_per_year for load in proof.loads)
        missing = sum(load.unserved_wh_per_year for load in proof.loads)
        assert missing == pytest.approx(proof.unserved_fraction * asked, rel=1e-6, abs=1e-6)


@pytest.mark.regression
def test_the_chosen_system_keeps_the_promise(planned: Planner) -> None:
    """A lamp that must burn burns in every winter, with a worn battery; no hard finding stands."""
    plan = planned(SITE)
    assert plan.search.kept
    assert promise_kept(plan.proof, promise_hours(plan.design))
    assert plan.proof.winters_without_shortfall == plan.proof.winters
    assert plan.proof.capacity_left < plan.proof_new.capacity_left
    assert not any(finding.severity.is_hard for finding in plan.findings)
    assert plan.verdict.startswith("Yes")


@pytest.mark.regression
def test_a_darker_place_is_never_better(planned: Planner) -> None:
    """A tenth less sun cannot gather more, nor leave fewer hours dark."""
    plan = planned(SITE + FIXED.format(panel="30 W panel, 36 cells"))
    assert plan.proof_darker.hours_without_power_per_year >= plan.proof.hours_without_power_per_year
    offered = sum(month.offered_wh for month in plan.proof.months)
    assert sum(month.offered_wh for month in plan.proof_darker.months) < offered
    assert "a tenth darker" in plan.verdict_if_darker


@pytest.mark.conservation
def test_as_the_battery_ages(planned: Planner) -> None:
    """Begins where the run with a new battery is, is told in text and JSON, never gets brighter."""
    plan = planned(SITE + FIXED.format(panel="30 W panel, 36 cells"))
    fading = plan.fading
    assert fading is not None
    new = plan.proof_new.hours_without_power_per_year
    assert fading.first.hours_without == pytest.approx(new, rel=1e-12)
    assert fading.first.hours_without <= fading.last.hours_without
    assert fading.last.hours_without <= plan.proof.hours_without_power_per_year
    assert [one.year for one in fading.years] == list(range(1, 13))
    told = plan_json(plan)["as_the_battery_ages"]
    assert told["replaced_after"] == fading.replaced_after
    assert told["words"] in " ".join(plan_text(plan).split())
    assert plan.topping_up is None  # AGM


@pytest.mark.regression
def test_load_terminals_of_the_document_limit_the_loads(planned: Planner) -> None:
    """An 8 W lamp and 150 W more on terminals for 10 A: what may wait is left out when it runs."""
    pump = """
[[load]]
name = "Pond pump"
power = "150 W"
supply = "12 V"
from = "11:00"
until = "13:00"
importance = "may"
"""
    parts = FIXED.format(panel="100 W panel, 36 cells")
    free, bound = (
        planned(SITE + pump + parts),
        planned(SITE + pump + parts + 'loads_fed_from = "load output"\n'),
    )
    assert bound.proof.hours_without_by_class[2] == pytest.approx(2 * 365.0)
    assert free.proof.hours_without_by_class[2] < bound.proof.hours_without_by_class[2]
    assert bound.proof.hours_without_by_class[0] <= free.proof.hours_without_by_class[0]
    assert any(one.rule == "load-output" and one.severity.is_hard for one in bound.findings)


@pytest.mark.regression
def test_fixed_parts_are_kept_and_judged(planned: Planner) -> None:
    """A panel too small for December is told, and what is owned costs nothing."""
    plan = planned(SITE + FIXED.format(panel="20 W panel, 36 cells"))
    assert plan.verdict.startswith("No")
    assert not plan.search.kept
    battery = next(part for part in plan.parts if part.role == "battery")
    assert battery.to_pay == 0.0
    december = plan.proof.months[11].hours_without
    assert december > 10 * plan.proof.months[5].hours_without


@pytest.mark.regression
def test_the_frontier_holds_no_beaten_system(planned: Planner) -> None:
    """Dearer means safer, the choice is among the points, costs are those of the bill."""
    plan = planned(SITE)
    points = plan.frontier
    assert any(point.system == plan.system for point in points)
    for cheap, dear in pairwise(points):
        assert cheap.total < dear.total
        assert cheap.hours_without > dear.hours_without
    assert plan.cost.purchase == pytest.approx(sum(part.to_pay for part in plan.parts))


@pytest.mark.analytic
def test_every_headline_number_carries_its_working(planned: Planner) -> None:
    """Life and balance can be worked out again from the inputs that are told."""
    plan = planned(SITE)
    figures = {figure.name: figure for figure in plan.workings}
    life = figures["battery life"]
    given = {one.name: float(one.value) for one in life.inputs}
    used = given["cycling"] + given["calendar"] + given["standing empty"]
    assert life.value == pytest.approx(min(1.0 / used, 25.0))
    assert any(name.startswith("by hand: battery capacity") for name in figures)
    assert all(figure.source and figure.formula for figure in plan.workings)


@pytest.mark.regression
def test_nothing_on_the_list_fits_is_told() -> None:
    """A load beyond any part ends in a sentence, not in a traceback."""
    text = SITE.replace('power = "8 W"', 'power = "90 kW"').replace("winters = 12", "winters = 2")
    with pytest.raises((InputError, SearchError), match="parts"):
        make_plan(parse_design(text))


@pytest.mark.regression
def test_the_same_bytes_with_one_thread_or_two(tmp_path: Path, planned: Planner) -> None:
    """The number of threads and a fresh process change nothing."""
    document = tmp_path / "hut.toml"
    document.write_text(SITE, "utf-8")
    here = as_json(plan_json(planned(SITE)))
    environment = {**os.environ, "NUMBA_NUM_THREADS": "1"}
    command = "import sys; from sunpantry.cli import main; sys.exit(main(sys.argv[1:]))"
    done = subprocess.run(
        [sys.executable, "-c", command, "plan", str(document), "--json"],
        check=True,
        capture_output=True,
        env=environment,
    )
    assert done.stdout.decode("utf-8") == here
    assert json.loads(here)["seed"] == 1

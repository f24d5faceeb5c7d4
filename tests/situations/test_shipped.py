"""Every shipped design is planned, keeps its promise and balances."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import jsonschema
import pytest
from starlette.applications import Starlette
from tests.situations import pseudo
from tests.situations.plans import PlanOf

from sunpantry import language
from sunpantry.examples import example, examples
from sunpantry.report.charts import charts_of
from sunpantry.report.plain import as_json
from sunpantry.report.plan_json import plan_json
from sunpantry.report.plan_text import plan_text
from sunpantry.store import open_store
from sunpantry.timegrid import MONTH_LENGTHS
from sunpantry.web import tasks
from sunpantry.web.answer import Answer
from sunpantry.web.app import create_app
from sunpantry.web.settings import Settings
from sunpantry.web.tasks import Found

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
        by_month = sum(
            days * month.served_wh for days, month in zip(MONTH_LENGTHS, proof.months, strict=True)
        )
        assert by_month == pytest.approx(audit.served_wh, rel=1e-9)
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


@pytest.fixture(scope="module")
def page(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Starlette]:
    """The page without its workers."""
    folder = tmp_path_factory.mktemp("page")
    store = open_store(f"sqlite:///{folder / 'designs.sqlite'}")
    yield create_app(Settings(data_folder=folder), store)
    store.close()


@pytest.mark.regression
@pytest.mark.parametrize("name", NAMES)
def test_page_can_be_said_in_any_language(
    name: str, shipped: PlanOf, page: Starlette, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every word on the page of a design is a translatable message, a name or a number."""
    plan, one = shipped(name), example(name)
    with monkeypatch.context() as patch:
        patch.setattr(tasks, "plan_of", lambda *_: plan)
        answer = tasks.answer(one.text, Found("", plan.system, plan.search, ()))
    assert isinstance(answer, Answer)
    spoken = pseudo.spoken(monkeypatch)
    text = pseudo.rendered(page, one, answer)
    names = pseudo.names_of(plan)
    assert list(pseudo.untranslated(text, names)) == []
    assert list(pseudo.unknown(spoken, names)) == []


@pytest.mark.regression
@pytest.mark.parametrize("name", ["apiary-hut", "water-from-the-sun", "whole-house"])
def test_charts_can_be_said_in_any_language(
    name: str, shipped: PlanOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Titles, axes, keys and text alternatives hold messages, names and numbers alone."""
    plan = shipped(name)
    pseudo.spoken(monkeypatch)
    names = pseudo.names_of(plan) | {"Isc", "Voc"}
    with language.speaking("de"):
        for chart in charts_of(plan, locale="de_DE", hover=True):
            said = [chart.title, chart.alt, *pseudo.texts_of(chart.spec)]
            assert [one for one in said if not pseudo.is_said(one, names)] == [], chart.name

"""The closer look at a winter: a day, a week, a month."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import httpx
import pytest

from sunpantry.web import tasks
from sunpantry.web.span_chart import Span, span_chart

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan

HUT = (Path(__file__).parent / "hut.toml").read_text("utf-8")


@pytest.fixture(scope="module")
def plan() -> Plan:
    """The lamp in the hut, proven."""
    found = tasks.search(HUT)
    assert isinstance(found, tasks.Found)
    made = tasks.plan_of(HUT, found)
    assert made is not None
    return made


def rows(plan: Plan, span: Span) -> list[dict[str, Any]]:
    """Data of the chart."""
    values: list[dict[str, Any]]
    values = span_chart(plan, span, theme="light", locale=None).spec["data"]["values"]
    return values


@pytest.mark.conservation
def test_a_month_adds_up_to_the_table_of_months(plan: Plan) -> None:
    """June of every winter, hour by hour, has the mean energies that the proof tells."""
    step_h, days = plan.demand.grid.step_h, 30
    for key, told in (("loads", "served_wh"), ("missing", "unserved_wh"), ("sun", "gathered_wh")):
        total = sum(
            row[key] * step_h
            for winter in range(1, plan.proof.winters + 1)
            for row in rows(plan, Span(winter, 6, 1, days))
        )
        # the hour of summer time moves one hour over each end of the month
        mean = getattr(plan.proof.months[5], told)
        assert total / days / plan.proof.winters == pytest.approx(mean, rel=0.01, abs=0.01)


@pytest.mark.regression
def test_days_are_found_by_the_calendar(plan: Plan) -> None:
    """A day has its hours; the last days of the grid and impossible days are no trouble."""
    day = rows(plan, Span(2, 12, 21, 1))
    assert len(day) == plan.demand.grid.steps_per_day
    assert day[0]["when"] == "21 December, 00:00"
    assert len(rows(plan, Span(99, 2, 31, 7))) == 7 * plan.demand.grid.steps_per_day
    assert rows(plan, Span(1, 6, 30, 30))[0]["when"].endswith("00:00")


@pytest.mark.regression
def test_the_darkest_days_come_by_themselves(plan: Plan) -> None:
    """Without a choice: the worst winter, and in it the emptiest battery."""
    shown = rows(plan, Span())
    lowest = plan.proof.worst_winters[0].lowest_charge
    assert min(row["charge"] for row in shown) == pytest.approx(lowest, abs=0.002)


@pytest.mark.regression
def test_the_page_takes_the_choice(client: httpx.Client, new_design: Callable[..., str]) -> None:
    """From the form to the picture; nonsense is taken for nothing chosen."""
    at = f"/designs/{new_design()}"
    asked = "winter=2&days=1&month=12&day=20"
    page = client.get(f"{at}/pictures?{asked}").text
    assert re.search(r"Winter 2, 20 December", page)
    assert 'value="1" selected' in page
    spec = client.get(f"{at}/chart/span.json?{asked}").json()
    assert spec["title"].startswith("Winter 2, 20 December")
    assert client.get(f"{at}/chart/span.svg?{asked}").text.startswith("<svg")
    for odd in ("winter=-1", "winter=5000&days=3", "day=99999999&month=13", "days=x"):
        assert client.get(f"{at}/pictures?{odd}").status_code == 200, odd

"""The verdict that comes first is the verdict of the whole plan, to the last digit."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sunpantry.plan import make_plan
from sunpantry.sizing.frontier import FrontierPoint
from sunpantry.web import tasks
from sunpantry.web.answer import Answer, Glance, glance_of_plan
from sunpantry.web.documents import choice_key, read_document
from sunpantry.web.tasks import Bench, Found

pytestmark = pytest.mark.regression

WASH = """
schema = 1
name = "Wash-house"
winters = 3
bank_voltage = "12 V"
[site]
latitude = 53.87
longitude = -9.33
[[load]]
name = "Washing machine"
like = "washing machine, cold wash"
uses_per_week = 3
can_wait = { days = 5, rule = "battery above 80 %" }
importance = "may"
[[load]]
name = "Lamp"
power = "8 W"
supply = "12 V"
hours_per_day = 2
[[array]]
part = "100 W panel, 36 cells"
series = 1
parallel = 3
tilt = 60
azimuth = 180
[battery]
part = "12 V 100 Ah AGM"
count = 2
[controller]
part = "PWM 20 A, 12/24 V"
[inverter]
part = "1000 W sine, 12 V"
off_when_idle = true
[backup]
kind = "generator"
power = "800 W"
"""


def pinned(text: str) -> Found:
    """Parts as if they had been chosen for another document."""
    plan = make_plan(read_document(text))
    return Found("chosen before", plan.system, plan.search, ())


def same(quick: object, whole: Glance) -> None:
    """Everything but the time it took."""
    assert isinstance(quick, Glance), quick
    assert replace(quick, took_s=0.0) == replace(whole, took_s=0.0)


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ('power = "8 W"', 'power = "11 W"'),
        ("uses_per_week = 3", "uses_per_week = 6"),
        ("latitude = 53.87", "latitude = 52.1"),
        ("tilt = 60", "tilt = 20"),
        ("parallel = 3", "parallel = 2"),
        ('power = "800 W"', 'power = "300 W"'),
    ],
)
def test_jobs_that_wait_an_inverter_a_generator(before: str, after: str) -> None:
    """Each change of the wash-house, with parts and sky remembered from before it."""
    found = pinned(WASH)
    assert isinstance(tasks.glance(WASH, found), Glance)
    text = WASH.replace(before, after)
    assert text != WASH
    quick = tasks.glance(text, found)
    same(quick, glance_of_plan(make_plan(read_document(text)), 0.0))
    whole = tasks.answer(text, found)
    assert isinstance(whole, Answer), whole
    same(quick, whole.glance)


def test_pieces_make_the_same_answer(hut: str) -> None:
    """An answer made in pieces, with other questions in between, is the answer made at once."""
    found = replace(pinned(hut), key=choice_key(hut))
    at_once = tasks.answer(hut, found)
    assert isinstance(at_once, Answer)
    Bench.plans.drop(tasks.digest(hut) + found.key)
    other, pieces = hut.replace("8 W", "9 W"), 0
    while (result := tasks.piece_of_answer(hut, found)) is None:
        pieces += 1
        assert isinstance(tasks.glance(other, replace(found, key="before")), Glance)
    assert isinstance(result, Answer)
    assert pieces > 5
    assert result.plan == at_once.plan
    assert result.drawings == at_once.drawings
    assert result.pinned == at_once.pinned
    same(result.glance, at_once.glance)


def test_parts_of_before_are_not_called_the_cheapest_of_now() -> None:
    """What a search found out is told of the document it searched for, and of no other."""
    chosen = make_plan(read_document(WASH))
    point = object()
    before = Found("for another document", chosen.system, chosen.search, (point,), (point,))
    plan = tasks.plan_of(WASH, before)
    assert plan is not None
    assert plan.frontier == ()
    assert plan.alternatives == ()
    assert "before the last changes" in plan.search.words
    assert plan.search.spoke_for == 1
    of_this = Found(choice_key(WASH), chosen.system, chosen.search, ())
    again = tasks.plan_of(WASH, of_this)
    assert again is not None
    assert again.search == chosen.search


def test_what_a_pipe_costs_is_counted_once() -> None:
    """What more or less money buys names the same total as the cost of what was chosen."""
    pump = """
[[pump]]
name = "Pump"
into = "Tank"
supply = "12 V"
static_head = "14 m"
pipe_length = "260 m"
rated_flow = "14 L/min"
rated_head = "22 m"
rated_power = "120 W"
[[tank]]
name = "Tank"
volume = "2000 L"
litres_per_day = 100
"""
    text = WASH + pump
    whole = make_plan(read_document(text))
    assert any(part.role == "pipe" and part.unit_price for part in whole.parts)
    point = FrontierPoint(
        system=whole.system,
        total=whole.cost.total,
        purchase=whole.cost.purchase,
        hours_without=0.0,
        winters_without_shortfall=3,
        weight_kg=None,
        words="",
        proven=True,
    )
    plan = tasks.plan_of(text, Found(choice_key(text), whole.system, whole.search, (point,)))
    assert plan is not None
    assert plan.frontier[0].total == plan.cost.total

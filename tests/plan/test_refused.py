"""Designs without an answer: which part is the limit, and what to do."""

from __future__ import annotations

import pytest

from sunpantry.design.document import parse_design
from sunpantry.errors import SearchError
from sunpantry.plan import make_plan

SITE = """
schema = 1
name = "Too much"
winters = 3
[site]
latitude = 53.9
longitude = -9.3
"""
MILL = """
[[load]]
name = "Mill"
power = "20 kW"
supply = "mains"
hours_per_day = 1
"""
LAMP = """
[[load]]
name = "Lamp"
power = "{power}"
supply = "12 V"
hours_per_day = 24
[search]
bank_voltages = ["12 V"]
max_panels = 1
max_batteries = 1
{more}
"""


@pytest.mark.regression
def test_no_inverter_on_the_list_is_large_enough() -> None:
    """A mill of 20 kW: the inverter is named, with what it gives and what is asked."""
    with pytest.raises(SearchError, match=r"The limit is the inverter.* 20,000 W at once"):
        make_plan(parse_design(SITE + MILL))


@pytest.mark.regression
def test_no_battery_of_the_kind_makes_the_bank() -> None:
    """A power bank alone is allowed, and 12 V asked: the battery is the limit."""
    text = SITE + LAMP.format(power="3 W", more='chemistries = ["power_bank"]')
    with pytest.raises(SearchError, match="The limit is the battery: none on the list"):
        make_plan(parse_design(text))


@pytest.mark.regression
def test_the_closest_says_what_is_short() -> None:
    """One panel and one battery for 100 W all day: shown, not kept, and the sun is the limit."""
    plan = make_plan(parse_design(SITE + LAMP.format(power="100 W", more="")))
    assert not plan.search.kept
    assert "The limit is the sun on the panels" in plan.search.words
    assert "max_panels is 1" in plan.search.words
    assert len(plan.frontier) == 1


@pytest.mark.regression
def test_no_more_panels_where_there_is_no_sun() -> None:
    """In the polar night (Tromsø's latitude) more panels are no help, and are not proposed."""
    far_north = SITE.replace("53.9", "69.6").replace("-9.3", "18.9")
    plan = make_plan(parse_design(far_north + LAMP.format(power="10 W", more="")))
    assert "The limit is the sun: " in plan.search.words
    assert "max_panels" not in plan.search.words


@pytest.mark.regression
def test_all_too_heavy_says_what_the_lightest_weighs() -> None:
    """So much can be carried as the lightest weighs: then, and only then, there is an answer."""
    text = SITE + LAMP.format(power="3 W", more='max_weight = "0.5 kg"')
    with pytest.raises(SearchError, match="the lightest that go together weigh") as told:
        make_plan(parse_design(text))
    lightest_kg = float(str(told.value).split("weigh ")[-1].split(" kg")[0])
    enough = text.replace("0.5 kg", f"{lightest_kg + 0.05} kg")
    plan = make_plan(parse_design(enough))
    assert plan.search.words
    if not plan.search.kept:
        assert "max_weight is" in plan.search.words


@pytest.mark.regression
def test_a_weight_that_stands_in_the_way_is_the_limit_told() -> None:
    """Not the number of panels, where heavier systems would keep the promise."""
    text = SITE + LAMP.format(power="3 W", more="")
    free = make_plan(parse_design(text.replace("max_panels = 1", "max_panels = 4")))
    assert free.search.kept
    tight = text.replace("max_panels = 1", 'max_panels = 4\nmax_weight = "4 kg"')
    plan = make_plan(parse_design(tight))
    assert not plan.search.kept
    assert "max_weight is 4 kg" in plan.search.words

"""A second source in the search: its trips and their price count, as by running every system."""

from __future__ import annotations

import numpy as np
import pytest
from tests.sizing.cases import Case, case_of, reduced_catalogue

from sunpantry.parts.system import System
from sunpantry.simulate.second_source import second_source_of
from sunpantry.sizing.answer import Answer
from sunpantry.sizing.search import Searcher
from sunpantry.sizing.trips import few_enough, quantile, trips_of

FENCE = """
schema = 1
name = "Fence"
winters = 3
[site]
latitude = 50.0
longitude = 0.0
[[load]]
name = "Fence"
power = "4 W"
supply = "12 V"
hours_per_day = 24
importance = "must"
[promise]
must = "0 h"
[search]
max_panels = 3
max_batteries = 2
bank_voltages = ["12 V"]
[backup]
kind = "carried_battery"
carried = "500 Wh"
start_below = 40
stop_above = 70
"""
# Running cost in what is minimised: cheap and dear fuel, cheap and dear mains.
RUNNING = tuple(
    f'[backup]\nkind = "{kind}"\npower = "60 W"\n{price} = {each}\nprice = 20\n'
    for kind, price in (("generator", "fuel_price"), ("mains", "energy_price"))
    for each in (0.5, 60)
)
TERMS = ("", "trip_cost = 2\n", "trip_cost = 40\n", "max_per_winter = 1\n", "max_per_winter = 0\n")


def helped_case(terms: str, number: int) -> Case:
    """The fence on a reduced list, in the west of Ireland or in Finland."""
    return case_of(
        FENCE + terms, reduced_catalogue(np.random.default_rng(number)), site=3 * (number % 2)
    )


def searcher_of(case: Case) -> Searcher:
    """Search of the case with its second source."""
    backup = case.design.backup
    assert backup is not None
    return Searcher(
        case.setting,
        case.space,
        case.pricing,
        second_source=second_source_of(backup),
        most_trips=backup.max_per_winter,
        most_years_checked=10**9,
        tried_at_once=4,
    )


def brute_force(case: Case) -> Answer | None:
    """Run every system with the second source, count its trips, take the cheapest."""
    searcher = searcher_of(case)
    backup = case.design.backup
    assert backup is not None
    kept = []
    for answer in searcher.answers(list(case.space)):
        brought = searcher.trials().outcomes[answer.choice].backup_wh_by_winter
        trips = sorted(-(-wh // 500.0) for wh in brought)
        # of three winters, nine in ten are all three
        few = backup.max_per_winter is None or trips[-1] <= backup.max_per_winter
        if few and case.demanded.kept(np.array(answer.hours_by_class), answer.hours_without_power):
            kept.append(answer)
    return min(kept, key=lambda one: one.rank, default=None)


@pytest.mark.independent
@pytest.mark.parametrize("number", [3, 4])
@pytest.mark.parametrize("terms", TERMS)
def test_search_with_carried_batteries_equals_brute_force(terms: str, number: int) -> None:
    """Trips for nothing, cheap, dear, at most one a winter, none: as by running everything."""
    case = helped_case(terms, number)
    expected, result = brute_force(case), searcher_of(case).find(case.demanded)
    assert result.proven
    assert (result.best is None) == (expected is None)
    if expected is not None:
        assert result.best is not None
        assert result.best.rank == expected.rank


@pytest.mark.independent
@pytest.mark.parametrize("number", [5, 7])
@pytest.mark.parametrize("source", RUNNING)
def test_search_with_fuel_and_mains_equals_brute_force(source: str, number: int) -> None:
    """What is burnt or bought costs money in every system: as by running everything."""
    text = FENCE.partition("[backup]")[0] + source
    case = case_of(text, reduced_catalogue(np.random.default_rng(number)), site=3 * (number % 2))
    expected, result = brute_force(case), searcher_of(case).find(case.demanded)
    assert result.proven
    assert expected is not None
    assert result.best is not None
    assert result.best.rank == expected.rank


@pytest.mark.analytic
def test_dear_trips_buy_a_larger_system() -> None:
    """What trips cost is in what is minimised: dearer ones are bought off, and are paid for."""

    def watts(system: System) -> float:
        stored = 0.0 if system.bank is None else system.bank.energy_wh
        return system.array_power_w + stored

    found = []
    for terms in ("trip_cost = 0\n", "trip_cost = 40\n"):
        case = helped_case(terms, 3)
        best = searcher_of(case).find(case.demanded).best
        assert best is not None
        found.append(best)
    assert found[0].cost.running == 0.0
    assert watts(found[0].system) < watts(found[1].system)
    assert found[0].cost.purchase < found[1].cost.purchase


@pytest.mark.analytic
def test_trips_are_counted_whole_and_nine_winters_in_ten_decide() -> None:
    """500 Wh are one battery, 501 Wh two; the worst of ten winters may need more."""
    assert trips_of([0.0, 500.0, 501.0], 500.0) == (0, 1, 2)
    winters = (1,) * 9 + (7,)
    assert quantile(winters, 0.9) == 1
    assert few_enough(winters, 1)
    assert not few_enough((1,) * 8 + (7, 7), 1)
    assert few_enough((), 0)
    assert few_enough(winters, None)

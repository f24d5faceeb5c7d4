"""Neighbours of the choice: cheaper and darker, dearer and safer, none beaten by another."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from tests.sizing.cases import brute_force, random_case

from sunpantry.design.document import parse_design
from sunpantry.errors import InputError
from sunpantry.sizing.frontier import frontier_of, undominated, weight_of
from sunpantry.sizing.margin import safest_tilt

SEEDS = (8, 65, 116, 122)


@pytest.mark.independent
@pytest.mark.parametrize("seed", SEEDS)
def test_no_system_of_the_space_beats_a_point_of_the_frontier(seed: int) -> None:
    """Every system of the space is run: none is cheaper and lighter in hours than a point."""
    case = random_case(seed)
    searcher = case.searcher()
    searcher.most_years_checked = 10**9
    chosen = searcher.find(case.demanded).best
    assert chosen is not None
    points = frontier_of(searcher, case.demanded, chosen)
    everything = case.searcher().answers(list(case.space))
    cost = np.array([one.cost.total for one in everything])
    hours = np.array([one.hours_without_power for one in everything])
    own = (chosen.cost.total, chosen.hours_without_power)
    for point in points:
        if (point.total, point.hours_without) == own:
            continue  # the choice keeps a promise by class, which a cheaper one may break
        kept = np.array(
            [
                point.hours_without > own[1]
                or case.demanded.kept(np.array(one.hours_by_class), one.hours_without_power)
                for one in everything
            ]
        )
        beats = (cost < point.total - 1e-6) & (hours <= point.hours_without + 1e-9) & kept
        assert not beats.any()


@pytest.mark.analytic
@pytest.mark.parametrize("seed", SEEDS)
def test_points_rise_in_cost_and_fall_in_hours(seed: int) -> None:
    """Cheapest first, each dearer one with fewer hours without power; beaten ones are out."""
    case = random_case(seed)
    searcher = case.searcher()
    chosen = searcher.find(case.demanded).best
    assert chosen is not None
    points = frontier_of(searcher, case.demanded, chosen)
    totals = [point.total for point in points]
    hours = [point.hours_without for point in points]
    assert points
    assert totals == sorted(totals)
    assert hours == sorted(hours, reverse=True)
    assert len(set(zip(totals, hours, strict=True))) == len(points)
    assert undominated([chosen, chosen]) == [chosen]


@pytest.mark.independent
@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("share", [0.6, 0.85])
def test_search_under_a_largest_weight_equals_brute_force(seed: int, share: float) -> None:
    """Everything of the whole list that is light enough is run; the answer is the cheapest."""
    case = random_case(seed)
    first = case.searcher().find(case.demanded).best
    assert first is not None
    most_kg = share * (weight_of(first.system) or 0.0)
    light = replace(case, space=case.space.no_heavier_than(most_kg))
    weights = [weight_of(case.space.system(one)) for one in case.space]
    assert light.space.systems == sum(one is not None and one <= most_kg for one in weights)
    searcher = light.searcher()
    searcher.most_years_checked = 10**9
    best, expected = searcher.find(case.demanded).best, brute_force(light)
    assert (best is None) == (expected is None)
    if best is not None and expected is not None:
        assert best.rank == expected.rank


@pytest.mark.analytic
@pytest.mark.parametrize("seed", SEEDS)
def test_no_point_beats_another_in_cost_hours_and_weight(seed: int) -> None:
    """Three measures: of any two points each is better in one."""
    case = random_case(seed)
    searcher = case.searcher()
    chosen = searcher.find(case.demanded).best
    assert chosen is not None
    points = frontier_of(searcher, case.demanded, chosen, weigh=True)
    merits = [(one.total, one.hours_without, one.weight_kg or np.inf) for one in points]
    for one in merits:
        for other in merits:
            assert one is other or any(a < b for a, b in zip(one, other, strict=True))


@pytest.mark.regression
@pytest.mark.parametrize("wrong", ['"0 kg"', '"30 m"', '"-3 kg"'])
def test_a_wrong_weight_is_named(wrong: str) -> None:
    """The message names the key."""
    with pytest.raises(InputError, match="max_weight"):
        parse_design(f'schema = 1\nname = "x"\n[search]\nmax_weight = {wrong}\n')


@pytest.mark.independent
@pytest.mark.parametrize("seed", SEEDS)
def test_safest_tilt_is_no_dearer_and_keeps_the_promise(seed: int) -> None:
    """The same parts; as cheap as brute force says; the promise is kept."""
    case = random_case(seed)
    searcher, best = case.searcher(), brute_force(case)
    assert best is not None
    taken = safest_tilt(searcher, case.demanded, best, darker=case.setting)
    assert taken.cost.total <= best.cost.total + 1e-6
    assert case.demanded.kept(np.array(taken.hours_by_class), taken.hours_without_power)
    assert taken.choice._replace(tilt=0) == best.choice._replace(tilt=0)

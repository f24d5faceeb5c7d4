"""Neighbours of the choice: cheaper and darker, dearer and safer, none beaten by another."""

from __future__ import annotations

import numpy as np
import pytest
from tests.sizing.cases import random_case

from sunpantry.sizing.frontier import frontier_of, undominated

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

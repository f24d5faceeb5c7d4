"""Bounds must hold for every system: the ideal store, the cost, a year begun full."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from tests.sizing.cases import random_case

from sunpantry.sizing import relaxed as rx
from sunpantry.sizing.lanes import Lanes
from sunpantry.sizing.longest_life import without_deepest
from sunpantry.sizing.space import Choice
from sunpantry.sizing.trials import Verdict

FULL_WH, ETA = 100.0, 0.9


@pytest.mark.conservation
@pytest.mark.parametrize("seed", range(600, 624))
def test_no_bound_rules_out_a_system_that_keeps_the_promise(seed: int) -> None:
    """Whatever keeps the promise passes the ideal store and the dark years, at its least cost."""
    case = random_case(seed)
    choices = list(case.space)
    rng = np.random.default_rng(seed)
    some = sorted(rng.choice(len(choices), size=min(60, len(choices)), replace=False).tolist())
    searcher = case.searcher()
    good = [
        answer
        for answer in searcher.answers([choices[number] for number in some])
        if case.demanded.kept(np.array(answer.hours_by_class), answer.hours_without_power)
    ]
    bounds = searcher.trials().bounds
    broken = bounds.broken(
        [bounds.case(answer.system, case.demanded) for answer in good],
        [bounds.light.parts(answer.system, pwm_exact=True) for answer in good],
    )
    assert not broken.any()
    # a searcher of its own, which does not know the results yet
    verdicts = case.searcher().trials().judge([one.choice for one in good], case.demanded)
    assert set(verdicts) <= {Verdict.PASSED}
    least = {
        Choice(block.group, block.feed, block.bank, int(pair), block.tilt): float(cost)
        for block in Lanes(case.space, bounds, case.pricing, case.demanded).band(0.0, np.inf)
        for pair, cost in zip(block.pairs, block.costs, strict=True)
    }
    for answer in good:
        assert least[answer.choice] <= answer.cost.total + 1e-6


def case_row(**values: float) -> np.ndarray:
    """A case of the ideal store without losses or limits, as far as not said otherwise."""
    row = np.zeros(rx.C_COLUMNS)
    row[rx.C_FULL], row[rx.C_ETA], row[rx.C_CONVERSION] = FULL_WH, 1.0, 1.0
    row[rx.C_CLIP_W] = row[rx.C_MOST_IN_W] = row[rx.C_COLD_IN_W] = np.inf
    row[rx.C_MIN_C] = -100.0
    row[rx.C_ASKS : rx.C_ASKS + rx.STORES] = 1.0
    for name, value in values.items():
        row[getattr(rx, name)] = value
    return row


def plain(function: Any) -> Any:
    """The Python function behind a compiled one."""
    return function.py_func


@pytest.mark.analytic
@pytest.mark.parametrize("form", [plain, lambda function: function])
def test_store_drained_by_a_steady_load(form: Callable[[Any], Any]) -> None:
    """100 Wh carry 10 W for ten hours; the eleventh and twelfth go without: 20 Wh missing."""
    steps = 12
    load = np.zeros((3, steps))
    load[0] = 10.0
    short = form(rx._short_together)(
        case_row(), np.zeros(steps), np.full(steps, np.inf), load, 1, np.array([[0, steps]]), 1.0
    )
    assert short == pytest.approx(20.0)


@pytest.mark.analytic
@pytest.mark.parametrize("form", [plain, lambda function: function])
def test_store_refilled_with_losses_and_limits(form: Callable[[Any], Any]) -> None:
    """Empty after 5 h of 20 W; 4 h of 10 W sun at 90 % give 36 Wh; then 3 h ask 60 Wh: 24 short.

    With at most 5 W taken in, 20 Wh are there and 40 Wh are missing.
    """
    net = np.array([0.0] * 5 + [10.0] * 4 + [0.0] * 3)
    load = np.zeros((3, 12))
    load[0] = [20.0] * 5 + [0.0] * 4 + [20.0] * 3
    whole = np.array([[0, 12]])
    case = case_row(C_ETA=ETA)
    together = form(rx._short_together)
    assert together(case, net, np.full(12, np.inf), load, 1, whole, 1.0) == pytest.approx(24.0)
    assert together(case, net, np.full(12, 5.0), load, 1, whole, 1.0) == pytest.approx(40.0)


@pytest.mark.analytic
@pytest.mark.parametrize("form", [plain, lambda function: function])
def test_second_class_goes_below_its_level(form: Callable[[Any], Any]) -> None:
    """10 W must and 10 W should from 100 Wh: above 40 Wh both are served (three hours), then
    the second goes without while the first draws on, even from an empty store."""
    steps = 12
    load = np.zeros((3, steps))
    load[0], load[1] = 10.0, 10.0
    short = form(rx._short_beside)(
        case_row(C_SHOULD_ABOVE=41.0, C_MAY_ABOVE=41.0),
        np.zeros(steps),
        np.full(steps, np.inf),
        load,
        2,
        np.array([[0, steps]]),
        1.0,
    )
    assert short == pytest.approx((steps - 3) * 10.0)


@pytest.mark.analytic
def test_least_power_of_a_steady_balance() -> None:
    """Light of 1 W a rated watt by day and 5 W asked day and night need 10 W, found to 3 %.

    The store holds less than one night short of balance, so that energy decides.
    """
    steps = 24 * 60
    day = np.tile(np.repeat([1.0, 0.0], 12), 60)
    place = np.where(day > 0.0, np.cumsum(day) - 1, -1).astype(np.int64)
    case = case_row(C_FULL=70.0)
    case[rx.C_BUDGET : rx.C_BUDGET + rx.STORES] = 1e-3
    found = np.zeros(1)
    rx.least_power(
        case[None, :],
        0,
        np.array([50.0]),
        np.array([200.0]),
        np.ones((1, int(day.sum())), dtype=np.float32),
        place,
        np.full((1, steps), 20.0),
        np.full((1, 3, steps), [[5.0], [0.0], [0.0]]),
        np.array([[0, steps]]),
        1,
        1.0,
        found,
    )
    assert 9.7 <= found[0] <= 10.0


@pytest.mark.analytic
def test_cold_keeps_the_bank_from_taking() -> None:
    """Below the lowest charging temperature nothing is taken, unless a heater lets some in."""
    taken = np.zeros(4)
    cells = np.array([-1.0, 4.0, 10.0, 25.0])
    case = case_row(C_MIN_C=0.0, C_MOST_IN_W=100.0, C_COLD_IN_W=30.0)
    rx._fill_taken(case, cells, 0, np.array([[0, 4]]), taken)
    assert taken.tolist() == [0.0, 30.0, 100.0, 100.0]
    case[rx.C_HEATED] = 1.0
    rx._fill_taken(case, cells, 0, np.array([[0, 4]]), taken)
    assert taken.tolist() == [30.0, 30.0, 100.0, 100.0]


@pytest.mark.analytic
def test_least_power_looks_at_the_years_after_the_first_ones() -> None:
    """Three sunny years, then dark ones: only all of them show that no array is large enough."""
    steps, years = 24 * 20, 5
    place = np.arange(steps, dtype=np.int64)
    power: Any = np.ones((1, steps * years), dtype=np.float32)
    power[0, 3 * steps :] = 0.0
    case = case_row(C_FULL=70.0)
    case[rx.C_BUDGET : rx.C_BUDGET + rx.STORES] = 100.0
    found = np.zeros(1)
    rx.least_power(
        case[None, :],
        0,
        np.array([50.0]),
        np.array([200.0]),
        power,
        place,
        np.full((1, steps * years), 20.0),
        np.full((1, 3, steps), [[5.0], [0.0], [0.0]]),
        np.array([[0, steps]]),
        years,
        1.0,
        found,
    )
    assert found[0] == np.inf


@pytest.mark.analytic
def test_depths_are_spared_from_the_deepest_down() -> None:
    """0.5 taken off depths 1, 0.8 and 0.2 leaves 0.65, 0.65 and 0.2."""
    left = without_deepest(np.array([1.0, 0.2, 0.8]), 0.5)
    assert left == pytest.approx([0.65, 0.2, 0.65])
    assert without_deepest(np.array([0.3, 0.1]), 0.0) == pytest.approx([0.3, 0.1])
    assert without_deepest(np.array([0.3, 0.1]), 1.0) == pytest.approx([0.0, 0.0])

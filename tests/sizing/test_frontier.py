"""Neighbours of the choice: cheaper and darker, dearer and safer, none beaten by another."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cache

import numpy as np
import pytest
from tests.sizing.cases import Case, brute_force, case_of, random_case, reduced_catalogue
from tests.sizing.test_search import LAMP

from sunpantry.design.document import parse_design
from sunpantry.errors import InputError
from sunpantry.simulate.run import run_systems
from sunpantry.simulate.setting import Setting
from sunpantry.sizing import frontier
from sunpantry.sizing.answer import Answer
from sunpantry.sizing.frontier import FrontierPoint, cheapest_known, frontier_of, weight_of
from sunpantry.sizing.margin import safest_tilt
from sunpantry.sizing.promise import Demanded
from sunpantry.sizing.search import Searcher, SearchResult
from sunpantry.sizing.trials import Trials

SEEDS = (8, 65, 116, 122)
# Spaces of 130 to 370 systems, most of them with 3 to 20 points on their frontier.
MANY_SEEDS = (20, 24, 76, 88, 98, 111, 122, 126, 142, 164, 167, 195, 217, 227, 230)


@dataclass(frozen=True, eq=False)
class Solved:
    """A case, its search, and every system of its space run."""

    case: Case
    searcher: Searcher
    search: SearchResult
    chosen: Answer
    everything: list[Answer]

    def frontier(self, *, weigh: bool = False, least_gain: float) -> tuple[FrontierPoint, ...]:
        """The frontier by a searcher that has found the choice and nothing else."""
        searcher = patient(self.case)
        search = searcher.find(self.case.demanded)
        assert search.best is not None
        return frontier_of(
            searcher, self.case.demanded, search, search.best, weigh=weigh, least_gain=least_gain
        )

    def keeping(self, demanded: Demanded) -> list[Answer]:
        """Every system that keeps a promise."""
        return [
            one
            for one in self.everything
            if demanded.kept(np.array(one.hours_by_class), one.hours_without_power)
        ]

    @property
    def darker(self) -> list[Answer]:
        """Every cheaper system that breaks the promise and keeps the looser one."""
        looser = frontier._looser(self.searcher, self.case.demanded, self.chosen)
        limit = self.chosen.cost.total - 1e-6
        return [one for one in self.keeping(looser) if one.cost.total < limit]

    def pareto(self) -> list[tuple[float, float]]:
        """Cost and hours of every system on the frontier, from the list of all."""
        own = self.chosen.hours_without_power
        safer = unbeaten(merits_of(self.keeping(self.case.demanded)))
        darker = [one for one in unbeaten(merits_of(self.darker)) if one[1] > own + 1e-9]
        return sorted(darker + safer)


def patient(case: Case) -> Searcher:
    """Search that may prove everything."""
    searcher = case.searcher()
    searcher.most_years = searcher.most_years_checked = 10**9
    return searcher


@cache
def solved(seed: int) -> Solved:
    """One random case, searched, and all of its systems run.

    Where nothing keeps its promise, the case is one without a promise: everything keeps it.
    """
    case = random_case(seed)
    searcher = patient(case)
    search = searcher.find(case.demanded)
    if search.best is None:
        case = replace(case, demanded=Demanded((8760.0, 8760.0, 8760.0)))
        searcher = patient(case)
        search = searcher.find(case.demanded)
    assert search.best is not None
    everything = case.searcher().answers(list(case.space))
    return Solved(case, searcher, search, search.best, everything)


def merits_of(answers: list[Answer]) -> list[tuple[float, float]]:
    """Cost and hours."""
    return [(one.cost.total, one.hours_without_power) for one in answers]


def unbeaten(merits: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Those that no other is as good as in both and better in one, by comparing each with all."""
    cost, hours = np.array(merits).reshape(-1, 2).T
    return sorted(
        {
            (c, h)
            for c, h in merits
            if not np.any(
                (cost <= c + 1e-6)
                & (hours <= h + 1.5e-6)
                & ((cost < c - 1e-6) | (hours < h - 1.5e-6))
            )
        }
    )


@pytest.fixture
def endless(monkeypatch: pytest.MonkeyPatch) -> None:
    """As many points as there are, however dear."""
    monkeypatch.setattr(frontier, "MOST_POINTS", 10**6)
    monkeypatch.setattr(frontier, "DEAREST", np.inf)


@pytest.mark.independent
@pytest.mark.usefixtures("endless")
@pytest.mark.parametrize("seed", MANY_SEEDS)
def test_the_frontier_equals_brute_force(seed: int) -> None:
    """With no least gain it is the whole Pareto set: every system run, each held against all."""
    one = solved(seed)
    points = one.frontier(least_gain=0.0)
    expected = one.pareto()
    assert all(point.proven for point in points)
    assert len(points) == len(expected)
    for point, (cost, hours) in zip(points, expected, strict=True):
        assert point.total == pytest.approx(cost, abs=2e-6)
        assert point.hours_without == pytest.approx(hours, abs=2e-6)


@pytest.mark.independent
@pytest.mark.parametrize("seed", MANY_SEEDS)
def test_points_are_on_the_pareto_set_and_reach_its_ends(seed: int) -> None:
    """As the plan asks for it: a part of the whole set, with its cheapest and its safest end."""
    one = solved(seed)
    points, expected = one.frontier(least_gain=frontier.LEAST_GAIN), one.pareto()
    assert all(point.proven for point in points)
    hours = [point.hours_without for point in points]
    for point in points:
        near = [h for c, h in expected if abs(c - point.total) < 2e-6]
        assert near == pytest.approx([point.hours_without], abs=2e-6)
    assert points[0].total == pytest.approx(expected[0][0], abs=2e-6)
    reach = [h for c, h in expected if c <= frontier.DEAREST * one.chosen.cost.total]
    assert hours[-1] <= reach[-1] / (1.0 - frontier.LEAST_GAIN) + 1e-6
    assert hours[-1] <= 1e-6 or reach[-1] > 0.0


@pytest.mark.independent
@pytest.mark.usefixtures("endless")
@pytest.mark.parametrize("seed", MANY_SEEDS[::2])
def test_weight_too_equals_brute_force(seed: int) -> None:
    """No system that keeps a point's promise beats it in three; every lighter step is there."""
    one = solved(seed)
    points = one.frontier(weigh=True, least_gain=0.0)
    keeping = one.keeping(one.case.demanded)
    own = (one.chosen.cost.total, one.chosen.hours_without_power)
    for point in points:
        darker = point.hours_without > own[1] + 1e-9 and point.total < own[0] - 1e-6
        for other in one.darker if darker else keeping:
            merits = (other.cost.total, other.hours_without_power, weight(other))
            mine = (point.total, point.hours_without, point.weight_kg or np.inf)
            pairs = list(zip(merits, mine, strict=True))
            as_good = all(a <= b + 1.5e-6 for a, b in pairs)
            assert not as_good or all(a >= b - 1.5e-6 for a, b in pairs)
    told = {(round(point.total, 4), round(point.weight_kg or np.inf, 3)) for point in points}
    light = unbeaten([(answer.cost.total, weight(answer)) for answer in keeping])
    lightest = weight(one.chosen)
    for cost, kg in light:
        if kg < lightest - 2e-3:
            assert any(abs(c - cost) < 1e-3 and abs(w - kg) < 2e-3 for c, w in told)


def weight(answer: Answer) -> float:
    """Weight of panels and batteries, what is unknown the heaviest [kg]."""
    kg = weight_of(answer.system)
    return np.inf if kg is None else kg


@pytest.mark.independent
@pytest.mark.parametrize("seed", MANY_SEEDS[1::2])
def test_with_little_effort_what_is_called_proven_is_true(seed: int) -> None:
    """Cut short, a frontier may miss points; those it calls proven are on the true set."""
    one = solved(seed)
    searcher = one.case.searcher()
    searcher.tried_at_once = 2
    searcher.most_years, searcher.most_years_checked = 400, 40
    search = searcher.find(one.case.demanded)
    assert search.best is not None
    points = frontier_of(searcher, one.case.demanded, search, search.best)
    expected = one.pareto()
    for point in points:
        if point.proven:
            near = [h for c, h in expected if abs(c - point.total) < 2e-6]
            assert near == pytest.approx([point.hours_without], abs=2e-6)
    hours = [point.hours_without for point in points]
    assert hours == sorted(hours, reverse=True)


@pytest.mark.regression
def test_what_is_cheaper_and_known_is_taken() -> None:
    """A choice that was not proven gives way to a cheaper one come upon later, if it is sound."""
    one = solved(122)
    kept = sorted(one.keeping(one.case.demanded), key=lambda answer: answer.rank)
    dearest = kept[-1]
    assert dearest.cost.total > one.chosen.cost.total
    searcher = patient(one.case)
    assert cheapest_known(searcher, one.case.demanded, dearest) is dearest  # nothing known yet
    searcher.find(one.case.demanded)
    found = cheapest_known(searcher, one.case.demanded, dearest)
    assert found.cost.total == pytest.approx(one.chosen.cost.total)
    refusing = replace(one.case, demanded=one.case.demanded).searcher()
    refusing.answers(list(one.case.space))
    refusing.sound = lambda _: False
    assert cheapest_known(refusing, one.case.demanded, dearest) is dearest


@pytest.mark.regression
def test_an_interrupt_leaves_the_points_found_so_far(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C while neighbours are looked for: those there stay, the choice among them."""
    one = solved(126)
    whole = one.frontier(least_gain=0.0)
    assert len(whole) >= 5
    searcher = patient(one.case)
    search = searcher.find(one.case.demanded)
    assert search.best is not None
    real, calls = Trials.judge, iter(range(10**6))

    def judge(self: Trials, *args: object) -> object:
        if next(calls) >= 2:
            raise KeyboardInterrupt
        return real(self, *args)  # type: ignore[arg-type]

    monkeypatch.setattr(Trials, "judge", judge)
    points = frontier_of(searcher, one.case.demanded, search, search.best, least_gain=0.0)
    assert search.best.system in [point.system for point in points]
    assert len(points) < len(whole)


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


@pytest.mark.independent
def test_safest_tilt_changes_the_tilt_for_margin_alone() -> None:
    """Near the equator a flatter array bears a darker sky better: it is taken, for no hour more.

    Every system that keeps the promise at the first tilt is looked at, and what a darker sky does
    to it at either tilt is run beside.
    """
    case = case_of(LAMP, reduced_catalogue(np.random.default_rng(3)), site=2)
    sky = case.setting.weather
    dim = {name: 0.6 * getattr(sky, name) for name in ("ghi_w_m2", "dni_w_m2", "dhi_w_m2")}
    darker = Setting(case.setting.climate, replace(sky, **dim), case.setting.demand)
    searcher = case.searcher()
    changed = 0
    for answer in searcher.answers([one for one in case.space if one.tilt == 0][::5]):
        if not case.demanded.kept(np.array(answer.hours_by_class), answer.hours_without_power):
            continue
        taken = safest_tilt(searcher, case.demanded, answer, darker=darker)
        assert taken.hours_without_power <= answer.hours_without_power + 1e-6
        assert taken.cost.total <= answer.cost.total + 1e-6
        dark_h = [
            float(run_systems(darker, [one.system], capacity_left=0.8).hours_without().max())
            for one in (answer, taken)
        ]
        assert dark_h[1] <= dark_h[0] + 1e-4
        changed += taken.choice.tilt == 1 and dark_h[1] < dark_h[0]
    assert changed > 0


@pytest.mark.regression
def test_weight_has_no_say_when_it_is_not_asked_for() -> None:
    """A limit that nothing reaches changes neither the answer nor the space."""
    free = random_case(8)
    light = replace(free, space=free.space.no_heavier_than(1e6))
    first, second = (one.searcher().find(one.demanded).best for one in (free, light))
    assert first is not None
    assert first == second
    assert not free.design.search.weigh
    assert free.design.search.max_weight_kg is None

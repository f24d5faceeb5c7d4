"""The search against running every system, and how it behaves when stopped or stuck."""

from __future__ import annotations

import numba
import numpy as np
import pytest
from tests.sizing.cases import Case, brute_force, case_of, random_case, reduced_catalogue

from sunpantry.parts.system import System
from sunpantry.sizing.promise import Demanded
from sunpantry.sizing.search import Searcher
from sunpantry.sizing.trials import Trials

# Seeds whose spaces hold 60 to 420 systems, so that all of them can be run.
SEEDS = (
    3, 8, 11, 19, 20, 24, 38, 48, 65, 75, 76, 83, 88, 98, 111, 116, 122, 126, 127, 131, 142, 164,
    167, 184, 195, 208, 217, 227, 230, 234, 237, 258, 281, 285, 294, 297, 305, 311, 319, 346,
)  # fmt: skip
LAMP = """
schema = 1
name = "Lamp"
[site]
latitude = 50.0
longitude = 0.0
[[load]]
name = "Lamp"
power = "5 W"
supply = "12 V"
hours_per_day = 4
importance = "should"
[search]
max_panels = 3
max_batteries = 2
"""


def small_searcher(case: Case, **settings: int) -> Searcher:
    """Search in small steps, so that little is tried by the way."""
    searcher = case.searcher()
    searcher.tried_at_once = settings.get("tried_at_once", 4)
    searcher.most_years_checked = settings.get("most_years_checked", 10**9)
    return searcher


@pytest.fixture(scope="module")
def lamp() -> Case:
    """One lamp near Bern, everything open among a few parts."""
    return case_of(LAMP, reduced_catalogue(np.random.default_rng(3)), site=1)


@pytest.mark.independent
@pytest.mark.parametrize("seed", SEEDS)
def test_search_equals_brute_force(seed: int) -> None:
    """Forty random designs on reduced lists: the answer is that of running every system."""
    case = random_case(seed)
    assert 60 < case.space.systems <= 420
    expected = brute_force(case)
    result = small_searcher(case).find(case.demanded)
    assert result.proven
    assert result.spoke_for == case.space.systems
    if expected is None:
        assert result.best is None
        assert result.closest is not None
    else:
        assert result.best is not None
        assert result.best.rank == expected.rank
        assert result.best.cost.total == pytest.approx(expected.cost.total, rel=1e-12)


@pytest.mark.independent
def test_search_leaves_most_systems_alone() -> None:
    """What the bounds and comparisons are for: a small part of the spaces is simulated."""
    cases = [random_case(seed) for seed in SEEDS[:12]]
    simulated = sum(small_searcher(case).find(case.demanded).simulated for case in cases)
    assert simulated < 0.35 * sum(case.space.systems for case in cases)


@pytest.mark.regression
@pytest.mark.parametrize("seed", [8, 122])
def test_answer_does_not_depend_on_batches_or_threads(seed: int) -> None:
    """However many are tried at once, on one thread or two, the answer is the same."""
    case = random_case(seed)
    found = [
        small_searcher(case, tried_at_once=size).find(case.demanded).best for size in (1, 7, 300)
    ]
    threads = numba.get_num_threads()
    try:
        numba.set_num_threads(1)
        found.append(small_searcher(case).find(case.demanded).best)
    finally:
        numba.set_num_threads(threads)
    assert found[0] is not None
    assert all(one == found[0] for one in found)


@pytest.mark.analytic
@pytest.mark.parametrize("seed", SEEDS[::4])
def test_count_of_a_space_is_that_of_its_list(seed: int) -> None:
    """The space is counted without being listed; listing it gives the same number."""
    space = random_case(seed).space
    listed = list(space)
    assert space.systems == len(listed) == len(set(listed))


@pytest.mark.regression
def test_hard_rules_from_outside_are_obeyed(lamp: Case) -> None:
    """What may not be built is not the answer, and the next best is."""
    first = lamp.searcher().find(lamp.demanded).best
    assert first is not None
    name = first.system.arrays[0].panel.name

    def acceptable(system: System) -> bool:
        return system.arrays[0].panel.name != name

    barred = Searcher(lamp.setting, lamp.space, lamp.pricing, acceptable=acceptable)
    second = barred.find(lamp.demanded).best
    assert second is not None
    assert second.system.arrays[0].panel.name != name
    assert second.cost.total >= first.cost.total


@pytest.mark.independent
@pytest.mark.parametrize("seed", [3, 8, 122, 294])
def test_what_a_bank_may_not_feed_is_left_out_as_by_brute_force(seed: int) -> None:
    """The cheapest answer's battery may not be used: the rest is run one by one for the next."""
    case = random_case(seed)
    first = small_searcher(case).find(case.demanded).best
    assert first is not None
    assert first.system.bank is not None
    name = first.system.bank.battery.name

    def acceptable(system: System) -> bool:
        return system.bank is None or system.bank.battery.name != name

    searcher = small_searcher(case)
    searcher.acceptable = searcher.acceptable_fed = acceptable
    second = searcher.find(case.demanded)
    allowed = [one for one in case.space if acceptable(case.space.system(one))]
    kept = [
        answer
        for answer in case.searcher().answers(allowed)
        if case.demanded.kept(np.array(answer.hours_by_class), answer.hours_without_power)
    ]
    assert (second.best is None) == (not kept)
    if second.best is not None:
        assert second.best.rank == min(one.rank for one in kept)


@pytest.mark.independent
@pytest.mark.parametrize("seed", [3, 8, 122])
def test_what_slower_rules_refuse_is_never_the_answer(seed: int) -> None:
    """Panels of the cheapest answer are refused late: the next best of all is found."""
    case = random_case(seed)
    first = small_searcher(case).find(case.demanded).best
    assert first is not None
    name = first.system.arrays[0].panel.name

    def sound(system: System) -> bool:
        return system.arrays[0].panel.name != name

    searcher = small_searcher(case)
    searcher.sound = sound
    second = searcher.find(case.demanded)
    kept = [
        answer
        for answer in case.searcher().answers(list(case.space))
        if case.demanded.kept(np.array(answer.hours_by_class), answer.hours_without_power)
        and sound(answer.system)
    ]
    assert (second.best is None) == (not kept)
    if second.best is not None:
        assert second.best.rank == min(one.rank for one in kept)


@pytest.mark.analytic
def test_what_breaks_a_promise_breaks_a_harder_one() -> None:
    """Order of promises: one that asks for less or as much in every class, and only such."""
    loose, tight = Demanded((0.0, 50.0, 100.0)), Demanded((0.0, 20.0, 100.0))
    across = Demanded((0.0, 10.0, 200.0))
    assert tight.asks_as_much_as(loose)
    assert loose.asks_as_much_as(loose)
    assert not loose.asks_as_much_as(tight)
    assert not across.asks_as_much_as(loose)
    assert not loose.asks_as_much_as(Demanded(loose.by_class_h, any_h=10.0))


@pytest.mark.regression
def test_says_when_nothing_keeps_the_promise(lamp: Case) -> None:
    """A promise of no dark hour by parts that cannot: nothing found, the closest shown."""
    searcher = Searcher(
        lamp.setting, lamp.space, lamp.pricing, acceptable=lambda system: system.bank is None
    )
    barred = searcher.find(lamp.demanded)
    assert barred.best is None
    assert barred.closest is None
    dark = case_of(
        LAMP.replace('"5 W"', '"400 W"').replace("hours_per_day = 4", "hours_per_day = 24"),
        reduced_catalogue(np.random.default_rng(3)),
        site=3,
    )
    result = dark.searcher().find(Demanded((0.0, 0.0, 0.0)))
    assert result.best is None
    assert result.closest is not None
    assert result.closest.hours_by_class[1] > 0.0
    assert result.words.startswith(f"None of {result.spoke_for:,} systems")


@pytest.mark.regression
def test_interrupt_gives_the_best_so_far(lamp: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    """An interrupt from the keyboard ends the search cleanly, with what was found."""
    real, calls = Trials.judge, iter(range(10**6))

    def judge(self: Trials, *args: object) -> object:
        if next(calls) >= 3:
            raise KeyboardInterrupt
        return real(self, *args)  # type: ignore[arg-type]

    monkeypatch.setattr(Trials, "judge", judge)
    result = small_searcher(lamp, tried_at_once=1).find(lamp.demanded)
    assert result.stopped_early
    assert not result.proven
    assert result.words.startswith("Stopped early")


@pytest.mark.regression
def test_effort_is_limited_and_told(lamp: Case) -> None:
    """With little effort allowed the answer is there, and says what was not tried."""
    full = small_searcher(lamp).find(lamp.demanded)
    quick = small_searcher(lamp, most_years_checked=0).find(lamp.demanded)
    assert full.best is not None
    assert quick.best is not None
    assert quick.simulated <= full.simulated
    assert quick.proven or "set aside" in quick.words
    none = lamp.searcher()
    none.most_years = 0
    nothing = none.find(lamp.demanded)
    assert nothing.limited
    assert not nothing.proven
    assert nothing.best or nothing.closest
    assert "too much to try" in nothing.words


@pytest.mark.regression
def test_progress_is_told(lamp: Case) -> None:
    """The fraction rises from nothing and stays below one; the words name a price."""
    told: list[tuple[float, str]] = []
    lamp.searcher().find(lamp.demanded, progress=lambda *each: told.append(each))
    fractions = [fraction for fraction, _ in told]
    assert fractions == sorted(fractions)
    assert 0.0 <= fractions[0] <= fractions[-1] < 1.0
    assert all("EUR" in words for _, words in told)


@pytest.fixture
def owned() -> Case:
    """A lamp with a panel and a battery already there."""
    whole = reduced_catalogue(np.random.default_rng(3))
    panel, battery = whole.panels[0].name, whole.batteries[0].name
    text = LAMP.replace(
        "[search]",
        f'[[array]]\npart = "{panel}"\nowned = 1\n\n[battery]\npart = "{battery}"\n'
        "count = 1\nowned = true\n\n[search]",
    )
    return case_of(text, whole, site=1)


@pytest.mark.regression
def test_parts_already_there_are_kept_and_cost_nothing(owned: Case) -> None:
    """Every system has the panel and the battery; only what is bought is paid for."""
    for choice in owned.space:
        system = owned.space.system(choice)
        assert {array.panel.name for array in system.arrays} == {system.arrays[0].panel.name}
        assert system.bank is not None
        assert system.bank.owned == system.bank.count == 1
        bill = {item.role: item for item in owned.pricing.bill(system)}
        assert bill["battery"].to_pay == 0.0
        panels = bill["panel"]
        assert panels.to_pay == pytest.approx((panels.count - 1) * (panels.unit_price or 0.0))

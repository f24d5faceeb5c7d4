"""One search under way: bands of candidates, strongest first, cheapest last word."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Protocol

import numpy as np

from sunpantry.sizing.answer import SAME_COST, Answer
from sunpantry.sizing.cells import Cell
from sunpantry.sizing.cost import Pricing
from sunpantry.sizing.dominance import Dominance, Strength
from sunpantry.sizing.lanes import Block, Lanes, feed_cost
from sunpantry.sizing.promise import Demanded
from sunpantry.sizing.space import Choice, Space
from sunpantry.sizing.trials import Trials, Verdict
from sunpantry.timegrid import FloatArray

Progress = Callable[[float, str], None]

# A band is so much wider than its cheapest candidate; wider while there is little to try.
BAND = 0.06
WIDEST_BAND = 0.16
FEW_TRIED = 64
TRIED_AT_ONCE = 96
RUN_THROUGH_AT_ONCE = 8
# Fewer, where most that pass the dark years have to be run through all.
CHECKED_AT_ONCE = 32
# After this share of the effort without an answer the largest systems are asked.
IN_VAIN = 0.25
# A bank seldom lives longer than this multiple of its life with the strongest array.
LIFE_ROOM = 1.03


class Context(Protocol):
    """What a search needs of the searcher."""

    space: Space
    pricing: Pricing
    tried_at_once: int

    def trials(self) -> Trials:
        """Trials shared by all searches."""

    def answers(self, choices: Sequence[Choice]) -> list[Answer]:
        """Run systems through all years."""

    def answers_that_keep(self, choices: Sequence[Choice], demanded: Demanded) -> list[Answer]:
        """Run systems through all years, as far as they keep a promise."""

    def is_sound(self, choice: Choice) -> bool:
        """Whether a system that keeps a promise may be proposed."""

    def largest(self) -> list[Choice]:
        """Systems with the most battery and array."""

    def known_answers(self, demanded: Demanded) -> list[Answer]:
        """Systems run through all years before that keep a promise."""


class Rounds:
    """A search for one promise.

    First the *likely* candidates are gone through: of each kind those for which no other
    gives as much sun for less money. That finds an answer quickly. Then everything else
    that could be cheaper is tried, unless a stronger system has failed clearly; at last
    what was ruled out so is tried one by one. With more left than may be tried, the
    answer says so.

    A search ``after`` another, for a promise that asks for as much and more of the same
    space or a part of it, goes on where that one has ended: nothing cheaper than its answer
    keeps the harder promise either, but for what was left untried, and what bounded or
    failed the candidates before holds for them still.
    """

    def __init__(
        self,
        context: Context,
        demanded: Demanded,
        progress: Progress | None,
        *,
        years: tuple[float, float],
        after: Rounds | None = None,
        most_cost: float = np.inf,
    ) -> None:
        # to simulate at most: to find an answer, then to prove it
        self._years, self._years_checked = years
        self._most_cost = most_cost
        self._context, self._demanded = context, demanded
        self._progress: Progress = progress or (lambda _fraction, _words: None)
        self._trials = context.trials()
        self._waiting: dict[Choice, float] = {}
        self._unlikely: list[Cell] = []
        self._ruled_out: list[Cell] = []
        self._dear: list[Cell] = []
        self._learned: dict[tuple[int, int, int], list[tuple[float, float]]] = {}
        self._good_feeds: dict[int, set[int]] = {}
        self._dominance = Dominance(context.space, self._trials.bounds)
        self._lanes: Lanes | None = None
        # All that costs no more by its bound is settled, but for what is left untried.
        self._settled = -np.inf
        self._untried: list[tuple[Choice, float]] = []
        if after is not None:
            self._go_on(after)
        self.best: Answer | None = None
        self._take_best(context.known_answers(demanded))
        self.bounded = 0
        self.compared = 0
        self.over_limit = False
        self._begun = self._trials.effort
        self._asked_largest = False

    def _go_on(self, after: Rounds) -> None:
        """Take over what a search for a lesser promise has found out."""
        context = self._context
        self._learned, self._dominance = after._learned, after._dominance
        self._good_feeds = after._good_feeds
        self._settled = after._settled
        self._untried = [one for one in after._untried if context.space.holds(one[0])]
        if after._context.space is context.space:
            self._lanes = after._lanes

    @property
    def _limit(self) -> float:
        best = np.inf if self.best is None else self.best.cost.total
        return min(best, self._most_cost) + SAME_COST

    def _lanes_for_this(self) -> Lanes:
        """Lanes of this search; those open already keep the bounds of the lesser promise."""
        context, trials = self._context, self._trials
        if self._lanes is None:
            self._lanes = Lanes(
                context.space, trials.bounds, context.pricing, self._demanded, trials.may_feed
            )
        self._lanes.demanded = self._demanded
        return self._lanes

    def _has_found(self) -> bool:
        return self.best is not None

    def go(self) -> None:
        """Search until nothing left can be cheaper, or what may be tried is used up."""
        trials, lanes = self._trials, self._lanes_for_this()
        stop_at = trials.effort + self._years
        low = max(self._settled, lanes.next_above(self._settled))
        width, number = BAND, 0
        while low <= self._limit and np.isfinite(low):
            high = low * (1.0 + width) + SAME_COST
            self._tell(0.7 * number / (number + 8.0), low)
            tried = self.bounded
            likely = list(self._likely(lanes.band(low, min(high, self._limit + SAME_COST))))
            left = self._go_through_in_hope(likely, stop_at)
            if left:
                self.over_limit = True
                self.compared = self._left_over(left, lanes, high)
                return
            few = self.bounded - tried < FEW_TRIED
            width = min(2.0 * width, WIDEST_BAND) if few else BAND
            number += 1
            low = lanes.next_above(high)
        stop_at = trials.effort + self._years_checked
        self._tell(0.7, min((float(cell.costs.min()) for cell in self._unlikely), default=low))
        self._check(self._go_through(self._unlikely, stop_at), stop_at)
        self._settled = max(self._settled, self._limit - SAME_COST)

    def _go_through_in_hope(self, cells: list[Cell], stop_at: float) -> list[Cell]:
        """Like :meth:`_go_through`; after long vain tries, only if the largest ones keep it."""
        if self._asked_largest or self._has_found():
            return self._go_through(cells, stop_at)
        left = self._go_through(cells, self._begun + IN_VAIN * (stop_at - self._begun))
        if not left or self._has_found():
            return self._go_through(left, stop_at)
        self._asked_largest = True
        self._take_best(self._context.answers_that_keep(self._context.largest(), self._demanded))
        return self._go_through(left, stop_at) if self._has_found() else left

    def _left_over(self, left: list[Cell], lanes: Lanes, above: float) -> int:
        """Systems that were not tried and could be cheaper than the best by the bounds."""
        if np.isinf(self._limit):
            return self._context.space.systems - self.bounded
        cells = (*left, *self._unlikely, *self._ruled_out, *self._dear)
        found = sum(int((cell.costs <= self._limit).sum()) for cell in cells)
        found += sum(cost <= self._limit for _, cost in self._untried)
        return found + sum(block.pairs.size for block in lanes.band(above, self._limit))

    def _go_through(self, cells: list[Cell], stop_at: float) -> list[Cell]:
        """Try all that is not ruled out meanwhile; return what is left when it is too much."""
        while cells := self._still_open(cells):
            if self._trials.effort >= stop_at:
                break
            costs: dict[Choice, float] = {}
            owners: dict[Choice, Cell] = {}
            for cell in cells[: self._context.tried_at_once]:
                choice, cost = cell.take()
                costs[choice], owners[choice] = cost, cell
            self.bounded += len(costs)
            verdicts = self._trials.judge(list(costs), self._demanded)
            for (choice, cost), verdict in zip(costs.items(), verdicts, strict=True):
                if verdict in (Verdict.FAILED, Verdict.FAILED_CLEARLY):
                    clearly = verdict is Verdict.FAILED_CLEARLY
                    self._dominance.fail(choice, clearly=clearly)
                elif verdict is Verdict.PASSED:
                    owners[choice].passed = True
                    self._learn(owners[choice].block)
                    self._waiting[choice] = cost
            self._run_through(RUN_THROUGH_AT_ONCE)
        self._run_through(None)
        return cells

    def _likely(self, blocks: Iterable[Block]) -> Iterable[Cell]:
        """Split blocks into cells and put off what another candidate betters."""
        for block in blocks:
            if block.group not in self._good_feeds:
                self._good_feeds[block.group] = self._best_feeds(block.group)
            good_feed = block.feed in self._good_feeds[block.group]
            for cell in self._cells(block):
                good = cell.skyline() if good_feed else np.zeros(cell.pairs.size, dtype=bool)
                if not good.all():
                    self._unlikely.append(cell.part(~good))
                if good.any():
                    yield cell.part(good)

    def _best_feeds(self, group: int) -> set[int]:
        """Feeds of a group for which no cheaper one draws less."""
        one = self._context.space.groups[group]
        costs = [feed_cost(one, feed, self._context.pricing) for feed in range(len(one.feeds))]
        drawn = self._dominance.drawn_w(group)
        allowed = [
            feed
            for feed in range(len(costs))
            if any(self._trials.may_feed(group, feed, bank) for bank in range(len(one.banks)))
        ]
        found, least = set(), np.inf
        for feed in sorted(allowed, key=lambda feed: (costs[feed], drawn[feed], feed)):
            if drawn[feed] < least:
                found.add(feed)
                least = drawn[feed]
        return found

    def _cells(self, block: Block) -> Iterable[Cell]:
        whole = self._dominance.strength(block.group, block.pairs, block.tilt)
        order = np.lexsort((block.pairs, -whole.sun_wh))
        for set_point in np.unique(whole.set_points).tolist():
            here = order[whole.set_points[order] == set_point]
            yield Cell(
                block,
                set_point,
                block.pairs[here],
                block.costs[here],
                Strength(
                    whole.sun_wh[here],
                    whole.limit_a[here],
                    whole.spare_v[here],
                    whole.set_points[here],
                ),
            )

    def _still_open(self, cells: list[Cell]) -> list[Cell]:
        """Cells with something left that is cheap enough and not ruled out."""
        found = []
        for cell in cells:
            cell.keep(cell.costs <= self._limit)
            dear = cell.costs + self._dearer(cell) > self._limit
            if dear.any():
                self._dear.append(cell.part(dear))
                cell.keep(~dear)
            likely = self._dominance.open_ones(cell.block, cell.strength, cell.set_point)
            if not likely.all():
                self._ruled_out.append(cell.part(~likely))
                cell.keep(likely)
            if cell.pairs.size:
                found.append(cell)
        return found

    def _dearer(self, cell: Cell) -> FloatArray:
        """What candidates cost more than their bound, judging by stronger arrays on the bank."""
        block, sun_wh = cell.block, cell.strength.sun_wh
        again = np.full(sun_wh.size, block.again)
        for stronger_wh, learned in self._learned.get((block.group, block.feed, block.bank), ()):
            again = np.maximum(again, np.where(sun_wh <= stronger_wh, learned, 0.0))
        return np.asarray(again - block.again)

    def _learn(self, block: Block) -> None:
        """Find how long a bank lives with the strongest array that suits it."""
        key = (block.group, block.feed, block.bank)
        group = self._context.space.groups[block.group]
        bank = group.banks[block.bank]
        if bank is None or key in self._learned:
            return
        pairs = np.nonzero(group.suits(bank))[0]
        strongest = int(pairs[np.argmax(group.power_w[pairs])])
        tilt = block.tilt if group.tilt_open[strongest] else 0
        self._learned[key] = []
        self._learn_life(self._context.answers([Choice(*key, strongest, tilt)])[0], np.inf)

    def _learn_life(self, answer: Answer, sun_wh: float) -> None:
        """Remember how long a bank lived; with less sun it will hardly live longer."""
        bank, life = answer.system.bank, answer.life
        known = self._learned.get(answer.choice[:3])
        if bank is None or life is None or known is None:
            return
        years = LIFE_ROOM * life.years
        known.append((sun_wh, self._context.pricing.battery_again(bank.battery, bank.count, years)))

    def _check(self, left: list[Cell], stop_at: float) -> None:
        """Try one by one what was only ruled out by comparison, now or in a search before.

        First what was not reached; then what stronger systems seemed to rule out, the
        strongest first; then what should be dearer than its bound by the life of its
        battery, the cheapest first.
        """
        listed = self._untried
        listed += self._listed(left, lambda cell, place: -cell.strength.sun_wh[place])
        listed += self._listed(self._ruled_out, lambda cell, place: -cell.strength.sun_wh[place])
        listed += self._listed(self._dear, lambda cell, place: cell.costs[place])
        checked, at_once = 0, min(self._context.tried_at_once, CHECKED_AT_ONCE)
        while checked < len(listed) and self._trials.effort < stop_at:
            some = listed[checked : checked + at_once]
            checked += len(some)
            costs = {choice: cost for choice, cost in some if cost <= self._limit}
            verdicts = self._trials.judge(list(costs), self._demanded)
            for (choice, cost), verdict in zip(costs.items(), verdicts, strict=True):
                if verdict is Verdict.PASSED:
                    self._waiting[choice] = cost
            self._run_through(None)
        self.bounded += checked
        self._untried = [one for one in listed[checked:] if one[1] <= self._limit]
        self.compared = len(self._untried)

    def _listed(
        self, cells: list[Cell], order: Callable[[Cell, int], float]
    ) -> list[tuple[Choice, float]]:
        found = sorted(
            (float(order(cell, place)), cell.choice(place), float(cell.costs[place]))
            for cell in cells
            for place in np.nonzero(cell.costs <= self._limit)[0].tolist()
        )
        return [(choice, cost) for _, choice, cost in found]

    def _run_through(self, most: int | None) -> None:
        """Run what passed the dark years through all years, the cheapest first."""
        while self._waiting:
            order = sorted(self._waiting.items(), key=lambda one: (one[1], one[0]))
            some = [choice for choice, cost in order[:RUN_THROUGH_AT_ONCE] if cost <= self._limit]
            if not some:
                self._waiting.clear()
                return
            for choice in some:
                del self._waiting[choice]
            kept = self._context.answers_that_keep(some, self._demanded)
            self._take_best(kept)
            for answer in kept:
                choice = answer.choice
                pair = np.array([choice.pair])
                sun = self._dominance.strength(choice.group, pair, choice.tilt).sun_wh
                self._learn_life(answer, float(sun[0]))
            for choice in set(some) - {answer.choice for answer in kept}:
                self._dominance.fail(choice, clearly=False)
            if most is not None:
                return

    def _take_best(self, answers: Iterable[Answer]) -> None:
        for answer in sorted(answers, key=lambda one: one.rank):
            if self.best is not None and self.best.rank <= answer.rank:
                return
            if self._context.is_sound(answer.choice):
                self.best = answer
                return

    def _tell(self, fraction: float, cost: float) -> None:
        so_far = "" if self.best is None else f", best so far {self.best.cost.total:.0f}"
        currency = self._context.pricing.currency
        self._progress(fraction, f"systems from {cost:.0f} {currency}{so_far}")

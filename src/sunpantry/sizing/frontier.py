"""Cheaper and darker, dearer and safer: the systems than which nothing is better in both.

The frontier is a Pareto set over cost and hours a year without power, with the choice on
it: above the choice, of all systems that keep the promise; below it, of those that break it
but keep a looser one, in which what must never fail still does not. It is walked step by
step: each asks the search for the cheapest system with fewer hours than the last one found,
and goes on where the step before has ended (:meth:`Searcher.find_next`), so that a
candidate is looked at once and not once a point. The cheapest system with no more than so
many hours, and of equally dear ones the one with fewest, is one that nothing beats;
``proven`` says of each point whether the step has tried everything that could be cheaper.

A next point has clearly fewer hours (``LEAST_GAIN``); what lies between is left out, not
beaten. Where weight matters too, the promise is asked again of ever lighter systems, and a
point is left out only where another one is as good in all three.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from sunpantry.parts.system import System
from sunpantry.sizing.answer import SAME_COST, Answer
from sunpantry.sizing.options import weight_of_parts
from sunpantry.sizing.promise import ROOM_H, Demanded
from sunpantry.sizing.search import Searcher, SearchResult

# A next point has so much fewer hours, or kilograms, than the one before [-].
LEAST_GAIN = 0.25
# Below the choice: multiple of the hours promised, or of those it has, and at least so many.
DARKER = 5.0
LEAST_DARK_H = 8.0
# A system that is dark for a tenth of the year is no neighbour any more [h].
DARKEST_H = 876.0
# Nor is one that costs so many times as much as the choice.
DEAREST = 3.0
# Points looked for on each side at most; the last one of the safer side is never dark.
MOST_POINTS = 8
# Share of the effort of a search that a step may take, to find and again to prove; that of
# all steps on one side; and that of the last step, to what is never dark, once it is used up.
STEP_EFFORT = 0.2
SAFER_EFFORT = 0.3
DARKER_EFFORT = 0.1
LIGHTER_EFFORT = 0.3
LAST_EFFORT = 0.1
# Printed weights closer than this are equal [kg].
ROOM_KG = 1e-3


@dataclass(frozen=True)
class FrontierPoint:
    """One system on the frontier.

    Parameters
    ----------
    system : System
        The parts.
    total : float
        Purchase, replacements and running cost [currency].
    purchase : float
        To buy now [currency].
    hours_without : float
        Hours a year in which anything is short, weighted by the share missing [h].
    winters_without_shortfall : int
        Winters in which nothing is short.
    weight_kg : float or None
        Of panels and batteries [kg]; ``None`` where a weight is not known.
    words : str
        What it is, in a few words.
    proven : bool
        Nothing in the space beats it: whatever could was ruled out by bounds or tried.
    """

    system: System
    total: float
    purchase: float
    hours_without: float
    winters_without_shortfall: int
    weight_kg: float | None
    words: str
    proven: bool


@dataclass(frozen=True)
class Found:
    """One answer on the way, the promise it was found for, and whether that is proven."""

    answer: Answer
    demanded: Demanded
    proven: bool

    @property
    def point(self) -> FrontierPoint:
        """As it is told."""
        answer = self.answer
        return FrontierPoint(
            system=answer.system,
            total=answer.cost.total,
            purchase=answer.cost.purchase,
            hours_without=answer.hours_without_power,
            winters_without_shortfall=answer.winters_without_shortfall,
            weight_kg=weight_of(answer.system),
            words=words_for(answer.system),
            proven=self.proven,
        )


def frontier_of(
    searcher: Searcher,
    demanded: Demanded,
    search: SearchResult,
    chosen: Answer,
    *,
    weigh: bool = False,
    least_gain: float = LEAST_GAIN,
) -> tuple[FrontierPoint, ...]:
    """Neighbours of a choice in cost and in hours without power, and in weight if asked.

    Parameters
    ----------
    searcher : Searcher
        That found the choice.
    demanded : Demanded
        The promise it was found for; darker neighbours may break it.
    search : SearchResult
        The search that found it.
    chosen : Answer
        The choice: as dear as what the search has found, with no more hours.
    weigh : bool
        Also look for lighter systems that keep the promise.
    least_gain : float
        Share of the hours, or of the weight, that a next point has less [-]; 0: every point.

    Returns
    -------
    tuple of FrontierPoint
        Cheapest first; the choice is among them unless something beats it in everything.
    """
    own = Found(chosen, demanded, search.proven)
    if not demanded.kept(np.array(chosen.hours_by_class), chosen.hours_without_power):
        return (own.point,)  # of the largest; dearer ones do not help it
    walk = _Walk(searcher, chosen, least_gain)
    points = [own, *walk.safer(demanded, search), *walk.darker(_looser(searcher, demanded, chosen))]
    if weigh:
        points += walk.lighter(demanded, search)
    if weigh or not all(one.proven for one in points):
        points = [_bettered(searcher, one, weigh=weigh) for one in points]
    return tuple(one.point for one in undominated(points, weigh=weigh))


def cheapest_known(searcher: Searcher, demanded: Demanded, chosen: Answer) -> Answer:
    """The cheapest that keeps the promise of all systems run so far, for whatever promise.

    Where a search could not prove its choice, the walk along the frontier may come upon a
    cheaper one by the way; what is proposed must not be dearer than what is known.
    """
    cheaper = [
        one
        for one in searcher.known_answers(demanded)
        if one.cost.total < chosen.cost.total - SAME_COST
    ]
    for answer in sorted(cheaper, key=lambda one: one.rank):
        if searcher.is_sound(answer.choice):
            return answer
    return chosen


def _looser(searcher: Searcher, demanded: Demanded, chosen: Answer) -> Demanded:
    """Promise that the darkest neighbours keep: what must never fail stays so, if it can."""
    classes = {load.importance for load in searcher.setting.demand.loads}
    asked, own = demanded.by_class_h, chosen.hours_by_class
    gives_way = [kind for kind in range(3) if asked[kind] > 0.0 and kind in classes]
    gives_way = gives_way or [kind for kind in range(3) if kind in classes]
    most = list(asked)
    for kind in gives_way:
        most[kind] = min(max(asked[kind], own[kind], LEAST_DARK_H) * DARKER, DARKEST_H)
    return Demanded((most[0], most[1], most[2]))


@dataclass(eq=False)
class _Walk:
    """Steps along the frontier, with what effort is left for those in one direction."""

    searcher: Searcher
    chosen: Answer
    least_gain: float
    _left: float = 0.0
    _stopped: bool = False

    def safer(self, demanded: Demanded, search: SearchResult) -> Iterator[Found]:
        """Dearer systems that keep the promise with fewer hours, to one that is never dark."""
        self._left = SAFER_EFFORT
        hours, after = self.chosen.hours_without_power, search
        for number in range(MOST_POINTS):
            if self._stopped or hours <= ROOM_H:
                return
            at_last = number == MOST_POINTS - 1 or self._left <= 0.0
            self._left = max(self._left, LAST_EFFORT)
            wanted = Demanded(demanded.by_class_h, 0.0 if at_last else self._fewer(hours))
            after = self._step(self.searcher, wanted, after, DEAREST * self.chosen.cost.total)
            if after.best is None:
                return
            yield Found(after.best, demanded, after.proven)
            if at_last:
                return
            hours = after.best.hours_without_power

    def darker(self, looser: Demanded) -> Iterator[Found]:
        """Cheaper systems that keep a looser promise, the cheapest first."""
        self._left = DARKER_EFFORT
        hours, after = np.inf, None
        most_cost = self.chosen.cost.total
        for _ in range(MOST_POINTS):
            wanted = Demanded(looser.by_class_h, self._fewer(hours))
            if self._over or wanted.any_h <= self.chosen.hours_without_power:
                return
            after = self._step(self.searcher, wanted, after, most_cost)
            if after.best is None or after.best.cost.total > most_cost - SAME_COST:
                return
            hours = after.best.hours_without_power
            if hours <= self.chosen.hours_without_power:
                return  # it breaks the promise with no more hours: another mix, not a darker one
            yield Found(after.best, looser, after.proven)

    def lighter(self, demanded: Demanded, search: SearchResult) -> Iterator[Found]:
        """Systems that keep the promise with ever less weight."""
        self._left = LIGHTER_EFFORT
        weight_kg, after = weight_of(self.chosen.system), search
        for _ in range(MOST_POINTS):
            if weight_kg is None or self._over:
                return
            light = self.searcher.no_heavier_than(self._less(weight_kg, ROOM_KG))
            after = self._step(light, demanded, after, DEAREST * self.chosen.cost.total)
            if after.best is None:
                return
            yield Found(after.best, demanded, after.proven)
            weight_kg = weight_of(after.best.system)

    @property
    def _over(self) -> bool:
        return self._stopped or self._left <= 0.0

    def _fewer(self, hours: float) -> float:
        return self._less(hours, 2.0 * ROOM_H)

    def _less(self, value: float, room: float) -> float:
        if np.isinf(value):
            return value
        return max(min((1.0 - self.least_gain) * value, value - room), 0.0)

    def _step(
        self, searcher: Searcher, wanted: Demanded, after: SearchResult | None, most_cost: float
    ) -> SearchResult:
        """One step; a person who stops it stops the walk."""
        before = searcher.trials().effort
        effort = min(STEP_EFFORT, self._left)
        found = searcher.find_next(wanted, after=after, effort=effort, most_cost=most_cost)
        self._left -= (searcher.trials().effort - before) / searcher.most_years
        self._stopped = found.stopped_early
        return found


def _bettered(searcher: Searcher, point: Found, *, weigh: bool) -> Found:
    """What beats a point among all systems that were run through all years by the way.

    A proven point is never beaten, but may be in weight by an equally dear one.
    """
    mine = _merits(point.answer, weigh=weigh)
    rivals = [
        (merits, answer.rank, answer)
        for answer in searcher.known_answers(point.demanded)
        if (merits := _merits(answer, weigh=weigh)) < mine
        and all(one <= other + 1e-9 for one, other in zip(merits, mine, strict=True))
    ]
    for _, _, answer in sorted(rivals, key=lambda one: one[:2]):
        if searcher.is_sound(answer.choice):
            return Found(answer, point.demanded, point.proven)
    return point


def _merits(one: Answer, *, weigh: bool) -> tuple[float, float, float]:
    """Cost, hours and weight, the less the better."""
    weight_kg = weight_of(one.system) if weigh else 0.0
    return (one.cost.total, one.hours_without_power, np.inf if weight_kg is None else weight_kg)


def undominated(points: Sequence[Found], *, weigh: bool = False) -> list[Found]:
    """Points that no other beats or equals in cost and hours, cheapest first.

    Parameters
    ----------
    points : sequence of Found
        Any.
    weigh : bool
        In weight, too; one that is not known counts as the heaviest.
    """
    kept: list[tuple[float, float, float]] = []
    found: list[Found] = []
    # Whatever beats a point stands before it in this order.
    for point in sorted(points, key=lambda one: _merits(one.answer, weigh=weigh)):
        mine = _merits(point.answer, weigh=weigh)
        if not any(one[1] <= mine[1] + 1e-9 and one[2] <= mine[2] + 1e-9 for one in kept):
            kept.append(mine)
            found.append(point)
    return found


def weight_of(system: System) -> float | None:
    """Weight of panels and batteries [kg]; ``None`` where one is not known."""
    return weight_of_parts(system.arrays, system.bank)


def words_for(system: System) -> str:
    """Panels, battery and controller in a few words."""
    words = [f"{array.count} × {array.panel.name}" for array in system.arrays]
    if system.bank is not None:
        words.append(f"{system.bank.count} × {system.bank.battery.name}")
    if system.controller is not None:
        words.append(system.controller.name)
    return "; ".join(words)

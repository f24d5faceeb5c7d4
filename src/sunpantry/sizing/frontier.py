"""Cheaper and darker, dearer and safer: the systems than which nothing is better in both.

Each point is the answer of the same exact search to another promise: so many hours a
year without power, class by class. Points that another one beats in cost and in hours are
left out. Where weight matters too, the same promise is asked again of lighter systems, and
a point is left out only where another one is as good in all three.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from sunpantry.parts.system import System
from sunpantry.sizing.answer import Answer
from sunpantry.sizing.options import weight_of_parts
from sunpantry.sizing.promise import Demanded
from sunpantry.sizing.search import Searcher

# Hours a year without power asked of the neighbours: shares of the choice's own, and
# multiples of what was promised.
SAFER = (0.25, 0.0)
DARKER = (5.0,)
LEAST_DARK_H = 8.0
# Weights asked for where weight matters: shares of that of the choice.
LIGHTER = (0.7, 0.45)
# Share of the effort of a search that each neighbour is worth.
NEIGHBOUR_EFFORT = 0.2
# A system that is dark for a tenth of the year is no neighbour any more [h].
DARKEST_H = 876.0


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
    """

    system: System
    total: float
    purchase: float
    hours_without: float
    winters_without_shortfall: int
    weight_kg: float | None
    words: str


def frontier_of(
    searcher: Searcher, demanded: Demanded, chosen: Answer, *, weigh: bool = False
) -> tuple[FrontierPoint, ...]:
    """Neighbours of a choice in cost and in hours without power, and in weight if asked.

    Parameters
    ----------
    searcher : Searcher
        That found the choice.
    demanded : Demanded
        The promise it was found for; darker neighbours may break it.
    chosen : Answer
        The choice.
    weigh : bool
        Also look for lighter systems that keep the promise.

    Returns
    -------
    tuple of FrontierPoint
        Cheapest first; the choice is among them unless something beats it in everything.
    """
    answers = [chosen]
    own = np.array(chosen.hours_by_class)
    if not demanded.kept(own, chosen.hours_without_power):
        return (point_of(chosen),)  # of the largest; dearer ones do not help it
    classes = {load.importance for load in searcher.setting.demand.loads}
    asks = [kind in classes for kind in range(3)]
    for wanted in _promises(demanded, chosen, asks):
        found = searcher.find(wanted, effort=NEIGHBOUR_EFFORT)
        if found.stopped_early:
            break
        if found.best is not None:
            answers.append(found.best)
    if weigh:
        answers.extend(_lighter(searcher, demanded, chosen))
    return tuple(point_of(answer) for answer in undominated(answers, weigh=weigh))


def _lighter(searcher: Searcher, demanded: Demanded, chosen: Answer) -> Iterator[Answer]:
    """The cheapest systems that keep the promise with a share of the choice's weight."""
    own_kg = weight_of(chosen.system)
    if own_kg is None:
        return
    for share in LIGHTER:
        found = searcher.no_heavier_than(share * own_kg).find(demanded, effort=NEIGHBOUR_EFFORT)
        if found.stopped_early or found.best is None:
            return  # what is lighter still keeps the promise even less
        yield found.best


def _promises(
    demanded: Demanded, chosen: Answer, chosen_asks: Sequence[bool]
) -> Iterator[Demanded]:
    """Promises to ask for: shares of the hours the choice has, and multiples of the promise.

    ``chosen_asks`` says which classes of importance ask for anything.
    """
    own = chosen.hours_by_class
    if chosen.hours_without_power > 0.0:
        for factor in SAFER:
            yield Demanded((own[0] * factor, own[1] * factor, own[2] * factor))
    asked = demanded.by_class_h
    # What must never fail stays so, as long as anything else can give way.
    gives_way = [kind for kind in range(3) if asked[kind] > 0.0 and chosen_asks[kind]]
    gives_way = gives_way or [kind for kind in range(3) if chosen_asks[kind]]
    for factor in DARKER:
        most = list(asked)
        for kind in gives_way:
            most[kind] = min(max(asked[kind], own[kind], LEAST_DARK_H) * factor, DARKEST_H)
        yield Demanded((most[0], most[1], most[2]))


def undominated(answers: Sequence[Answer], *, weigh: bool = False) -> list[Answer]:
    """Answers that no other beats or equals in cost and hours, cheapest first.

    Parameters
    ----------
    answers : sequence of Answer
        Any.
    weigh : bool
        In weight, too; one that is not known counts as the heaviest.
    """

    def merits(one: Answer) -> tuple[float, float, float]:
        weight_kg = weight_of(one.system) if weigh else 0.0
        return (
            one.cost.total,
            one.hours_without_power,
            np.inf if weight_kg is None else weight_kg,
        )

    kept: list[tuple[float, float, float]] = []
    found: list[Answer] = []
    # Whatever beats an answer stands before it in this order.
    for answer in sorted(answers, key=merits):
        mine = merits(answer)
        if not any(one[1] <= mine[1] + 1e-9 and one[2] <= mine[2] + 1e-9 for one in kept):
            kept.append(mine)
            found.append(answer)
    return found


def point_of(answer: Answer) -> FrontierPoint:
    """A point of the frontier from an answer."""
    return FrontierPoint(
        system=answer.system,
        total=answer.cost.total,
        purchase=answer.cost.purchase,
        hours_without=answer.hours_without_power,
        winters_without_shortfall=answer.winters_without_shortfall,
        weight_kg=weight_of(answer.system),
        words=words_for(answer.system),
    )


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

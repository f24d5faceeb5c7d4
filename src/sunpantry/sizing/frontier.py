"""Cheaper and darker, dearer and safer: the systems than which nothing is better in both.

Each point is the answer of the same exact search to another promise: so many hours a
year without power, class by class. Points that another one beats in cost and in hours are
left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from sunpantry.parts.system import System
from sunpantry.sizing.answer import Answer
from sunpantry.sizing.promise import Demanded
from sunpantry.sizing.search import Searcher

# Hours a year without power asked of the neighbours: shares of the choice's own, and
# multiples of what was promised.
SAFER = (0.25, 0.0)
DARKER = (5.0,)
LEAST_DARK_H = 8.0
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
    searcher: Searcher, demanded: Demanded, chosen: Answer
) -> tuple[FrontierPoint, ...]:
    """Neighbours of a choice in cost and in hours without power.

    Parameters
    ----------
    searcher : Searcher
        That found the choice.
    demanded : Demanded
        The promise it was found for; darker neighbours may break it.
    chosen : Answer
        The choice.

    Returns
    -------
    tuple of FrontierPoint
        Cheapest first; the choice is among them unless something beats it in both.
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
    return tuple(point_of(answer) for answer in undominated(answers))


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


def undominated(answers: Sequence[Answer]) -> list[Answer]:
    """Answers that no other beats or equals in both cost and hours, cheapest first."""
    kept: list[Answer] = []
    for answer in sorted(answers, key=lambda one: (one.cost.total, one.hours_without_power)):
        if not kept or answer.hours_without_power < kept[-1].hours_without_power - 1e-9:
            kept.append(answer)
    return kept


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
    parts = [(array.panel.weight_kg, array.count) for array in system.arrays]
    if system.bank is not None:
        parts.append((system.bank.battery.weight_kg, system.bank.count))
    total = 0.0
    for weight, count in parts:
        if weight is None:
            return None
        total += weight * count
    return total


def words_for(system: System) -> str:
    """Panels, battery and controller in a few words."""
    words = [f"{array.count} × {array.panel.name}" for array in system.arrays]
    if system.bank is not None:
        words.append(f"{system.bank.count} × {system.bank.battery.name}")
    if system.controller is not None:
        words.append(system.controller.name)
    return "; ".join(words)

"""Cheaper and darker, dearer and safer: the systems than which nothing is better in both.

Each point is the answer of the same exact search to another promise: so many hours a
year without power, of anything. Points that another one beats in cost and in hours are
left out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sunpantry.parts.system import System
from sunpantry.sizing.promise import Demanded
from sunpantry.sizing.search import Answer, Searcher

ANY_HOURS = (float("inf"), float("inf"), float("inf"))
# Hours a year without power asked of the neighbours, as multiples of the choice's own.
DARKER = (2.5, 6.0, 16.0)
SAFER = (0.4, 0.1, 0.0)
# A system that is dark for a tenth of the year is no neighbour any more [h].
DARKEST_H = 876.0
LEAST_STEP_H = 1.0


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
    for wanted in _promises(demanded, chosen):
        found = searcher.find(wanted)
        if found.stopped_early:
            break
        if found.best is not None:
            answers.append(found.best)
    return tuple(point_of(answer) for answer in undominated(answers))


def _promises(demanded: Demanded, chosen: Answer) -> Iterator[Demanded]:
    """Promises to ask for, those nearest to the choice first on either side."""
    own = max(chosen.hours_without_power, LEAST_STEP_H)
    if chosen.hours_without_power > 0.0:
        for factor in SAFER:
            yield Demanded(demanded.by_class_h, any_h=chosen.hours_without_power * factor)
    for factor in DARKER:
        hours = min(own * factor * max(LEAST_STEP_H, 1.0), DARKEST_H)
        yield Demanded(ANY_HOURS, any_h=hours)


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

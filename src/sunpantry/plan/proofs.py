"""The runs that a plan rests on."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass
from typing import TypeVar

from sunpantry.parts.system import System
from sunpantry.physics.battery import WORN_OUT
from sunpantry.plan.questions import Question
from sunpantry.plan.verdict import promise_hours
from sunpantry.simulate.fading import Fading, fade
from sunpantry.simulate.proof import Proof, prove
from sunpantry.simulate.second_source import second_source_of, standing_backup

T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class Proofs:
    """The runs that a plan rests on."""

    worn: Proof
    new: Proof
    darker: Proof
    fading: Fading | None


def prove_all(question: Question, system: System) -> Proofs:
    """Run the system worn, new, worn under a darker sky, and ageing."""
    return at_once(proving(question, system))


def at_once(pieces: Generator[None, None, T]) -> T:
    """Do something that pauses between its pieces without a pause; return what comes of it."""
    while True:
        try:
            next(pieces)
        except StopIteration as done:
            result: T = done.value
            return result


def proving(
    question: Question, system: System, *, worn: Proof | None = None
) -> Generator[None, None, Proofs]:
    """The same, pausing between the runs for whoever has more than this to do.

    Parameters
    ----------
    question, system
        As for :func:`prove_all`.
    worn : Proof, optional
        The first run, where it is there already; see :func:`prove_worn`.
    """
    promise = promise_hours(question.design)
    source = second_source_of(standing_backup(question.design))
    if worn is None:
        worn = prove_worn(question, system)
        yield
    new = prove(question.setting, system, promise_h=promise, second_source=source)
    yield
    darker = prove(
        question.darker(), system, promise_h=promise, capacity_left=WORN_OUT, second_source=source
    )
    darker = darker.without_traces()
    yield
    return Proofs(worn, new, darker, fade(question.setting, system, second_source=source))


def prove_worn(question: Question, system: System) -> Proof:
    """The run that a promise is judged by: with a battery that is worn out."""
    return prove(
        question.setting,
        system,
        promise_h=promise_hours(question.design),
        capacity_left=WORN_OUT,
        second_source=second_source_of(standing_backup(question.design)),
    )

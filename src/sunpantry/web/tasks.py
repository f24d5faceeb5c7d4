"""What a worker process does: answer one question at a time, and remember the last few."""

from __future__ import annotations

import hashlib
import json
import os
import threading
import time
from collections.abc import Callable, Generator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from sunpantry.errors import InputError, Problem, SearchError, SunpantryError
from sunpantry.language import speaking
from sunpantry.memory import give_back
from sunpantry.web.recent import Recent

if TYPE_CHECKING:
    from multiprocessing.sharedctypes import Synchronized

    from sunpantry.design.models import Design
    from sunpantry.parts.system import System
    from sunpantry.plan.questions import Question
    from sunpantry.plan.types import Plan, SearchReport
    from sunpantry.simulate.proof import Proof
    from sunpantry.web.answer import Answer, Glance

# A sky of 30 winters takes 20 MB, a plan 80 MB.
KEPT_SKIES, KEPT_PLANS, KEPT_PICTURES = 8, 2, 40
FIRST_TRY = "first try"  # the key of parts that were chosen by a few winters
# From here on the parts are known, and ending the search would throw them away.
CHOSEN = 0.7
Drawable = tuple[str, str, str, dict[str, Any]]
Pieces = Generator[None, None, "Answer | Refused"]
T = TypeVar("T")


@dataclass(frozen=True, eq=False)
class Found:
    """Parts that were chosen for a document.

    Parameters
    ----------
    key : str
        Digest of what they were chosen for; see :func:`sunpantry.web.documents.choice_key`.
    system, search, frontier, alternatives
        As in a plan.
    """

    key: str
    system: System
    search: SearchReport
    frontier: tuple[Any, ...]
    alternatives: tuple[Any, ...] = ()


@dataclass(frozen=True)
class Refused:
    """Why there is no answer.

    Parameters
    ----------
    words : str
        For a person.
    problems : tuple of Problem
        To be mended one by one.
    anew : bool
        The present parts do not go with the change: parts must be chosen anew.
    """

    words: str
    problems: tuple[Problem, ...] = ()
    anew: bool = False


class Bench:
    """What one worker process has at hand."""

    folder: Path = Path()
    skies: Recent[Question] = Recent(KEPT_SKIES)
    plans: Recent[Plan] = Recent(KEPT_PLANS)
    worn: Recent[Proof] = Recent(1)
    going: Recent[Pieces] = Recent(1)
    charts: Recent[tuple[Drawable, ...]] = Recent(KEPT_PLANS)
    drawn: Recent[bytes] = Recent(KEPT_PICTURES)
    fraction: Synchronized[float] | None = None
    stop: Synchronized[int] | None = None


def begin(folder: Path, nice: int, shared: tuple[Any, Any, Any] | None) -> None:
    """Set a fresh worker process up.

    Parameters
    ----------
    folder : Path
        Weather files are read from here.
    nice : int
        How far it stands back behind the others.
    shared : tuple or None
        Fraction done, stop flag and number of this process, shared with the page.
    """
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    os.environ["NUMBA_NUM_THREADS"] = "1"
    if nice and hasattr(os, "nice"):
        os.nice(nice)
    Bench.folder = folder
    if shared is not None:
        Bench.fraction, Bench.stop, pid = shared
        pid.value = os.getpid()


def _end_with_parent() -> None:
    """Leave when the page is gone, however it went: nobody would ever ask again."""
    from multiprocessing import connection, parent_process

    parent = parent_process()
    if parent is not None:
        connection.wait([parent.sentinel])
        os._exit(0)


def digest(text: str) -> str:
    """Short name of a document's content."""
    return hashlib.sha256(text.encode()).hexdigest()[:24]


def design_of(text: str) -> Design:
    from sunpantry.web.documents import read_document

    return read_document(text)


def told(work: Callable[[], T | Refused]) -> T | Refused:
    """Do something, and tell its errors as data: exceptions with parts do not travel well."""
    try:
        return work()
    except InputError as error:
        return Refused("some things have to be mended", error.problems)
    except SearchError as error:
        return Refused(str(error))
    except SunpantryError as error:
        return Refused(str(error))


def question(text: str) -> Question:
    """Look up everything a document refers to; the sky is remembered between changes."""
    from sunpantry.demand.demand import demand_of
    from sunpantry.plan.facing import kit_of
    from sunpantry.plan.questions import Question, question_of, setting_of
    from sunpantry.sizing.cost import Pricing

    design = design_of(text)
    site = design.site.model_dump(mode="json")
    about = json.dumps([site, design.winters, design.seed, design.step_h], sort_keys=True)
    first = Bench.skies.get(digest(about), lambda: question_of(design, folder=Bench.folder))
    if first.design == design:
        return first
    sky = first.sky
    demand = demand_of(design, sky.place, sky.weather.grid)
    asked = setting_of(design, sky, demand=demand)
    setting = replace(first.setting.with_demand(demand), habits=asked.habits)
    kit = kit_of(design, setting)
    return Question(design, sky, setting, kit, Pricing.of(design, kit))


def search(text: str) -> Found | Refused:
    """Choose the parts that a document leaves open."""
    return told(lambda: _search(text))


def tell(fraction: float, words: str) -> None:
    """Say how far a search is, and end it where that was asked for and something is left of it."""
    del words
    if Bench.fraction is not None and Bench.stop is not None:
        Bench.fraction.value = fraction
        if Bench.stop.value and fraction < CHOSEN:
            Bench.stop.value = 0
            raise KeyboardInterrupt


def _search(text: str) -> Found:
    from sunpantry.plan import make_plan
    from sunpantry.web.documents import choice_key

    design = design_of(text)
    try:
        tell(0.0, "")  # here, so that a stop at the first moment ends the search and nothing else
        plan = make_plan(design, folder=Bench.folder, progress=tell)
    except KeyboardInterrupt:
        raise SearchError("stopped before anything was found") from None
    return Found(choice_key(text), plan.system, plan.search, plan.frontier, plan.alternatives)


def glance(text: str, found: Found) -> Glance | Refused:
    """Answer a change quickly: the present parts through all the winters."""
    return told(lambda: _glance(text, found))


def _fitted(asked: Question, found: Found, text: str) -> System | None:
    from sunpantry.web.documents import choice_key
    from sunpantry.web.keep import kept_system

    if found.key == choice_key(text):
        return found.system  # chosen for exactly this
    if not asked.setting.demand.loads:
        return found.system  # everything hangs straight on panels: nothing of it is kept
    return kept_system(asked.kit, found.system, asked.setting.demand)


ANEW = Refused("the present parts do not go with this change", anew=True)


def _glance(text: str, found: Found) -> Glance | Refused:
    from sunpantry.plan.make import cost_of
    from sunpantry.plan.proofs import prove_worn
    from sunpantry.plan.second import second_source_report, within_trips
    from sunpantry.plan.verdict import promise_hours, promise_kept, verdict_of
    from sunpantry.simulate.second_source import standing_backup
    from sunpantry.web.answer import glance_of, glance_of_plan

    start = time.perf_counter()
    asked = question(text)
    system = _fitted(asked, found, text)
    if system is None:
        return ANEW
    design = asked.design
    if not asked.setting.demand.loads:
        plan = plan_of(text, found)
        return ANEW if plan is None else glance_of_plan(plan, time.perf_counter() - start)
    proof = Bench.worn.get(digest(text) + found.key, lambda: prove_worn(asked, system))
    helper = second_source_report(standing_backup(design), proof)
    kept = promise_kept(proof, promise_hours(design)) and within_trips(helper)
    return glance_of(
        design,
        asked.setting,
        system,
        proof,
        verdict=verdict_of(design, proof, kept=kept),
        kept=kept,
        cost=cost_of(asked, system, proof).total,
        took_s=time.perf_counter() - start,
    )


def plan_of(text: str, found: Found) -> Plan | None:
    """The whole plan of a document with parts that were chosen; remembered for a while."""
    from sunpantry.plan.proofs import at_once

    return at_once(_plan_in_pieces(text, found))


def _plan_in_pieces(text: str, found: Found) -> Generator[None, None, Plan | None]:
    from sunpantry.plan.make import plan_for
    from sunpantry.plan.proofs import proving
    from sunpantry.web.keep import of_now

    key = digest(text) + found.key
    plan = Bench.plans.look(key)
    if plan is None:
        asked = question(text)
        system = _fitted(asked, found, text)
        if system is None:
            return None
        proofs = None
        if asked.setting.demand.loads:
            proofs = yield from proving(asked, system, worn=Bench.worn.look(key))
            yield
        true = found if found.key.startswith(FIRST_TRY) else of_now(found, text)
        plan = plan_for(
            asked,
            system,
            search=true.search,
            alternatives=true.alternatives,
            proofs=proofs,
        )
        # a finished plan's frontier, with what pipes cost in it already
        plan = replace(_lighter(plan), frontier=true.frontier)
        Bench.plans.put(key, plan)
        give_back()
        yield
    return plan


def _lighter(plan: Plan) -> Plan:
    """A plan without the hours of its second and third run, which nothing shows."""
    new, darker = plan.proof_new.without_traces(), plan.proof_darker.without_traces()
    return replace(plan, proof_new=new, proof_darker=darker)


def answer(text: str, found: Found) -> Answer | Refused:
    """Answer a document in full."""
    while True:
        result = piece_of_answer(text, found)
        if result is not None:
            return result


def piece_of_answer(text: str, found: Found) -> Answer | Refused | None:
    """Do the next piece of a whole answer.

    Returns
    -------
    Answer, Refused or None
        ``None`` while there is more to do: in between, the process is free for what somebody
        types. An answer that another one is begun before has to begin anew.
    """
    key = digest(text) + found.key
    pieces = Bench.going.get(key, lambda: _answer_in_pieces(text, found))

    def one_more() -> Answer | Refused | None:
        try:
            next(pieces)
        except StopIteration as done:
            Bench.going.drop(key)
            result: Answer | Refused = done.value
            return result
        return None

    result = told(one_more)
    if isinstance(result, Refused):
        Bench.going.drop(key)
    return result


def _answer_in_pieces(text: str, found: Found) -> Pieces:
    from sunpantry.design import design_document, design_from, write_design
    from sunpantry.report.plain import plain
    from sunpantry.report.plan_json import plan_json
    from sunpantry.web.answer import Answer, glance_of_plan
    from sunpantry.web.circuit import drawings_in_pieces
    from sunpantry.web.keep import pinned_document

    start = time.perf_counter()
    plan = yield from _plan_in_pieces(text, found)
    if plan is None:
        return ANEW
    drawings = yield from drawings_in_pieces(plan)
    pinned = pinned_document(design_document(plan.design), plan.system)
    try:
        written = write_design(design_from(pinned))
    except InputError:
        written = ""
    return Answer(
        glance=glance_of_plan(plan, time.perf_counter() - start),
        plan=plain(plan_json(plan)),
        wiring=() if plan.wiring is None else plan.wiring.workings,
        drawings=drawings,
        pinned=written,
    )


def sheet(
    text: str, found: Found, paper: str, locale: str | None, language: str
) -> bytes | Refused:
    """The build sheet as PDF, in a language."""
    from sunpantry.report.sheet import sheet_pdf

    def work() -> bytes | Refused:
        plan = plan_of(text, found)
        if plan is None:
            return ANEW
        with speaking(language):
            return sheet_pdf(plan, paper=paper, locale=locale)

    return told(work)


def weather_read(text: str) -> bool | Refused:
    """Whether the weather file of a document can be read for its place."""

    def work() -> bool:
        question(text)
        return True

    return told(work)


def warm_up() -> bool:
    """Load what the first answer would otherwise wait for."""
    import sunpantry.plan
    import sunpantry.web.answer  # noqa: F401

    return True

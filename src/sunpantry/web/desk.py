"""What is known of each design's answer, and what is being worked on."""

from __future__ import annotations

import asyncio
import tomllib
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TypeVar

from sunpantry.phrases import phrase
from sunpantry.web import tasks
from sunpantry.web.answer import Answer, Glance
from sunpantry.web.chosen import Chosen
from sunpantry.web.documents import asks_for_something, choice_key
from sunpantry.web.first_try import first_try
from sunpantry.web.recent import Recent
from sunpantry.web.settings import Settings
from sunpantry.web.tasks import Found, Refused, digest
from sunpantry.web.workers import TYPED, Worker, Workers

KEPT_ANSWERS, KEPT_CHOICES = 64, 512
NOTHING_ASKED = Refused("nothing is asked for yet: add something that must run")
T = TypeVar("T")
TOO_MANY = Refused("too many searches are waiting: try again in a minute")


@dataclass(frozen=True)
class Shown:
    """What a page can show of the answer to a design.

    Parameters
    ----------
    state : str
        'fresh': parts chosen for exactly this; 'kept': parts chosen before, proven anew;
        'quick': the verdict is of this, the rest of the answer is still the one before;
        'old': the answer before the last change, a new one is on its way; 'working': a
        search for parts is going on; 'refused': there is no answer, and why.
    answer : Answer or None
        What can be shown meanwhile.
    quick : Glance or None
        The verdict that came before the answer.
    refused : Refused or None
        Why there is no answer.
    fraction : float or None
        How far the search is, while one goes on.
    waiting : int
        Searches before this one.
    first : bool
        The answer is of a first try, by a few winters; the search goes on.
    """

    state: str
    answer: Answer | None = None
    refused: Refused | None = None
    fraction: float | None = None
    waiting: int = 0
    first: bool = False
    quick: Glance | None = None

    @property
    def headline(self) -> Glance | None:
        """Verdict and picture to show."""
        if self.quick is not None:
            return self.quick
        return None if self.answer is None else self.answer.glance

    @property
    def whole(self) -> Answer | None:
        """The answer to exactly this document, once it is there."""
        return self.answer if self.state in {"fresh", "kept"} else None

    @property
    def asks_nothing(self) -> bool:
        """Nothing must run yet: no answer, and nothing wrong."""
        return self.refused is NOTHING_ASKED


@dataclass(frozen=True)
class FirstTry:
    """Parts chosen by a few winters, for a document that is still being searched for."""

    key: str
    found: Found
    answer: Answer


@dataclass
class Search:
    """A search that is queued or going on."""

    key: str
    task: asyncio.Task[None] | None = None
    first: asyncio.Task[None] | None = None
    running: bool = False
    stopped: bool = False


@dataclass
class Desk:
    """Answers, and the work that leads to them.

    Parameters
    ----------
    settings : Settings
        Limits.
    workers : Workers
        Who does the work.
    """

    settings: Settings
    workers: Workers
    choices: Recent[Found] = field(default_factory=lambda: Recent(KEPT_CHOICES))
    last: Recent[Found] = field(default_factory=lambda: Recent(KEPT_CHOICES))
    answers: Recent[Answer] = field(default_factory=lambda: Recent(KEPT_ANSWERS))
    shown: Recent[Answer] = field(default_factory=lambda: Recent(KEPT_ANSWERS))
    glances: Recent[Glance] = field(default_factory=lambda: Recent(KEPT_ANSWERS))
    firsts: Recent[FirstTry] = field(default_factory=lambda: Recent(KEPT_ANSWERS))
    failed: Recent[Refused] = field(default_factory=lambda: Recent(KEPT_CHOICES))
    searches: dict[str, Search] = field(default_factory=dict)
    _working: dict[str, asyncio.Task[Answer | Refused]] = field(default_factory=dict)
    _glancing: dict[str, asyncio.Task[Glance | Refused]] = field(default_factory=dict)
    _one_search: asyncio.Lock = field(default_factory=asyncio.Lock)

    @cached_property
    def chosen(self) -> Chosen:
        """Choices of earlier runs."""
        return Chosen(self.settings.data_folder / "chosen")

    async def show(
        self, design_id: str, text: str, *, wait_s: float | None = None, soon: bool = False
    ) -> Shown:
        """Find the answer to a document, waiting a little while for it.

        Parameters
        ----------
        design_id : str
            Of the design.
        text : str
            The document.
        wait_s : float, optional
            Longest wait; as the settings say by default [s].
        soon : bool
            Wait for no more than the verdict: the reader comes back for the rest.
        """
        wait = self.settings.reply_wait_s if wait_s is None else wait_s
        if not asks_for_something(tomllib.loads(text)):
            return Shown("refused", refused=NOTHING_ASKED)
        key = choice_key(text)
        found, state = self.found(design_id, text)
        if found is None:
            return await self._searching(design_id, text, key, wait)
        result = await self._answered(design_id, text, found, wait_s=wait, soon=soon)
        if result is None:
            return self._meanwhile(design_id, "old")
        if isinstance(result, Refused):
            if result.anew:
                self.choices.drop(key)
                return await self._searching(design_id, text, key, wait)
            return Shown("refused", refused=result)
        self.last.put(design_id, found)
        if isinstance(result, Answer):
            return self._with_search(design_id, state, result)
        return replace(self._meanwhile(design_id, "quick"), first=False, quick=result)

    async def _answered(
        self, design_id: str, text: str, found: Found, *, wait_s: float, soon: bool
    ) -> Answer | Glance | Refused | None:
        """The answer, or else the verdict, as far as they come in time."""
        kept = self.answers.look(digest(text) + found.key)
        if kept is not None:
            self.shown.put(design_id, kept)
            return kept
        quick = self._quick(design_id, text, found)
        whole = self._answer(design_id, text, found)
        sooner = {quick, whole} if soon else {whole}
        await asyncio.wait(sooner, timeout=wait_s, return_when=asyncio.FIRST_COMPLETED)
        return _result(whole) or _result(quick)

    def found(self, design_id: str, text: str) -> tuple[Found | None, str]:
        """Parts chosen for this document, or else the last ones chosen for the design."""
        key = choice_key(text)
        found = self.choices.look(key)
        if found is None and may_be_kept(text):
            found = self.chosen.look(key)
            if found is not None:
                self.choices.put(key, found)
        if found is not None:
            return found, "fresh"
        return self.last.look(design_id), "kept"

    def before(self, design_id: str) -> Shown:
        """What was shown of a design last, with no new work begun for it."""
        return self._meanwhile(design_id, "old")

    async def glance(self, design_id: str, text: str) -> Glance | Refused | None:
        """Answer a change that is not saved; ``None`` where no parts were chosen yet."""
        found, _ = self.found(design_id, text)
        if found is None:
            first = self.firsts.look(design_id)
            if first is None:
                return None
            found = first.found
        return await self._glance(design_id, text, found)

    async def _glance(self, design_id: str, text: str, found: Found) -> Glance | Refused:
        key = digest(text) + found.key
        kept = self.glances.look(key)
        if kept is not None:
            return kept
        worker = self.workers.of(design_id)
        result = await worker.run(tasks.glance, text, found, rank=TYPED)
        if isinstance(result, Glance):
            self.glances.put(key, result)
        return result

    def _quick(self, design_id: str, text: str, found: Found) -> asyncio.Task[Glance | Refused]:
        """The verdict alone, asked for once however many look at the design."""
        key = digest(text) + found.key
        if key not in self._glancing:
            task = asyncio.create_task(self._glance(design_id, text, found))
            self._glancing[key] = task
            task.add_done_callback(lambda _: self._glancing.pop(key, None))
        return self._glancing[key]

    def begin_search(self, design_id: str, text: str) -> bool:
        """Queue a search for parts; a newer one takes the place of one still waiting."""
        key = choice_key(text)
        before = self.searches.get(design_id)
        if before is not None:
            if before.key == key:
                return True
            self.end_search(design_id)
        if len(self.searches) >= self.settings.max_searches_waiting:
            return False
        search = Search(key)
        self.searches[design_id] = search
        search.task = asyncio.create_task(self._search(design_id, text, search))
        if self.last.look(design_id) is None and not self.workers.trier.waiting:
            search.first = asyncio.create_task(self._first_try(design_id, text))
        return True

    def end_search(self, design_id: str) -> None:
        """Stop a search; one that is going on hands over the best so far."""
        search = self.searches.get(design_id)
        if search is None:
            return
        search.stopped = True
        if search.running:
            self.workers.searcher.ask_to_stop()
        elif search.task is not None:
            search.task.cancel()
            self.searches.pop(design_id, None)
            self.failed.put(search.key, Refused("stopped before it began"))

    def search_again(self, design_id: str, text: str) -> None:
        """Search for parts anew, unless the present ones are the best of a whole search."""
        self.failed.drop(choice_key(text))
        found, state = self.found(design_id, text)
        if state != "fresh" or found is None or found.search.stopped_early:
            self.begin_search(design_id, text)

    async def _search(self, design_id: str, text: str, search: Search) -> None:
        try:
            async with self._one_search:
                search.running = True
                searcher = self.workers.searcher
                searcher.reset()
                result = await searcher.run(tasks.search, text, again=False)
            tried = self.firsts.look(design_id)
            if tried is not None and tried.key != search.key:
                tried = None  # of what was asked for before
            if search.stopped and tried is not None and not isinstance(result, Found):
                result = _of_first_try(tried.found)
            if isinstance(result, Found):
                self.choices.put(search.key, result)
                if may_be_kept(text) and not result.search.stopped_early:
                    await asyncio.to_thread(self.chosen.put, search.key, result)
                self.last.put(design_id, result)
            else:
                self.failed.put(search.key, result)
        finally:
            if self.searches.get(design_id) is search:
                del self.searches[design_id]
            if search.first is not None and not search.first.done():
                self.workers.trier.ask_to_stop()

    async def _first_try(self, design_id: str, text: str) -> None:
        """Have something to show while the search goes on."""
        trier = self.workers.trier
        trier.reset()
        found = await trier.run(first_try, text, again=False)
        if not trier.waiting:
            trier.close()
        if isinstance(found, Found) and design_id in self.searches:
            answer = await self._in_pieces(self.workers.of(design_id), text, found)
            if isinstance(answer, Answer):
                self.firsts.put(design_id, FirstTry(choice_key(text), found, answer))

    async def _searching(self, design_id: str, text: str, key: str, wait_s: float) -> Shown:
        failure = self.failed.look(key)
        if failure is not None:
            return Shown("refused", answer=self.shown.look(design_id), refused=failure)
        if not self.begin_search(design_id, text):
            return Shown("refused", answer=self.shown.look(design_id), refused=TOO_MANY)
        task = self.searches[design_id].task
        if task is not None:
            await asyncio.wait({task}, timeout=wait_s)
        if self.choices.look(key) is not None:
            return await self.show(design_id, text, wait_s=max(wait_s, 1.0))
        failure = self.failed.look(key)
        if failure is not None:
            return Shown("refused", answer=self.shown.look(design_id), refused=failure)
        return self._meanwhile(design_id, "working")

    def _meanwhile(self, design_id: str, state: str) -> Shown:
        """What can be shown until the answer is there: the one before, or a first try."""
        before, first = self.shown.look(design_id), self.firsts.look(design_id)
        if before is None and first is not None:
            return replace(self._with_search(design_id, state, first.answer), first=True)
        return self._with_search(design_id, state, before)

    def _with_search(self, design_id: str, state: str, answer: Answer | None) -> Shown:
        search = self.searches.get(design_id)
        if search is None:
            return Shown(state, answer)
        if search.running:
            return Shown(state, answer, fraction=float(self.workers.searcher.fraction.value))
        waiting = list(self.searches).index(design_id)
        return Shown(state, answer, fraction=0.0, waiting=waiting)

    def _answer(self, design_id: str, text: str, found: Found) -> asyncio.Task[Answer | Refused]:
        key = digest(text) + found.key
        if key not in self._working:
            work = self._work(design_id, text, found, key)
            self._working[key] = asyncio.create_task(work)
        return self._working[key]

    async def _work(self, design_id: str, text: str, found: Found, key: str) -> Answer | Refused:
        try:
            result = await self._in_pieces(self.workers.of(design_id), text, found)
            if isinstance(result, Answer):
                self.answers.put(key, result)
                self.shown.put(design_id, result)
            return result
        finally:
            self._working.pop(key, None)

    async def _in_pieces(self, worker: Worker, text: str, found: Found) -> Answer | Refused:
        """One answer at a time of a process; what is typed comes in between its pieces."""
        async with worker.answering:
            while True:
                result = await worker.run(tasks.piece_of_answer, text, found)
                if result is not None:
                    return result

    def close(self) -> None:
        """End all work."""
        for search in self.searches.values():
            for task in (search.task, search.first):
                if task is not None:
                    task.cancel()
        for work in (*self._working.values(), *self._glancing.values()):
            work.cancel()
        self.workers.close()


def may_be_kept(text: str) -> bool:
    """Whether the choice of parts depends on nothing but the document and this version."""
    return "weather_file" not in text


def _of_first_try(found: Found) -> Found:
    """The best there is when a search was stopped before it knew any better."""
    words = phrase(
        "The search was stopped before it found parts of its own: these are those of the first "
        "try, chosen by a few winters and run through all of them."
    )
    search = replace(found.search, stopped_early=True, words=words)
    return replace(found, key=f"{found.key}, stopped", search=search)


def _result(task: asyncio.Task[T]) -> T | None:
    """What came of a task, if it is done."""
    return task.result() if task.done() and not task.cancelled() else None

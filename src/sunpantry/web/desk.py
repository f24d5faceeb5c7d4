"""What is known of each design's answer, and what is being worked on."""

from __future__ import annotations

import asyncio
import tomllib
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from sunpantry.web import tasks
from sunpantry.web.answer import Answer, Glance
from sunpantry.web.chosen import Chosen
from sunpantry.web.documents import asks_for_something, choice_key
from sunpantry.web.first_try import first_try
from sunpantry.web.recent import Recent
from sunpantry.web.settings import Settings
from sunpantry.web.tasks import Found, Refused, digest
from sunpantry.web.workers import Workers

KEPT_ANSWERS, KEPT_CHOICES = 64, 512
NOTHING_ASKED = Refused("nothing is asked for yet: add something that must run")
TOO_MANY = Refused("too many searches are waiting: try again in a minute")


@dataclass(frozen=True)
class Shown:
    """What a page can show of the answer to a design.

    Parameters
    ----------
    state : str
        'fresh': parts chosen for exactly this; 'kept': parts chosen before, proven anew;
        'old': the answer before the last change, a new one is on its way; 'working': a
        search for parts is going on; 'refused': there is no answer, and why.
    answer : Answer or None
        What can be shown meanwhile.
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

    @property
    def asks_nothing(self) -> bool:
        """Nothing must run yet: no answer, and nothing wrong."""
        return self.refused is NOTHING_ASKED


@dataclass
class Search:
    """A search that is queued or going on."""

    key: str
    task: asyncio.Task[None] | None = None
    first: asyncio.Task[None] | None = None
    running: bool = False


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
    firsts: Recent[tuple[Found, Answer]] = field(default_factory=lambda: Recent(KEPT_ANSWERS))
    failed: Recent[Refused] = field(default_factory=lambda: Recent(KEPT_CHOICES))
    searches: dict[str, Search] = field(default_factory=dict)
    _working: dict[str, asyncio.Task[Answer | Refused]] = field(default_factory=dict)
    _one_search: asyncio.Lock = field(default_factory=asyncio.Lock)

    @cached_property
    def chosen(self) -> Chosen:
        """Choices of earlier runs."""
        return Chosen(self.settings.data_folder / "chosen")

    async def show(self, design_id: str, text: str, *, wait_s: float | None = None) -> Shown:
        """Find the answer to a document, waiting a little while for it.

        Parameters
        ----------
        design_id : str
            Of the design.
        text : str
            The document.
        wait_s : float, optional
            Longest wait; as the settings say by default [s].
        """
        wait = self.settings.reply_wait_s if wait_s is None else wait_s
        if not asks_for_something(tomllib.loads(text)):
            return Shown("refused", refused=NOTHING_ASKED)
        key = choice_key(text)
        found, state = self.found(design_id, text)
        if found is None:
            return await self._searching(design_id, text, key, wait)
        result = await _within(self._answer(design_id, text, found), wait)
        if result is None:
            return self._meanwhile(design_id, "old")
        if isinstance(result, Refused):
            if result.anew and state != "fresh":
                return await self._searching(design_id, text, key, wait)
            return Shown("refused", refused=result)
        self.last.put(design_id, found)
        return self._with_search(design_id, state, result)

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

    async def glance(self, design_id: str, text: str) -> Glance | Refused | None:
        """Answer a change that is not saved; ``None`` where no parts were chosen yet."""
        found, _ = self.found(design_id, text)
        if found is None:
            first = self.firsts.look(design_id)
            if first is None:
                return None
            found = first[0]
        return await self.workers.of(design_id).run(tasks.glance, text, found)

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
        if self.last.look(design_id) is None and not self.workers.of(design_id).waiting:
            search.first = asyncio.create_task(self._first_try(design_id, text))
        return True

    def end_search(self, design_id: str) -> None:
        """Stop a search; one that is going on hands over the best so far."""
        search = self.searches.get(design_id)
        if search is None:
            return
        if search.running:
            self.workers.searcher.ask_to_stop()
        elif search.task is not None:
            search.task.cancel()
            self.searches.pop(design_id, None)
            self.failed.put(search.key, Refused("stopped before it began"))

    def forget_failure(self, text: str) -> None:
        """Let a search that found nothing be tried again."""
        self.failed.drop(choice_key(text))

    async def _search(self, design_id: str, text: str, search: Search) -> None:
        try:
            async with self._one_search:
                search.running = True
                searcher = self.workers.searcher
                searcher.reset()
                result = await searcher.run(tasks.search, text)
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
                self.workers.of(design_id).ask_to_stop()

    async def _first_try(self, design_id: str, text: str) -> None:
        """Have something to show while the search goes on."""
        worker = self.workers.of(design_id)
        worker.reset()
        found = await worker.run(first_try, text)
        if isinstance(found, Found) and design_id in self.searches:
            answer = await worker.run(tasks.answer, text, found)
            if isinstance(answer, Answer):
                self.firsts.put(design_id, (found, answer))

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
            return replace(self._with_search(design_id, state, first[1]), first=True)
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
        kept = self.answers.look(key)
        if kept is not None:
            self.shown.put(design_id, kept)
            return asyncio.create_task(_ready(kept))
        if key not in self._working:
            work = self._work(design_id, text, found, key)
            self._working[key] = asyncio.create_task(work)
        return self._working[key]

    async def _work(self, design_id: str, text: str, found: Found, key: str) -> Answer | Refused:
        try:
            result = await self.workers.of(design_id).run(tasks.answer, text, found)
            if isinstance(result, Answer):
                self.answers.put(key, result)
                self.shown.put(design_id, result)
            return result
        finally:
            self._working.pop(key, None)

    def close(self) -> None:
        """End all work."""
        for search in self.searches.values():
            for task in (search.task, search.first):
                if task is not None:
                    task.cancel()
        for work in self._working.values():
            work.cancel()
        self.workers.close()


def may_be_kept(text: str) -> bool:
    """Whether the choice of parts depends on nothing but the document and this version."""
    return "weather_file" not in text


async def _ready(answer: Answer) -> Answer:
    return answer


async def _within(task: asyncio.Task[Any], wait_s: float) -> Any:
    """Result of a task, or ``None`` when it takes longer; the task goes on."""
    done, _ = await asyncio.wait({task}, timeout=wait_s)
    return task.result() if done else None

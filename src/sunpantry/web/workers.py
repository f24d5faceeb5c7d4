"""Worker processes: some for quick answers, two apart for long searches and first tries."""

from __future__ import annotations

import asyncio
import contextlib
import heapq
import itertools
import logging
import multiprocessing
import os
import signal
import zlib
from collections.abc import Callable
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any, TypeVar

from sunpantry.phrases import phrase
from sunpantry.web import tasks
from sunpantry.web.tasks import Refused

T = TypeVar("T")
BROKEN = Refused(phrase("the computation broke off; try again"))
_NICE, _LESS_NICE = 10, 5
# Who goes first at a process: what somebody types, then pieces of answers and pictures.
TYPED, USUAL = 0, 1
_log = logging.getLogger("sunpantry.web")


class Worker:
    """One process with a queue before it; it is started again when it dies."""

    def __init__(self, folder: Path, *, nice: int = 0) -> None:
        self._context = multiprocessing.get_context("spawn")
        self._folder, self._nice = folder, nice
        self.fraction = self._context.Value("d", 0.0)
        self.stop = self._context.Value("i", 0)
        self._pid = self._context.Value("q", 0)
        self.answering = asyncio.Lock()
        self.waiting = 0
        self._pool: ProcessPoolExecutor | None = None
        self._busy = self._ended = False
        self._queue: list[tuple[int, int, asyncio.Future[None]]] = []
        self._numbers = itertools.count()

    def _started(self) -> ProcessPoolExecutor:
        if self._pool is None:
            self._pool = ProcessPoolExecutor(
                1,
                mp_context=self._context,
                initializer=tasks.begin,
                initargs=(self._folder, self._nice, (self.fraction, self.stop, self._pid)),
            )
        return self._pool

    async def run(
        self, work: Callable[..., T], *arguments: Any, rank: int = USUAL, again: bool = True
    ) -> T | Refused:
        """Have something done in the process.

        Parameters
        ----------
        work : callable
            A function of :mod:`sunpantry.web.tasks`.
        arguments
            What it is given.
        rank : int
            Lower goes first; whoever gives up waiting is passed over.
        again : bool
            Once more in a new process, where the process dies over it.
        """
        self.waiting += 1
        try:
            await self._turn(rank)
            return await self._done(work, *arguments)
        except BrokenProcessPool:
            if self._ended:
                return BROKEN
            _log.warning("a worker process died")
            self.close()
        except Exception:  # noqa: BLE001 — a mistake of ours must not end the page: it is logged
            _log.exception("a worker failed")
            return BROKEN
        finally:
            self.waiting -= 1
        if again:
            return await self.run(work, *arguments, rank=rank, again=False)
        return BROKEN

    async def _turn(self, rank: int) -> None:
        """Wait until the process is free, and take it."""
        if not self._busy:
            self._busy = True
            return
        mine: asyncio.Future[None] = asyncio.get_running_loop().create_future()
        heapq.heappush(self._queue, (rank, next(self._numbers), mine))
        try:
            await mine
        except asyncio.CancelledError:
            if not mine.cancelled():  # the turn came in the moment it was given up
                self._next()
            raise

    def _next(self) -> None:
        """Hand the process to whoever is next."""
        while self._queue:
            turn = heapq.heappop(self._queue)[2]
            if not turn.done():
                turn.set_result(None)
                return
        self._busy = False

    async def _done(self, work: Callable[..., T], *arguments: Any) -> T:
        """What comes of it; the process stays taken until it is done, even if nobody waits."""
        loop = asyncio.get_running_loop()

        def free(_: Future[T]) -> None:
            with contextlib.suppress(RuntimeError):  # the page is closing
                loop.call_soon_threadsafe(self._next)

        try:
            try:
                doing = self._started().submit(work, *arguments)
            except BrokenProcessPool:  # it died while it had nothing to do
                self.close()
                doing = self._started().submit(work, *arguments)
        except BaseException:
            self._next()
            raise
        doing.add_done_callback(free)
        return await asyncio.shield(asyncio.wrap_future(doing))

    def reset(self) -> None:
        """Forget how far the last search was, and that it was to stop."""
        self.fraction.value, self.stop.value = 0.0, 0

    def ask_to_stop(self) -> None:
        """Have the present search come to an end."""
        self.stop.value = 1

    def close(self) -> None:
        """End the process."""
        if self._pool is not None:
            self._pool.shutdown(wait=False, cancel_futures=True)
            self._pool = None

    def end(self) -> None:
        """End the process at once, whatever it is doing: whoever asked is gone.

        A search looks up only now and then, and the program would wait for it.
        """
        self._ended = True
        if self._pool is not None and self._pid.value:
            with contextlib.suppress(ProcessLookupError):
                os.kill(self._pid.value, signal.SIGTERM)
        self.close()


class Workers:
    """All of them. A design always goes to the same one, which remembers its sky.

    Parameters
    ----------
    count : int
        Processes for quick answers.
    folder : Path
        Weather files are read from here.
    """

    def __init__(self, count: int, folder: Path) -> None:
        self.quick = tuple(Worker(folder) for _ in range(count))
        self.searcher = Worker(folder, nice=_NICE)
        self.trier = Worker(folder, nice=_LESS_NICE)  # only there while it has something to try

    def of(self, design_id: str) -> Worker:
        """The worker that answers for a design."""
        return self.quick[zlib.crc32(design_id.encode()) % len(self.quick)]

    async def warm_up(self) -> None:
        """Start all processes and have them load what they need."""
        every = (*self.quick, self.searcher)
        await asyncio.gather(*(one.run(tasks.warm_up) for one in every))

    def close(self) -> None:
        """End all processes."""
        for one in (*self.quick, self.searcher, self.trier):
            one.end()

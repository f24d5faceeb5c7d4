"""Worker processes: some for quick answers, one apart for long searches."""

from __future__ import annotations

import asyncio
import logging
import multiprocessing
import zlib
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any, TypeVar

from sunpantry.phrases import phrase
from sunpantry.web import tasks
from sunpantry.web.tasks import Refused

T = TypeVar("T")
BROKEN = Refused(phrase("the computation broke off; try again"))
_NICE = 10
_log = logging.getLogger("sunpantry.web")


class Worker:
    """One process with a queue before it; it is started again when it dies."""

    def __init__(self, folder: Path, *, nice: int = 0) -> None:
        self._context = multiprocessing.get_context("spawn")
        self._folder, self._nice = folder, nice
        self.fraction = self._context.Value("d", 0.0)
        self.stop = self._context.Value("i", 0)
        self._pool: ProcessPoolExecutor | None = None
        self.waiting = 0

    def _started(self) -> ProcessPoolExecutor:
        if self._pool is None:
            self._pool = ProcessPoolExecutor(
                1,
                mp_context=self._context,
                initializer=tasks.begin,
                initargs=(self._folder, self._nice, (self.fraction, self.stop)),
            )
        return self._pool

    async def run(self, work: Callable[..., T], *arguments: Any) -> T | Refused:
        """Have something done in the process.

        Parameters
        ----------
        work : callable
            A function of :mod:`sunpantry.web.tasks`.
        arguments
            What it is given.
        """
        self.waiting += 1
        try:
            pool = self._started()
            return await asyncio.wrap_future(pool.submit(work, *arguments))
        except BrokenProcessPool:
            _log.exception("a worker process died")
            self.close()
            return BROKEN
        except Exception:  # noqa: BLE001 — a mistake of ours must not end the page: it is logged
            _log.exception("a worker failed")
            return BROKEN
        finally:
            self.waiting -= 1

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

    def of(self, design_id: str) -> Worker:
        """The worker that answers for a design."""
        return self.quick[zlib.crc32(design_id.encode()) % len(self.quick)]

    async def warm_up(self) -> None:
        """Start all processes and have them load what they need."""
        every = (*self.quick, self.searcher)
        await asyncio.gather(*(one.run(tasks.warm_up) for one in every))

    def close(self) -> None:
        """End all processes."""
        for one in (*self.quick, self.searcher):
            one.ask_to_stop()
            one.close()

"""Worker processes: who goes first, and what becomes of work whose process is killed."""

from __future__ import annotations

import asyncio
import contextlib
import os
import signal
import threading
import time
from collections.abc import Coroutine
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import psutil
import pytest

from sunpantry.web.workers import BROKEN, TYPED, Worker

pytestmark = pytest.mark.regression


def run(work: Coroutine[Any, Any, None]) -> None:
    """In a thread of its own: a browser of another test may keep a loop running in this one."""
    with ThreadPoolExecutor(1) as aside:
        aside.submit(asyncio.run, work).result()


def test_what_is_typed_goes_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Pieces of long answers wait for it; what nobody waits for any more is never begun."""
    pool = ThreadPoolExecutor(1)
    monkeypatch.setattr(Worker, "_started", lambda _: pool)
    may_go = threading.Event()
    done: list[str] = []

    async def go() -> None:
        worker = Worker(tmp_path)
        first = asyncio.create_task(worker.run(may_go.wait))
        await asyncio.sleep(0.05)
        pieces = [asyncio.create_task(worker.run(done.append, name)) for name in ("a", "b")]
        typed = [
            asyncio.create_task(worker.run(done.append, name, rank=TYPED)) for name in ("8", "82")
        ]
        await asyncio.sleep(0.05)
        typed[0].cancel()
        may_go.set()
        await asyncio.gather(first, *pieces, typed[1])
        assert worker.waiting == 0

    run(go())
    pool.shutdown()
    assert done == ["82", "a", "b"]


def test_a_killed_process_is_started_again(tmp_path: Path) -> None:
    """What it was asked for is done by a new one; what kills that too is told in words."""

    async def go() -> None:
        worker = Worker(tmp_path)
        first = await worker.run(os.getpid)
        assert isinstance(first, int)
        asking = asyncio.create_task(worker.run(asyncio.run, asyncio.sleep, again=False))
        await asyncio.sleep(0)
        assert await asking is BROKEN, "a mistake of ours is told too"
        os.kill(first, signal.SIGKILL)
        second = await worker.run(os.getpid)
        assert isinstance(second, int)
        assert second != first
        assert await worker.run(os._exit, 1) is BROKEN
        assert await worker.run(abs, -2) == 2
        worker.close()

    run(go())


def test_a_process_ends_at_once_whatever_it_does(tmp_path: Path) -> None:
    """The page closes while a search goes on that would not look up for a minute."""

    async def go() -> None:
        worker = Worker(tmp_path)
        first = await worker.run(os.getpid)
        assert isinstance(first, int)
        asking = asyncio.create_task(worker.run(time.sleep, 60.0))
        await asyncio.sleep(0.2)
        worker.end()
        assert await asyncio.wait_for(asking, 20.0) is BROKEN
        with contextlib.suppress(psutil.NoSuchProcess):
            psutil.Process(first).wait(20.0)  # or it is still there, and this fails

    run(go())

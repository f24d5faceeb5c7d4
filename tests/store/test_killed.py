"""A process killed in the middle of saving loses nothing that was shown as saved."""

from __future__ import annotations

import os
import random
import signal
import sqlite3
import time

import pytest

from sunpantry.store import open_store

pytestmark = pytest.mark.regression

# As many as a run of the suite bears; SUNPANTRY_KILLS=2000 for a night.
KILLS = int(os.environ.get("SUNPANTRY_KILLS", "200"))


def test_hundreds_of_kills_lose_nothing(store_url: str) -> None:
    """Kill a saver at random moments; each number it reported is there, whole, and no gap."""
    url = store_url
    store = open_store(url)
    design = store.create("version 1\n" * 200, name="n").design_id
    chance = random.Random(5)  # noqa: S311 — moments to kill at, no secret
    reported = 1
    for _ in range(KILLS):
        reported = max(reported, _save_and_kill(url, design, chance.uniform(0.0, 0.012)))
        head = store.head(design).version
        assert head.number >= reported, "a version that was reported is gone"
        assert head.document == f"version {head.number}\n" * 200
    assert reported > KILLS / 4, "the saver must have been killed while it was saving"
    numbers = [one.number for one in store.history(design, limit=100_000)]
    assert numbers == list(range(len(numbers), 0, -1))
    store.close()
    if url.startswith("sqlite:///"):
        with sqlite3.connect(url.removeprefix("sqlite:///")) as raw:
            assert raw.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        raw.close()


def _save_and_kill(url: str, design: str, delay_s: float) -> int:
    """Fork a saver, kill it after a while, return the last number it reported."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        try:
            _save_for_ever(url, design, writing)
        finally:
            os._exit(1)
    os.close(writing)
    first = os.read(reading, 16) if delay_s > 0.004 else b""
    time.sleep(delay_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    told = first
    while more := os.read(reading, 65536):
        told += more
    os.close(reading)
    whole = [line for line in told.split(b"\n")[:-1] if line]
    return int(whole[-1]) if whole else 0


def _save_for_ever(url: str, design: str, writing: int) -> None:
    store = open_store(url)
    base = store.head(design).version.number
    while True:
        document = f"version {base + 1}\n" * 200
        base = store.save(design, document, base=base, name="n").number
        os.write(writing, f"{base}\n".encode())

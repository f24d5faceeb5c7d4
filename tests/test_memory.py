"""What nothing holds goes back to the system."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from sunpantry import memory
from sunpantry.memory import give_back

STATM = Path("/proc/self/statm")


def resident_mb() -> float:
    """Memory that this process occupies, as Linux tells it [MB]."""
    return int(STATM.read_text("ascii").split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6


@pytest.mark.regression
@pytest.mark.skipif(
    memory._trim() is None or not STATM.exists(), reason="the C library here cannot be asked"
)
def test_free_memory_goes_back() -> None:
    """100 MB of small pieces, of which a few at the end are kept, keep the rest no longer."""
    pieces = [bytearray(100_000) for _ in range(1_000)]
    pieces = pieces[-3:]
    before = resident_mb()
    give_back()
    assert len(pieces) == 3
    assert before - resident_mb() > 50.0


@pytest.mark.regression
def test_elsewhere_nothing_happens(monkeypatch: pytest.MonkeyPatch) -> None:
    """A C library without the function is no mistake."""
    monkeypatch.setattr(memory, "_trim", lambda: None)
    give_back()

"""The search on the demo: seconds when everything is warm, and how many systems it spoke for."""

from __future__ import annotations

import time
from importlib.resources import files
from pathlib import Path

from sunpantry.design.document import read_design
from sunpantry.plan.make import searcher_of
from sunpantry.plan.questions import question_of
from sunpantry.sizing.promise import Demanded
from sunpantry.sizing.search import SearchResult

DEMO = Path(str(files("sunpantry") / "examples" / "apiary-hut.toml"))
REPEATS = 3


def figures() -> dict[str, float]:
    """Search the whole shipped list for the demo, several times over."""
    question = question_of(read_design(DEMO))
    seconds: list[float] = []
    result: SearchResult | None = None
    for _ in range(REPEATS + 1):
        searcher = searcher_of(question)
        begun = time.perf_counter()
        result = searcher.find(Demanded.of(question.design))
        seconds.append(time.perf_counter() - begun)
    assert result is not None
    best = min(seconds[1:])
    return {
        "search_demo_warm_s": best,
        "search_demo_cold_s": seconds[0],
        "search_systems_spoken_for": float(result.spoke_for),
        "search_systems_simulated": float(result.simulated),
        "search_systems_unproven": float(result.compared),
    }

"""The question that the search asks of thousands of systems, against all the rules at once."""

from __future__ import annotations

import time
from collections.abc import Callable
from importlib.resources import files
from pathlib import Path

from sunpantry.design.document import read_design
from sunpantry.match.case import Case
from sunpantry.match.rules import check, may_combine
from sunpantry.plan.make import searcher_of
from sunpantry.plan.questions import question_of
from sunpantry.sizing.space import Choice

DEMO = Path(str(files("sunpantry") / "examples" / "apiary-hut.toml"))
REPEATS = 5
TIMES = 400


def _least_us(ask: Callable[[], object]) -> float:
    """Processor time of one call, the least of some rounds [µs]."""
    best = float("inf")
    for _ in range(REPEATS):
        begun = time.process_time()
        for _ in range(TIMES):
            ask()
        best = min(best, time.process_time() - begun)
    return best / TIMES * 1e6


def figures() -> dict[str, float]:
    """Ask both of one system of the demo's space."""
    searcher = searcher_of(question_of(read_design(DEMO)))
    system = searcher.space.system(Choice(0, 0, 0, 0, 0))
    case = Case(system, coldest_c=-10.0)
    quick_us = _least_us(lambda: may_combine(system, coldest_c=-10.0))
    every_us = _least_us(lambda: check(case))
    return {
        "match_quick_question_us": quick_us,
        "match_all_rules_us": every_us,
        "match_all_rules_to_quick_ratio": every_us / quick_us,
    }

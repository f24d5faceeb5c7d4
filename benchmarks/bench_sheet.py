"""The build sheet of the demo, against the plan that it is made from."""

from __future__ import annotations

import time
from importlib.resources import files
from pathlib import Path

from sunpantry.design.document import read_design
from sunpantry.plan import make_plan
from sunpantry.report.sheet import sheet_pdf

DEMO = Path(str(files("sunpantry") / "examples" / "apiary-hut.toml"))
REPEATS = 3


def figures() -> dict[str, float]:
    """Seconds of a sheet whose plan is there, and its share of the seconds of a warm plan."""
    design = read_design(DEMO)
    make_plan(design)
    begun = time.perf_counter()
    plan = make_plan(design)
    plan_s = time.perf_counter() - begun
    sheet_pdf(plan)
    seconds = []
    for _ in range(REPEATS):
        begun = time.perf_counter()
        sheet_pdf(plan)
        seconds.append(time.perf_counter() - begun)
    return {
        "plan_demo_warm_s": plan_s,
        "sheet_demo_warm_s": min(seconds),
        "sheet_to_plan_ratio": min(seconds) / plan_s,
    }

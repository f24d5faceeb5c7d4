"""The main job as a user meets it: a whole process from the command to the printed plan."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

DEMO = Path(__file__).resolve().parent.parent / "src/sunpantry/examples/apiary-hut.toml"
COMMAND = "import sys; from sunpantry.cli import main; sys.exit(main(sys.argv[1:]))"


def _seconds(*arguments: str) -> float:
    """Wall time of one command in a process of its own [s]."""
    begun = time.perf_counter()
    command = [sys.executable, "-c", COMMAND, *arguments]
    subprocess.run(command, check=True, capture_output=True)
    return time.perf_counter() - begun


def figures() -> dict[str, float]:
    """Cold plan of the demo with compiled code cached, against a process that only starts."""
    start_s = _seconds("--version")
    _seconds("plan", str(DEMO), "--json")  # fills the caches
    plan_s = _seconds("plan", str(DEMO), "--json")
    place_s = _seconds("place", "53.87, -9.33", "--json")
    return {
        "start_s": start_s,
        "plan_demo_cold_s": plan_s,
        "plan_demo_to_start_ratio": plan_s / start_s,
        "place_cold_s": place_s,
    }

"""Run every benchmark, print one line a figure, keep them in ``benchmarks/latest.json``.

A benchmark is a module beside this one with a function ``figures()`` that returns names
and numbers. Give names to run only those: ``python -m benchmarks.run bench_kernel``.
"""

from __future__ import annotations

import importlib
import json
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import cast

HERE = Path(__file__).parent
LATEST = HERE / "latest.json"


def names() -> list[str]:
    """Benchmarks there are."""
    modules = [file for file in HERE.glob("*.py") if file.name != Path(__file__).name]
    return sorted(file.stem for file in modules if "\ndef figures(" in file.read_text("utf-8"))


def figures_of(name: str) -> dict[str, float]:
    """Run one benchmark."""
    module = importlib.import_module(f"benchmarks.{name}")
    measure = cast("Callable[[], dict[str, float]]", module.figures)
    return measure()


def main(chosen: Sequence[str]) -> int:
    """Run the benchmarks chosen, or all."""
    unknown = sorted(set(chosen) - set(names()))
    if unknown:
        print(f"no such benchmark: {', '.join(unknown)}; there are: {', '.join(names())}")
        return 2
    found: dict[str, float] = {}
    for name in chosen or names():
        for key, value in figures_of(name).items():
            found[key] = value
            print(f"{key}: {value:.4g}", flush=True)
    kept = json.loads(LATEST.read_text("utf-8")) if chosen and LATEST.exists() else {}
    LATEST.write_text(json.dumps({**kept, **found}, indent=2, sort_keys=True) + "\n", "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

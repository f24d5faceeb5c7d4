"""Run the main job on the demo design: print the plan, write its files, say where they are.

Usage: python tools/demo.py DESIGN OUTPUT_DIRECTORY
"""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from sunpantry.cli.output import progress_bar
from sunpantry.plan import make_plan, read_plan_design
from sunpantry.plan.types import Plan
from sunpantry.report.charts import write_charts
from sunpantry.report.plain import as_json
from sunpantry.report.plan_json import plan_json
from sunpantry.report.plan_text import plan_text
from sunpantry.report.sheet import write_sheet
from sunpantry.report.wiring_text import write_drawings
from sunpantry.web.chosen import Chosen
from sunpantry.web.documents import choice_key
from sunpantry.web.settings import default_data_folder
from sunpantry.web.tasks import Found


def _keep_choice(text: str, plan: Plan) -> None:
    """Let the page open on the parts that were just chosen, instead of choosing them again."""
    key = choice_key(text)
    found = Found(key, plan.system, plan.search, plan.frontier, plan.alternatives)
    Chosen(default_data_folder() / "chosen").put(key, found)


def main(arguments: list[str]) -> int:
    """Plan the design and write what a person takes away from it."""
    document, out = Path(arguments[0]), Path(arguments[1])
    out.mkdir(parents=True, exist_ok=True)
    with progress_bar() as progress:
        plan = make_plan(read_plan_design(document), folder=document.parent, progress=progress)
    text = plan_text(plan)
    print(text)
    (out / "plan.txt").write_text(text, "utf-8")
    (out / "plan.json").write_text(as_json(plan_json(plan)), "utf-8")
    shutil.copy(document, out / document.name)
    write_charts(plan, out / "pictures")
    write_drawings(plan, out)
    write_sheet(plan, out / "sheet.pdf")
    _keep_choice(document.read_text("utf-8"), plan)
    print("The plan's files:")
    for path in sorted(out.iterdir()):
        print(f"  {path}")
    print("Read docs/glossary.md for the words. To try your own: .venv/bin/sunpantry new my.toml")
    print("To work in a browser instead: make serve")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))

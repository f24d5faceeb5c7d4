"""Put the example of the README and its real output into the README.

Usage: python tools/build_readme.py [--check]
"""

from __future__ import annotations

import re
import sys
import tempfile
from pathlib import Path

from sunpantry.plan import make_plan, read_plan_design
from sunpantry.report.plan_text import plan_text

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
LAMP = """\
schema = 1
name = "Lamp in the hut"

[site]
latitude = 54.1
longitude = -9.2

[[load]]
name = "Lamp"
power = "8 W"
supply = "12 V"
hours_per_day = 4
"""
# The workings are long; the README shows the plan up to them.
CUT = "\nWorkings\n"


def example_output() -> str:
    """What the command prints for the example, without the workings."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "lamp.toml"
        path.write_text(LAMP, "utf-8")
        text = plan_text(make_plan(read_plan_design(path)))
    return text.split(CUT, 1)[0].rstrip() + "\n\nWorkings\n…\n"


def filled(text: str) -> str:
    """README text with both examples put in."""
    for name, kind, body in (("design", "toml", LAMP), ("plan", "text", example_output())):
        pattern = re.compile(rf"(<!-- example: {name} -->\n).*?(<!-- end -->)", re.DOTALL)
        found = pattern.search(text)
        if found is not None:
            block = f"{found[1]}```{kind}\n{body}```\n{found[2]}"
            text = text[: found.start()] + block + text[found.end() :]
    return text


def main(arguments: list[str]) -> int:
    """Write the README, or say whether it is up to date."""
    before = README.read_text("utf-8")
    after = filled(before)
    if "--check" in arguments:
        if before != after:
            print("README.md is out of date: run tools/build_readme.py", file=sys.stderr)
        return int(before != after)
    README.write_text(after, "utf-8")
    return 0


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))

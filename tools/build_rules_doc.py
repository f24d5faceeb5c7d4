"""Write docs/rules.md from the rules themselves.

python tools/build_rules_doc.py          # writes it
python tools/build_rules_doc.py --check  # exit status 1 when it is out of date
"""

from __future__ import annotations

import sys
from pathlib import Path

from sunpantry.match.rules import RULES, SUBJECTS

TARGET = Path(__file__).resolve().parent.parent / "docs" / "rules.md"
HEAD = f"""\
# The rules

Do these parts suit each other? {len(RULES)} rules look at a system, or at any parts that are put
beside each other with `sunpantry match`. Each finding says how bad it is (danger, will not work,
will disappoint, worth knowing, fine), why, with which figures, and the smallest change that cures
it. A system with a danger, or one that will not work, is never proposed.

This is advice. The local code and a licensed electrician have the last word; fixed mains wiring is
theirs alone.

This page is written by `tools/build_rules_doc.py`; do not edit it by hand.
"""


def document() -> str:
    """Return the page as it should stand."""
    pages = [HEAD]
    for subject, rules in SUBJECTS:
        rows = [
            f"## {subject}\n",
            "| rule | what it asks | limit | at worst | source |",
            "|---|---|---|---|---|",
        ]
        rows += [
            f"| `{rule.slug}` | {rule.asks} | {rule.limit} | {rule.worst.words} | {rule.source} |"
            for rule in rules
        ]
        pages.append("\n".join(rows) + "\n")
    return "\n".join(pages)


def main() -> int:
    """Write the page, or compare it."""
    text = document()
    if "--check" in sys.argv[1:]:
        return 0 if TARGET.is_file() and TARGET.read_text("utf-8") == text else 1
    TARGET.write_text(text, "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())

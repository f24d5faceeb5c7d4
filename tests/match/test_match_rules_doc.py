"""The page of rules is written from the rules, and the rules are well described."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from sunpantry.match.finding import Severity
from sunpantry.match.rules import RULES

ROOT = Path(__file__).resolve().parents[2]
pytestmark = pytest.mark.regression


def test_page_is_up_to_date() -> None:
    """docs/rules.md is what the tool would write today."""
    tool = ROOT / "tools" / "build_rules_doc.py"
    done = subprocess.run([sys.executable, str(tool), "--check"], check=False)
    assert done.returncode == 0, "run: python tools/build_rules_doc.py"


def test_rules_are_described() -> None:
    """Names are single; each rule asks, has a limit and a source; hard ones answer quickly."""
    assert len({rule.slug for rule in RULES}) == len(RULES)
    page = (ROOT / "docs" / "rules.md").read_text("utf-8")
    for rule in RULES:
        assert f"`{rule.slug}`" in page
        assert rule.asks.endswith("?")
        assert rule.limit
        assert rule.source
        assert rule.worst.is_hard == (rule.breaks is not None)
        assert rule.worst is not Severity.FINE

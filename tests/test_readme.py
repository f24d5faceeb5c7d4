"""The README shows what the program really prints."""

from __future__ import annotations

from pathlib import Path

import pytest

from build_readme import README, filled

pytestmark = pytest.mark.regression


def test_example_output_is_the_real_one() -> None:
    """Both examples are there, and the plan is that of this version."""
    text = Path(README).read_text("utf-8")
    assert "hours_per_day = 4" in text
    assert filled(text) == text

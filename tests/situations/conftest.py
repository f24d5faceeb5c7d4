"""Plans for all tests of this folder.

They are made in a module of their own: this one is loaded by the test runner under another
name than a test would import it by, and each would make its own.
"""

from __future__ import annotations

import pytest
from tests.situations.plans import PlanOf, plan_of_text, shipped_plan


@pytest.fixture(scope="session")
def shipped() -> PlanOf:
    """Plans of shipped designs, by name."""
    return shipped_plan


@pytest.fixture(scope="session")
def planned() -> PlanOf:
    """Plans of documents."""
    return plan_of_text

"""What the tests of the document share."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import pytest

from sunpantry.design import parse_design
from sunpantry.errors import InputError, Problem

HEAD = "schema = 1\n{top}\n[site]\nlatitude = 54.1\nlongitude = -9.2\n{site}\n"
LAMP = '[[load]]\nname = "Lamp"\npower = "8 W"\nsupply = "12 V"\nhours_per_day = 4\n'


@pytest.fixture
def problems_of() -> Callable[..., Sequence[Problem]]:
    """Read a document that is wrong, and return what is wrong with it."""

    def read(text: str, **names: Any) -> Sequence[Problem]:
        with pytest.raises(InputError) as caught:
            parse_design(text, **names)
        assert caught.value.exit_status == 2
        return caught.value.problems

    return read


@pytest.fixture
def only(problems_of: Callable[..., Sequence[Problem]]) -> Callable[..., Problem]:
    """Read a document with one thing wrong, and return it."""

    def read(text: str, **names: Any) -> Problem:
        found = problems_of(text, **names)
        assert len(found) == 1, [str(problem) for problem in found]
        return found[0]

    return read


@pytest.fixture
def document() -> Callable[..., str]:
    """The shortest document with lines added to its tables."""

    def write(*, top: str = "", site: str = "", load: str = "", more: str = "") -> str:
        return HEAD.format(top=top, site=site) + LAMP + load + "\n" + more

    return write

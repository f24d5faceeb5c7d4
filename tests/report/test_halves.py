"""A wide drawing on two pages: every word whole on one of them."""

from __future__ import annotations

import re

import pytest

from sunpantry.report.sheet.halves import halves, size_of

WORDS = [(20.0, "left"), (470.0, "in the middle"), (900.0, "right"), (525.0, "over the edge")]
DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1000 400" width="1000" height="400">'
    '<rect x="0" y="0" width="1000" height="400"/>'
    + "".join(f'<text x="{x}" y="50" font-size="10">{words}</text>' for x, words in WORDS)
    + '<text x="990" y="90" font-size="10" text-anchor="end">ends right</text></svg>'
)


@pytest.mark.analytic
def test_every_word_is_whole_on_a_half() -> None:
    """The halves reach from 0 to 540 and from 460 to 1000; what lies in both is on both."""
    left, right = halves(DRAWING)
    assert size_of(DRAWING) == (1000.0, 400.0)
    assert 'viewBox="0.00 0 540.00 400.00"' in left
    assert 'viewBox="460.00 0 540.00 400.00"' in right
    found = [set(re.findall(r">([^<>]+)</text>", half)) for half in (left, right)]
    assert found[0] == {"left", "in the middle"}
    assert found[1] == {"in the middle", "right", "over the edge", "ends right"}
    assert left.count("<rect") == right.count("<rect") == 1

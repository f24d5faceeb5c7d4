"""The drawings in another language: longer words find their room, numbers follow the locale."""

from __future__ import annotations

import re
from xml.etree import ElementTree as ET

import pytest
from tests.wiring.geometry import overlaps
from tests.wiring.systems import random_inputs
from tests.wiring.test_drawing import CHOSEN, SVG

from sunpantry.language import speaking
from sunpantry.report.numbers import Numbers
from sunpantry.wiring import WiringInputs, wire

pytestmark = pytest.mark.regression
# Words that would be left over from English: none of them is part of a name in these systems.
ENGLISH = re.compile(r"\b(fuse|board|wire|with|from|the|one way|sockets|thick|thin|switch)\b")


def german(inputs: WiringInputs) -> list[tuple[str, list[str]]]:
    """Both drawings in German: overlaps, and everything written in them."""
    plan, told = wire(inputs), Numbers("de_DE").told
    found = []
    with speaking("de"):
        for drawing in (plan.diagram("x", told), plan.picture("x", told)):
            crowded = [str(one) for one in overlaps(drawing.sheet)]
            root = ET.fromstring(drawing.svg)  # noqa: S314  (our own text)
            words = [
                "".join(node.itertext())
                for tag in ("text", "title", "desc")
                for node in root.iter(f"{SVG}{tag}")
            ]
            found.append(("; ".join(crowded), words))
    return found


@pytest.mark.parametrize("make", CHOSEN)
def test_german_drawings_have_room_and_no_english(make: object) -> None:
    """Every text of both drawings, the text alternatives included."""
    for crowded, words in german(make()):  # type: ignore[operator]
        assert crowded == ""
        assert [one for one in words if ENGLISH.search(one)] == []
        sizes = [one for one in words if "mm²" in one]
        assert not [one for one in sizes if re.search(r"\d\.\d+\smm²", one)], "a decimal comma"


@pytest.mark.parametrize("seed", range(20))
def test_random_german_drawings_do_not_overlap(seed: int) -> None:
    """Systems within the range promised."""
    for crowded, _ in german(random_inputs(seed)):
        assert crowded == ""

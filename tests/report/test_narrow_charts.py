"""Charts for a phone: as wide as its screen, with letters as large as on any other."""

from __future__ import annotations

import copy
import re
from typing import Any

import pytest

from sunpantry.plan.types import Plan
from sunpantry.report.charts import charts_of, narrowed
from sunpantry.report.drawing import draw

pytestmark = pytest.mark.regression

# A screen of 360 px less the margins of the page and of the frame around a chart.
ROOM_PX = 360 - 32 - 16


def texts_of(spec: Any, key: str) -> list[str]:
    """Every text under a key, wherever it stands."""
    if isinstance(spec, list):
        return [text for one in spec for text in texts_of(one, key)]
    if not isinstance(spec, dict):
        return []
    here = [spec[key]] if isinstance(spec.get(key), str) else []
    return here + [text for one in spec.values() for text in texts_of(one, key)]


def test_every_chart_fits_a_phone_and_loses_nothing(hut: Plan) -> None:
    """No wider than the screen, the same words and data, and the wide one is left alone."""
    for one in charts_of(hut, hover=True):
        before = copy.deepcopy(one.spec)
        spec = narrowed(one.spec)
        assert one.spec == before, one.name
        svg = draw(spec, "svg", words=one.alt).decode()
        found = re.search(r'width="([\d.]+)"', svg)
        assert found, one.name
        assert float(found[1]) <= ROOM_PX + 6, one.name
        assert " ".join(spec["title"]["text"]) == " ".join(one.spec["title"]["text"])
        assert " ".join(spec["title"]["subtitle"]) == " ".join(one.spec["title"]["subtitle"])
        assert texts_of(spec, "field") == texts_of(one.spec, "field")


def test_names_of_bars_are_all_told(hut: Plan) -> None:
    """Broken into lines, none left out for want of room, none cut short."""
    flow = next(one for one in charts_of(hut) if one.name == "energy-flow")
    names = next(
        layer["encoding"]["y"]["sort"] for layer in flow.spec["layer"] if "y" in layer["encoding"]
    )
    svg = draw(narrowed(flow.spec), "svg", words="").decode()
    told = " ".join(re.findall(r">([^<>]+)<", svg))
    for name in names:
        assert all(word in told for word in name.split()), name
    assert "…" not in told

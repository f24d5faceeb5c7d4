"""What charts tell to a pointer, as tables; a closer look at a day, a week, a month."""

from __future__ import annotations

import html
import re
from collections.abc import Callable
from typing import Any

import httpx
import pytest

from sunpantry.report.numbers import Numbers
from sunpantry.web.chart_values import MOST_ROWS, values_of

pytestmark = pytest.mark.regression

TOLD = [
    {"field": "day", "title": "day"},
    {"field": "charge", "title": "charge", "format": ".0%"},
]


def plot(rows: list[dict[str, Any]], told: list[dict[str, str]], **more: Any) -> dict[str, Any]:
    """One plot of a specification."""
    return {"data": {"values": rows}, "encoding": {"tooltip": told}, **more}


def test_plots_of_one_chart_become_tables() -> None:
    """Inherited data, titles as captions, shares in percent; what tells less is left out."""
    rows = [{"day": "1 May", "charge": 0.5, "x": 1.0}, {"day": "2 May", "charge": None, "x": 2}]
    spec = {
        "title": {"text": ["All of it"]},
        "vconcat": [
            {"data": {"values": rows}, "layer": [{"encoding": {"tooltip": TOLD}},
                                                 {"encoding": {"tooltip": TOLD[:1]}}]},
            plot([{"x": 1234.5}], [{"field": "x", "title": "W"}], title="Below"),
            plot([{"x": 1.0}], [{"field": "x", "title": "W"}], title="Below"),
        ],
    }  # fmt: skip
    tables = values_of(spec, Numbers("en_IE"))
    assert [(one.caption, one.columns) for one in tables] == [
        ("", ("day", "charge")),
        ("Below", ("W",)),
    ]
    assert tables[0].rows == (("1 May", "50%"), ("2 May", ""))
    assert tables[1].rows == (("1,234",), ("1",))
    many = plot([{"x": float(one)} for one in range(MOST_ROWS + 1)], [{"field": "x"}])
    assert values_of(many, Numbers("en_IE")) == ()


def test_every_chart_of_the_page_tells_its_values(
    client: httpx.Client, new_design: Callable[..., str], answered: Callable[[str], str]
) -> None:
    """By its specification, which the browser draws, and as a page of its own, for whoever
    has no scripts; only the maps hold too much."""
    design = new_design()
    answered(design)
    pictures = client.get(f"/designs/{design}/pictures?days=1&month=1&day=6").text
    names = re.findall(r'data-spec="[^"]*/chart/([\w-]+)\.json', pictures)
    assert {"energy-flow", "panel-curve", "battery-life", "span"} <= set(names)
    for name in names:
        address = re.search(rf'href="([^"]*/chart/{name}/values[^"]*)"', pictures)
        assert address is not None
        page = client.get(html.unescape(address[1]))
        assert page.status_code == 200
        told = client.get(html.unescape(address[1]).replace("/values", ".json")).json()["values"]
        if name.endswith("-map"):
            assert told == []
            assert "<table" not in page.text
            continue
        assert told, name
        assert page.text.count("<table") == len(told)
        for one in told:
            assert len(one["rows"]) > 1, (name, one)
            assert all(len(row) == len(one["columns"]) for row in one["rows"])
        if name == "span":
            assert len(told[0]["rows"]) == 24
            assert told[0]["rows"][0][0].startswith("6 January")
            assert "day=6" in page.text, "the way back leads to the same day"

"""Charts: they compile, they say what they show, and show what the proof found."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import numpy as np
import pytest

from sunpantry.errors import InputError
from sunpantry.parts.system import System
from sunpantry.plan.types import Plan
from sunpantry.report.charts import Chart, charts_of, write_charts
from sunpantry.report.charts.energy import flow_steps
from sunpantry.report.charts.style import THEMES
from sunpantry.report.charts.year_axis import by_the_clock, trace, typical_winter, worst_winter
from sunpantry.report.drawing import draw
from sunpantry.simulate import layout as at
from sunpantry.sizing.frontier import FrontierPoint

NAMES = {
    "year-energy", "days", "charge-winters", "charge-all-winters", "charge-map", "shortfall-map",
    "energy-flow", "panel-curve", "battery-life",
}  # fmt: skip
LARGEST_BYTES = 200_000


def chart(plan: Plan, name: str) -> Chart:
    """One chart of a plan."""
    return next(one for one in charts_of(plan) if one.name == name)


def inline_data(spec: Any) -> list[list[dict[str, Any]]]:
    """Every list of values in a specification."""
    if isinstance(spec, list):
        return [found for one in spec for found in inline_data(one)]
    if not isinstance(spec, dict):
        return []
    own = [spec["data"]["values"]] if "data" in spec else []
    return own + [found for key, one in spec.items() if key != "data" for found in inline_data(one)]


@pytest.mark.regression
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_every_chart_draws_and_tells(hut: Plan, theme: Any) -> None:
    """SVG from each, a title and words for those who cannot see it, data, a bounded size."""
    found = charts_of(hut, theme=theme, hover=True)
    assert {one.name for one in found} == NAMES
    for one in found:
        assert len(json.dumps(one.spec)) < LARGEST_BYTES, one.name
        assert one.title.rstrip(".") in one.alt
        assert re.search(r"\d", one.title), one.name
        assert one.spec["description"] == one.alt
        assert "nan" not in one.alt
        data = inline_data(one.spec)
        assert data
        for values in data:
            assert values, one.name
            for row in values:
                for value in row.values():
                    assert not isinstance(value, float) or np.isfinite(value)
        svg = draw(one.spec, "svg", words=one.alt).decode()
        assert svg.startswith("<svg")
        assert "<desc>" in svg
        assert svg.count("<path") + svg.count("<line") > 5


@pytest.mark.regression
def test_without_a_battery_there_is_no_charge_to_draw(fan: Plan) -> None:
    """Only what there is."""
    names = {one.name for one in charts_of(fan)}
    assert names == {"year-energy", "days", "energy-flow", "shortfall-map"}


@pytest.mark.analytic
def test_the_frontier_marks_the_choice(hut: Plan) -> None:
    """Money saved and hours lost by the next cheaper one, by hand; one point is marked."""
    dearer = replace(hut.system, controller_count=2)
    cheaper = replace(hut.system, inverter=None)

    def point(system: System, total: float, hours: float) -> FrontierPoint:
        return FrontierPoint(system, total, total, hours, 1, None, "so and so", proven=True)

    points = (point(cheaper, 300.0, 96.0), point(hut.system, 340.0, 12.0), point(dearer, 500.0, 0))
    plan = replace(hut, frontier=points)
    found = chart(plan, "frontier")
    saved, lost = "€40", "4\N{NO-BREAK SPACE}days"
    assert found.title == (
        f"{saved} less would mean {lost} a year without power instead of 12\N{NO-BREAK SPACE}h"
    )
    (values, *_) = inline_data(found.spec)
    assert [row["total"] for row in values if row["kind"] == "chosen"] == [340.0]
    cheapest = replace(hut, frontier=points[1:])
    assert chart(cheapest, "frontier").title.startswith("€160 more would bring")
    assert not [one for one in charts_of(replace(hut, frontier=())) if one.name == "frontier"]


@pytest.mark.conservation
def test_the_flow_adds_up(hut: Plan) -> None:
    """What the panels could give is what is lost on the way and what the loads get."""
    steps = flow_steps(hut)
    came = sum(value for _, value, lost in steps[:-1] if not lost)
    lost = sum(value for _, value, lost in steps if lost)
    # Losses under 0.05 % of it are not named.
    assert came - lost - steps[-1][1] == pytest.approx(0.0, abs=0.006 * came)
    assert steps[-1][1] == hut.proof.audit.served_wh


@pytest.mark.conservation
def test_months_of_the_chart_are_those_of_the_proof(hut: Plan) -> None:
    """Same numbers, to the hundredth they are drawn with."""
    (values, *_) = inline_data(chart(hut, "year-energy").spec)
    assert len({row["month"] for row in values}) == 12
    june = {row["part"]: row["true"] for row in values if row["month"] == "Jun"}
    bright = next(one for one in hut.proof.months if one.month == 6)
    assert june["gathered"] + june["spilled"] == pytest.approx(bright.offered_wh, abs=0.02)
    december = {row["part"]: row["true"] for row in values if row["month"] == "Dec"}
    proof = next(one for one in hut.proof.months if one.month == 12)
    assert december["gathered"] == pytest.approx(proof.gathered_wh, abs=0.006)
    assert december["delivered"] == pytest.approx(proof.served_wh, abs=0.006)
    assert december["missing"] == pytest.approx(proof.unserved_wh, abs=0.006)


@pytest.mark.independent
def test_the_band_holds_every_winter(hut: Plan) -> None:
    """The outer band is the lowest and highest of each day, found here by a plain loop."""
    grid = hut.demand.grid
    soc = hut.proof.traces[at.TR_SOC]
    (values, *_) = inline_data(chart(hut, "charge-all-winters").spec)
    for day in (0, 100, 200, 364):
        lows = [
            min(
                soc[winter * grid.steps_per_year + day * grid.steps_per_day + step]
                for step in range(grid.steps_per_day)
            )
            for winter in range(hut.proof.winters)
        ]
        assert values[day]["least"] == pytest.approx(min(lows), abs=6e-4)
        assert values[day]["most"] == pytest.approx(max(lows), abs=6e-4)


@pytest.mark.independent
def test_days_run_by_the_clock(hut: Plan) -> None:
    """In June the clock in Ireland is an hour ahead of UTC: 13 on the clock is 12 UTC."""
    grid = hut.demand.grid
    chosen = (grid.month == 5) & (grid.hour_utc == 12.0)
    taken = hut.proof.traces[at.TR_PV].reshape(hut.proof.winters, -1)[:, chosen].mean()
    june = inline_data(chart(hut, "days").spec)[0]
    assert next(row["sun"] for row in june if row["h"] == 13.0) == pytest.approx(taken, abs=6e-4)


@pytest.mark.analytic
def test_the_curve_has_its_points_on_it(hut: Plan) -> None:
    """Both operating points lie on the drawn curve, between neighbours."""
    data = inline_data(chart(hut, "panel-curve").spec)
    curve = data[0]
    pwm, mppt, *_ = (rows[0] for rows in data if "word" in rows[0])
    volts, amps = ([row[key] for row in curve] for key in ("v", "a"))
    for point in (pwm, mppt):
        assert np.interp(point["v"], volts, amps) == pytest.approx(point["a"], rel=0.01)
    powers = np.array(volts) * np.array(amps)
    assert mppt["v"] * mppt["a"] == pytest.approx(powers.max(), rel=0.01)


@pytest.mark.regression
def test_the_curve_tells_wherever_the_pointer_stands(hut: Plan) -> None:
    """The unseen lines that tell its values leave no gap, and lie below the four points."""
    spec = next(one for one in charts_of(hut, hover=True) if one.name == "panel-curve").spec
    marks = [one["mark"]["type"] for one in spec["layer"]]
    assert marks[-5:] == ["rule", *["point"] * 4]
    svg = draw(spec, "svg", words="a curve").decode()
    unseen = [one for one in re.findall(r"<line [^>]*>", svg) if 'opacity="0.001"' in one]
    places = sorted(float(re.findall(r"translate\(([\d.]+)", one)[0]) for one in unseen)
    wide = {float(re.findall(r'stroke-width="([\d.]+)"', one)[0]) for one in unseen}
    assert len(places) > 20
    assert np.diff(places).max() <= min(wide)


@pytest.mark.published
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_text_stands_out_from_its_ground(theme: Any) -> None:
    """WCAG 2.2, 1.4.3 and 1.4.11: 4.5 to 1 for text, 3 to 1 for what carries meaning."""
    colours = THEMES[theme]
    for text in (colours.ink, colours.quiet, colours.short):
        assert contrast(text, colours.paper) >= 4.5
    for mark in (colours.sun, colours.store):
        assert contrast(mark, colours.paper) >= 3.0


@pytest.mark.published
def test_contrast_by_the_guideline() -> None:
    """WCAG 2.2, 'contrast ratio': black on white is 21 to 1."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two colours by WCAG 2.2."""

    def luminance(colour: str) -> float:
        parts = [int(colour[place : place + 2], 16) / 255.0 for place in (1, 3, 5)]
        linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    dark, bright = sorted((luminance(one), luminance(other)))
    return (bright + 0.05) / (dark + 0.05)


@pytest.mark.published
@pytest.mark.parametrize("theme", ["light", "dark"])
def test_readable_without_colour(theme: Any) -> None:
    """Bars that touch differ in lightness, 3 to 1 (WCAG 2.2, 1.4.11); the ramp is one way."""
    colours = THEMES[theme]
    assert contrast(colours.sun, colours.spilled) >= 3.0
    ramp = [contrast(one, colours.ramp[0]) for one in colours.ramp]
    assert ramp == sorted(ramp)


@pytest.mark.regression
def test_specifications_ask_for_nothing(hut: Plan) -> None:
    """All data inline, no address outside, no signal or function that a strict page forbids."""
    for one in charts_of(hut, hover=True):
        words = json.dumps(one.spec).replace(str(one.spec["$schema"]), "")
        assert "http" not in words
        assert "url" not in words
        assert '"expr"' not in words
        assert '"calculate"' not in words


@pytest.mark.regression
def test_files(hut: Plan, tmp_path: Path) -> None:
    """A file for every chart and format; the same bytes every time."""
    first = write_charts(hut, tmp_path / "a", formats=("svg",))
    second = write_charts(hut, tmp_path / "b", formats=("svg",))
    assert {path.name for path in first} == {f"{name}.svg" for name in NAMES}
    for one, other in zip(first, second, strict=True):
        assert one.read_bytes() == other.read_bytes()
    (png,) = write_charts(
        replace(hut, frontier=()), tmp_path / "c", formats=("png",), theme="dark"
    )[:1]
    assert png.read_bytes().startswith(b"\x89PNG")


@pytest.mark.regression
def test_what_does_not_exist_is_told(hut: Plan, tmp_path: Path) -> None:
    """Theme, winter, format, directory."""
    with pytest.raises(InputError, match="theme = blue: 'light' or 'dark'"):
        charts_of(hut, theme="blue")  # type: ignore[arg-type]
    with pytest.raises(InputError, match="winter = 7: 1 to 6"):
        charts_of(hut, winter=7)
    with pytest.raises(InputError, match="format = gif: svg or png"):
        write_charts(hut, tmp_path, formats=("gif",))
    (tmp_path / "file").write_text("")
    with pytest.raises(InputError, match="a directory that can be written to"):
        write_charts(hut, tmp_path / "file" / "below")


def in_zone(plan: Plan, zone: str) -> Plan:
    """The same plan on the clocks of another zone."""
    return replace(plan, sky=replace(plan.sky, place=replace(plan.sky.place, timezone=zone)))


@pytest.mark.analytic
@pytest.mark.parametrize(
    ("zone", "ahead_h"), [("Asia/Kolkata", 5.5), ("Asia/Kathmandu", 5.75), ("Asia/Dubai", 4.0)]
)
def test_clocks_that_are_half_an_hour_apart(hut: Plan, zone: str, ahead_h: float) -> None:
    """A step that lies in two clock hours is shared out; by hand, and nothing gets lost."""
    steps = np.arange(48.0) % 24.0
    turned = by_the_clock(in_zone(hut, zone), steps, month=0)
    # Noon to one o'clock is so many hours earlier by UTC, where each step's value is its hour.
    assert turned[12] == pytest.approx(12.0 - ahead_h)
    assert turned.sum() == pytest.approx(steps.sum())


@pytest.mark.regression
def test_a_winter_of_ones_own(hut: Plan, tmp_path: Path) -> None:
    """Any of the simulated winters can be drawn beside the worst and the typical one."""
    known = {worst_winter(hut) + 1, typical_winter(hut) + 1}
    other = next(number for number in range(1, hut.proof.winters + 1) if number not in known)
    found = next(one for one in charts_of(hut, winter=other) if one.name == "charge-winters")
    drawn = next(
        values for values in inline_data(found.spec) if values[0].get("name") == f"winter {other}"
    )
    assert drawn
    lows = trace(hut, at.TR_SOC)[other - 1].min(axis=1)
    lines = [values for values in inline_data(found.spec) if len(values) == len(lows)]
    assert any(
        [row["charge"] for row in values] == pytest.approx(lows, abs=6e-4) for values in lines
    )


@pytest.mark.regression
def test_words_of_what_is_not_there(fan: Plan) -> None:
    """Without a battery no chart speaks of one."""
    for one in charts_of(fan):
        words = f"{one.alt} {' '.join(one.spec['title']['subtitle'])}"
        assert "battery" not in words, one.name


@pytest.mark.regression
def test_the_two_days_stand_side_by_side(hut: Plan, fan: Plan) -> None:
    """The names of the two months are a picture's width apart, with and without a battery."""
    for plan in (hut, fan):
        svg = draw(chart(plan, "days").spec, "svg").decode()
        left, right = (corner_of(svg, month) for month in ("June", "December"))
        assert right - left > 285.0


def corner_of(svg: str, words: str) -> float:
    """Where words begin: the moves of all groups they stand in, added up."""
    tree = ElementTree.fromstring(svg)  # noqa: S314 - drawn here
    parents = {child: one for one in tree.iter() for child in one}
    node = next(one for one in tree.iter() if (one.text or "").strip() == words)
    left = 0.0
    while node is not tree:
        move = re.match(r"translate\(([-\d.]+)", node.get("transform", ""))
        left += float(move[1]) if move else 0.0
        node = parents[node]
    return left

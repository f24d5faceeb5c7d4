"""The drawings: nothing overlaps, every cable and fuse is named, the texts stand in the SVG."""

from __future__ import annotations

import re
from collections.abc import Callable
from xml.etree import ElementTree as ET

import pytest
from tests.wiring.geometry import overlaps
from tests.wiring.systems import (
    apiary_hut,
    farmhouse,
    hut_and_spring,
    one_lamp,
    phone_only,
    power_bank,
    random_inputs,
    spring_pump,
    whole_house,
)

from sunpantry.wiring import WiringInputs, wire
from sunpantry.wiring.drawing.text import shorten, text_width, wrap

SVG = "{http://www.w3.org/2000/svg}"
A4_LANDSCAPE_MM = 277.0
A4_UPRIGHT_MM = 190.0
MM_PER_POINT = 25.4 / 72.0
CHOSEN = [
    one_lamp,
    phone_only,
    power_bank,
    apiary_hut,
    whole_house,
    farmhouse,
    spring_pump,
    hut_and_spring,
]
EVERY_SEED = range(100)
NARROW = 560.0  # at 390 points of a telephone its small print is 8 points high


def _texts(svg: str) -> list[str]:
    root = ET.fromstring(svg)  # noqa: S314  (our own text)
    return ["".join(node.itertext()).replace("\u00a0", " ") for node in root.iter(f"{SVG}text")]


@pytest.mark.regression
@pytest.mark.parametrize("seed", EVERY_SEED)
def test_random_systems_are_drawn_without_overlap(seed: int) -> None:
    """A hundred systems within the range promised, both drawings."""
    plan = wire(random_inputs(seed))
    assert overlaps(plan.diagram(f"system {seed}").sheet) == []
    assert overlaps(plan.picture(f"system {seed}").sheet) == []
    assert overlaps(plan.picture(f"system {seed}", narrow=True).sheet) == []


@pytest.mark.regression
@pytest.mark.parametrize("make", CHOSEN)
def test_chosen_systems_are_drawn_without_overlap(make: Callable[[], WiringInputs]) -> None:
    """From one panel and one lamp to three strings, four batteries and twelve branches."""
    plan = wire(make())
    assert overlaps(plan.diagram("Carrowmoor").sheet) == []
    assert overlaps(plan.picture("Carrowmoor").sheet) == []
    narrow = plan.picture("Carrowmoor", narrow=True)
    assert overlaps(narrow.sheet) == []
    assert narrow.sheet.right <= NARROW


@pytest.mark.regression
def test_overlaps_are_seen() -> None:
    """The check itself finds a label put on top of another."""
    sheet = wire(one_lamp()).diagram("x").sheet
    box = sheet.texts[4]
    sheet.text(box.left + 1.0, box.bottom - 1.0, "in the way")
    assert any("in the way" in one for one in overlaps(sheet))


@pytest.mark.regression
@pytest.mark.parametrize("seed", [*range(0, 60, 3)])
def test_every_cable_and_fuse_stands_in_the_diagram(seed: int) -> None:
    """Each cable with identity, size and length, each device with its rating."""
    plan = wire(random_inputs(seed))
    written = _texts(plan.diagram("x").svg)
    for run in plan.runs:
        assert any(
            line.startswith(f"{run.cable.id}: {run.label}, {run.cable.length_m:g} m")
            for line in written
        )
    for one in plan.protections:
        assert f"{one.device.id}: {one.label}" in written


@pytest.mark.regression
@pytest.mark.parametrize("narrow", [False, True])
@pytest.mark.parametrize("make", CHOSEN)
def test_every_cable_and_fuse_stands_in_the_picture(
    make: Callable[[], WiringInputs], narrow: bool
) -> None:
    """The plain picture leaves no cable out either."""
    plan = wire(make())
    written = " ".join(_texts(plan.picture("x", narrow=narrow).svg))
    strings = {run.cable.id for run in plan.runs if run.cable.role == "string"}
    for run in plan.runs:
        if run.cable.id not in strings:  # equal strings are named once
            assert re.search(rf"\b{run.cable.id}: {re.escape(run.label)}", written)
    for one in plan.protections:
        assert re.search(rf"\b{one.device.id}\b", written) or one.device.cable in strings


@pytest.mark.regression
@pytest.mark.parametrize("make", CHOSEN)
def test_text_alternatives(make: Callable[[], WiringInputs]) -> None:
    """Title and description say in words what is drawn; each group has a title."""
    plan = wire(make())
    for drawing in (plan.diagram("Carrowmoor"), plan.picture("Carrowmoor")):
        root = ET.fromstring(drawing.svg)  # noqa: S314  (our own text)
        title, words = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
        assert title is not None
        assert words is not None
        assert "Carrowmoor" in (title.text or "")
        for run in plan.runs:
            assert f"{run.cable.id}: {run.label}" in (words.text or "")
        assert all(group.find(f"{SVG}title") is not None for group in root.iter(f"{SVG}g"))


@pytest.mark.regression
def test_poles_differ_without_colour() -> None:
    """Plus is thicker than minus, earth is dashed: readable in black and white."""
    root = ET.fromstring(wire(whole_house()).diagram("x").svg)  # noqa: S314  (our own text)
    widths: dict[str, set[float]] = {}
    dashes: dict[str, set[str]] = {}
    for path in root.iter(f"{SVG}path"):
        colour = path.attrib["stroke"]
        widths.setdefault(colour, set()).add(float(path.attrib["stroke-width"]))
        dashes.setdefault(colour, set()).add(path.attrib.get("stroke-dasharray", ""))
    plus, minus, earth = "#b4231a", "#1c1c1c", "#2f7d32"
    assert min(widths[plus]) >= 1.8 * min(widths[minus])
    assert any(dashes[earth])
    assert dashes[plus] == dashes[minus] == {""}


@pytest.mark.regression
def test_the_largest_still_reads_on_paper() -> None:
    """Labels of the largest system stay above 4.5 points on A4, of a middle one above 5.5."""
    for make, least_pt in ((whole_house, 4.5), (apiary_hut, 5.5), (one_lamp, 8.0)):
        sheet = wire(make()).diagram("x").sheet
        points = 11.0 * A4_LANDSCAPE_MM / (sheet.right + 20.0) / MM_PER_POINT
        assert points >= least_pt
    picture = wire(whole_house()).picture("x").sheet
    assert 11.5 * A4_UPRIGHT_MM / (picture.right + 20.0) / MM_PER_POINT >= 6.5


@pytest.mark.regression
def test_names_cannot_break_the_drawing() -> None:
    """Names with the characters of SVG, and very long ones, are written as text."""
    inputs = one_lamp()
    load = inputs.loads[0]
    odd = type(load)('<b>&"lamp" ' + "very long " * 12, load.supply, load.power_w)
    plan = wire(WiringInputs(inputs.system, (odd,)))
    for drawing in (plan.diagram('<a> & "b"'), plan.picture('<a> & "b"')):
        assert overlaps(drawing.sheet) == []
        assert any("<b>&" in line for line in _texts(drawing.svg))


@pytest.mark.independent
def test_text_is_never_wider_than_reckoned() -> None:
    """Against the metrics of Helvetica and of the paper's typeface in another library."""
    pymupdf = pytest.importorskip("pymupdf")
    from sunpantry.report.drawing import font_directory

    files = sorted(font_directory().rglob("*Regular*.[ot]tf"))
    fonts = [pymupdf.Font("helv"), *(pymupdf.Font(fontfile=str(one)) for one in files[:1])]
    lines = {line for make in CHOSEN for line in _texts(wire(make()).diagram("x").svg)}
    for line in lines:
        if any(letter in line for letter in "−²"):
            continue  # not in the base encoding of the built-in font
        for font in fonts:
            assert font.text_length(line, fontsize=11.0) <= text_width(line, 11.0)
        assert text_width(line, 11.0) <= 1.25 * fonts[0].text_length(line, fontsize=11.0)


@pytest.mark.analytic
def test_wrapping_keeps_within_the_width() -> None:
    """Lines fit, numbers stay with their units, what is cut ends in an ellipsis."""
    lines = wrap("MPPT 60 A, 12/24/48 V, 150 V, with a long name behind it", 11.0, 90.0, lines=3)
    assert len(lines) == 3
    assert all(text_width(line, 11.0) <= 90.0 for line in lines)
    assert lines[-1].endswith("…")
    assert "60\u00a0A," in lines[0]
    assert shorten("short", 11.0, 90.0) == "short"

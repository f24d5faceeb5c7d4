"""The explanations: complete, plain, and true of the reader's own plan."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from sunpantry.errors import InputError
from sunpantry.explain import explain, topics
from sunpantry.explain.asked import PlanLike, coldest_open_v
from sunpantry.explain.live import LIVE, live_words
from sunpantry.explain.topics import ORDER
from sunpantry.language import LANGUAGES, speaking
from sunpantry.parts.system import System
from sunpantry.report.numbers import Numbers

DOCS = Path(__file__).resolve().parents[2] / "docs" / "explain"


@pytest.mark.regression
def test_every_topic_has_a_text_and_a_figure() -> None:
    """One page each in docs/explain, equal to the shipped text."""
    names = [one.name for one in topics()]
    assert names == list(LIVE)
    assert {path.stem for path in DOCS.glob("*.md")} == {*names, "README"}
    contents = (DOCS / "README.md").read_text("utf-8")
    for one in topics():
        page = (DOCS / f"{one.name}.md").read_text("utf-8")
        assert page == f"# {one.title}\n\n{one.text}\n"
        assert f"- [{one.title}]({one.name}.md)" in contents
        assert 100 <= len(one.text.split()) <= 230, one.name


@pytest.mark.regression
@pytest.mark.parametrize("name", [name for name in LANGUAGES if name != "en"])
def test_every_text_in_every_language(name: str) -> None:
    """Paragraph by paragraph, with the same words set off, in lines of the same length."""
    english = topics()
    with speaking(name):
        other = topics()
    assert [one.name for one in other] == list(ORDER)
    for one, told in zip(english, other, strict=True):
        assert told.title != one.title
        assert told.text.count("\n\n") == one.text.count("\n\n"), one.name
        assert told.text.count("*") == one.text.count("*"), one.name
        assert max(map(len, told.text.splitlines())) <= 100, one.name
        assert 0.7 <= len(told.text) / len(one.text) <= 1.5, one.name


@pytest.mark.regression
def test_in_german(hut: PlanLike) -> None:
    """The reader's own figure, too, with the numbers of the language."""
    with speaking("de"):
        told = explain("pwm-mppt", hut, write=Numbers("de_DE").number)
    assert told.startswith("PWM oder MPPT\n\nBeides sind Laderegler;")
    live = " ".join(told.split("\n\n")[-1].split())
    assert live.startswith("In deiner Anlage: Himmel wie „klarer Mittag im ")
    assert re.search(r"gibt \d+,\d", live)


@pytest.mark.regression
def test_explanations_carry_the_readers_own_numbers(hut: PlanLike) -> None:
    """Each ends with a paragraph that holds a number of this plan."""
    for one in topics():
        alone, told = explain(one.name), explain(one.name, hut, write=Numbers().number)
        assert told.startswith(alone.strip())
        live = told.split("In your system: ")[1]
        assert re.search(r"\d", live), one.name
        assert "None" not in told
        assert "nan" not in live


@pytest.mark.independent
def test_the_coldest_morning(hut: PlanLike) -> None:
    """The label's own coefficient, straight line from 25 °C; the curve is within 1 %.

    At 1000 W/m² and the cold of the place; IEC 60891 takes the coefficient as constant.
    """
    array = hut.system.arrays[0]
    panel = array.panel
    coldest = hut.setting.climate.mean_annual_minimum_c
    straight = panel.voc_v * (1.0 + panel.temp_coeff_voc_pct_per_k / 100.0 * (coldest - 25.0))
    volts = coldest_open_v(array, coldest)
    assert volts == pytest.approx(straight, rel=0.01)
    words = live_words("controller", hut)
    assert f"{volts:.3g} V" in words
    assert hut.system.controller is not None
    assert f"{hut.system.controller.max_pv_voc_v:.3g} V" in words


@pytest.mark.analytic
def test_idle_watts_make_a_day(hut: PlanLike) -> None:
    """Idle power times 24 hours."""
    assert hut.system.inverter is not None
    day = f"{24.0 * hut.system.inverter.idle_w:.3g} Wh"
    assert day in live_words("inverter-idle", hut)


@pytest.mark.analytic
def test_two_by_two_panels(hut: PlanLike, with_system: Callable[[System], PlanLike]) -> None:
    """Volts add in series, amps in parallel."""
    array = replace(hut.system.arrays[0], series=2, parallel=2)
    words = live_words("series-parallel", with_system(replace(hut.system, arrays=(array,))))
    panel = array.panel
    assert f"{2 * panel.vmp_v:.3g} V and {2 * panel.imp_a:.3g} A in full sun" in words
    assert f"All in series: {4 * panel.vmp_v:.3g} V and {panel.imp_a:.3g} A" in words


@pytest.mark.regression
def test_parts_that_are_not_there(hut: PlanLike, with_system: Callable[[System], PlanLike]) -> None:
    """Without battery, controller and inverter the words still stand."""
    bare = with_system(replace(hut.system, bank=None, controller=None, inverter=None))
    assert "You have no battery" in live_words("battery-limits", bare)
    assert "You have no battery" in live_words("lead-lithium", bare)
    assert "no charge controller" in live_words("controller", bare)
    assert "You have no inverter" in live_words("inverter-idle", bare)
    for one in topics():
        explain(one.name, bare)


@pytest.mark.regression
def test_an_unknown_topic_is_told() -> None:
    """With the one that was probably meant."""
    with pytest.raises(InputError, match="did you mean 'tilt'"):
        explain("tild")

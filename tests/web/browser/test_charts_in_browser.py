"""Charts tell their values: to a pointer, to a finger, to the keys of the arrows."""

from __future__ import annotations

from collections.abc import Callable
from itertools import product

import pytest
from playwright.sync_api import Locator, Page, expect
from playwright.sync_api import TimeoutError as NotSeenError
from tests.web.browser.conftest import READY

pytestmark = pytest.mark.regression

Open = Callable[..., Page]
TOOLTIP_MS = 1500  # a busy machine draws late


def test_charts_tell_their_values(open_page: Open, new_design: Callable[..., str]) -> None:
    """The three that had none: a tooltip under the pointer, and the values one by one."""
    design = new_design()
    page = open_page(f"/designs/{design}")
    page.wait_for_selector(READY)
    page.goto(f"{page.url.split('#')[0]}/pictures")
    for name in ("energy-flow", "panel-curve", "battery-life"):
        figure = page.locator(f'figure[data-spec*="/{name}.json"]')
        figure.scroll_into_view_if_needed()
        page.wait_for_selector(f'figure[data-spec*="/{name}.json"][data-drawn]')
        slider = figure.get_by_label("Step through the values")
        first = slider.get_attribute("aria-valuetext")
        slider.focus()
        page.keyboard.press("ArrowRight")
        then = slider.get_attribute("aria-valuetext")
        assert first
        assert then
        assert first != then
        assert figure.locator("output").inner_text() == then
        assert told_along(page, figure.locator(".chart-here svg")), name


def told_along(page: Page, drawn: Locator) -> str:
    """What a tooltip says first, somewhere along the middle of a chart; '' where none comes.

    Bars begin at their names, the curve fills its plot.
    """
    box = drawn.bounding_box()
    assert box is not None
    tooltip = page.locator("#vg-tooltip-element.visible")
    page.mouse.move(0, 0)
    tooltip.wait_for(state="detached")
    for share, height in product((0.35, 0.42, 0.5, 0.6), (0.45, 0.55, 0.65, 0.75)):
        page.mouse.move(box["x"] + share * box["width"], box["y"] + height * box["height"])
        try:
            tooltip.wait_for(timeout=TOOLTIP_MS)
        except NotSeenError:
            continue  # there is nothing to tell at this place
        return tooltip.locator("td.value").first.inner_text()
    return ""


def test_a_day_of_a_winter_is_picked_by_keys(
    open_page: Open, new_design: Callable[..., str]
) -> None:
    """Winter, month, day and length, without a pointer; the chart answers for that day."""
    page = open_page(f"/designs/{new_design()}", "phone")
    page.wait_for_selector(READY)
    page.locator(".pictures-here").scroll_into_view_if_needed()
    page.locator("#winter").wait_for()
    page.locator("#winter").fill("2")
    page.locator("#look-days").select_option("1")
    page.locator("#look-day").fill("6")
    page.locator("#look-month").select_option("1")
    page.locator(".winter-form button").press("Enter")
    figure = page.locator('figure[data-spec*="/span.json"][data-spec*="day=6"]')
    figure.wait_for()
    expect(figure).to_be_in_viewport()
    slider = figure.get_by_label("Step through the values")
    slider.wait_for()
    assert slider.get_attribute("max") == "23"
    assert "6 January" in (slider.get_attribute("aria-valuetext") or "")

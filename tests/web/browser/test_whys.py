"""A number that is tapped on shows its working: with scripts in place, without on a page."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page
from tests.web.browser.conftest import READY

pytestmark = pytest.mark.regression

Open = Callable[..., Page]


@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_a_number_shows_its_working_where_it_stands(
    open_page: Open, new_design: Callable[..., str], size: str
) -> None:
    """By key as by tap; one at a time; Escape leads back; it stays within the screen."""
    page = open_page(f"/designs/{new_design()}", size)
    page.wait_for_selector(READY)
    number = page.locator(".finding a.num").first
    number.focus()
    page.keyboard.press("Enter")
    here = page.locator(".why-here")
    here.wait_for()
    assert number.get_attribute("aria-expanded") == "true"
    assert "Source:" in here.inner_text()
    box = here.bounding_box()
    assert box is not None
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= page.evaluate("document.documentElement.clientWidth")
    page.keyboard.press("Escape")
    here.wait_for(state="detached")
    assert number.evaluate("one => one === document.activeElement")

    page.locator("#verdict a.num").first.click()
    page.locator("#verdict .why-here .working").first.wait_for()
    assert page.locator("#verdict").evaluate("one => one.offsetHeight < innerHeight * 0.75")
    page.locator("#where a.num").first.click()
    page.locator("#where .why-here").wait_for()
    assert page.locator(".why-here").count() == 1
    page.locator(".why-here").get_by_role("button", name="Close").click()
    assert page.locator(".why-here").count() == 0


def test_without_scripts_it_leads_to_the_page_of_workings(
    open_page: Open, new_design: Callable[..., str]
) -> None:
    """To the very working."""
    page = open_page(f"/designs/{new_design()}", "phone", java_script_enabled=False)
    page.wait_for_selector(READY)
    number = page.locator("#verdict a.num").first
    place = (number.get_attribute("href") or "").split("#")[1]
    number.click()
    page.wait_for_url("**/workings#*")
    assert page.locator(f'[id="{place}"] .working').is_visible()

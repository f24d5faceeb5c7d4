"""A part of one's own by its label, as people type it: with scripts and without, on any screen."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from playwright.sync_api import Page, expect
from tests.web.browser.conftest import READY

from sunpantry.store import Store
from sunpantry.web.documents import taken_apart

pytestmark = pytest.mark.regression

Open = Callable[..., Page]
# The label of a battery that somebody might own; made up.
LABEL = {"Name": "Cart battery", "Capacity": "95"}


def row_of(store: Store, design: str) -> dict[str, Any]:
    """The battery as the document has it now."""
    return dict(taken_apart(store.head(design).version.document).get("battery") or {})


@pytest.mark.parametrize("scripts", [True, False])
@pytest.mark.parametrize("size", ["phone", "desktop"])
def test_a_battery_by_its_label(
    open_page: Open, new_design: Callable[..., str], store: Store, size: str, scripts: bool
) -> None:
    """Choose the kind, fill in what is asked first, be told what is missing and lose nothing,
    change one figure, and let Sunpantry choose again."""
    design = new_design()
    page = open_page(f"/designs/{design}", size, java_script_enabled=scripts)
    page.wait_for_selector(READY)
    if not scripts:
        page.reload()
    part = page.locator("#by-label")
    part.locator("summary").first.click()
    part.locator("[data-keep=label-new-battery] > summary").click()
    new = part.locator("[data-keep=label-new-battery]")
    assert not new.get_by_label("Inner resistance").is_visible(), "the rest comes second"
    for label, value in LABEL.items():
        new.get_by_label(label, exact=False).first.fill(value)
    new.get_by_role("button", name="Add").click()

    wrong = page.locator("#label-battery-nominal[aria-invalid=true]")
    wrong.wait_for()
    beside = page.locator("#label-battery-nominal-trouble").inner_text()
    assert "fill this in" in beside
    assert "quantity in V" in beside
    assert page.locator("#label-battery-capacity").input_value() == "95 Ah"
    assert page.locator("#label-battery-name").input_value() == "Cart battery"
    assert row_of(store, design).get("part") == "12 V 100 Ah AGM", "nothing is saved"
    if scripts:
        assert page.evaluate("document.activeElement.getAttribute('aria-invalid')") == "true"
    page.locator("#label-battery-chemistry").select_option("agm")
    wrong.fill("12")
    own = page.locator("#by-label .described")
    own.get_by_role("button", name="Save").click()
    wrong.wait_for(state="detached")
    page.wait_for_selector(READY)
    assert row_of(store, design)["capacity"] == "95 Ah"
    assert "Cart battery" in page.locator(".part").filter(has_text="Battery").inner_text()

    if not scripts:
        page.locator("#by-label > summary").click()
    own = page.locator("#by-label .described")
    own.get_by_text("More from the label").click()
    own.get_by_label("Capacity left, if it is a used one").fill("85")
    own.get_by_role("button", name="Save").click()
    page.wait_for_selector('#bar input[name="base"][value="3"]', state="attached")
    assert row_of(store, design)["worn"] == "85 %"

    if not scripts:
        page.locator("#by-label > summary").click()
    page.locator("#by-label").get_by_role("button", name="let Sunpantry choose").click()
    page.wait_for_selector('#bar input[name="base"][value="4"]', state="attached")
    assert "capacity" not in row_of(store, design)


def test_typing_a_figure_shows_what_follows(
    open_page: Open, new_design: Callable[..., str]
) -> None:
    """A battery that holds less, while it is typed: the verdict follows before it is saved."""
    page = open_page(f"/designs/{new_design()}")
    page.wait_for_selector(READY)
    page.locator("#by-label > summary").click()
    page.locator("[data-keep=label-new-battery] > summary").click()
    new = page.locator("[data-keep=label-new-battery]")
    new.get_by_label("Name").fill("Cart battery")
    new.get_by_label("What it is made of").select_option("agm")
    new.get_by_label("Voltage", exact=False).first.fill("12")
    new.get_by_label("Capacity", exact=False).first.fill("100")
    new.get_by_role("button", name="Add").click()
    page.locator("#label-battery-capacity").wait_for()
    page.wait_for_selector(READY)
    holds = page.locator("#picture").get_by_text("100\N{NO-BREAK SPACE}Ah", exact=True)
    expect(holds).not_to_have_count(0)
    page.locator("#label-battery-capacity").fill("20 Ah")
    # the mark of a quick answer is there since Add: the picture itself is waited for
    follows = page.locator("#picture").get_by_text("20\N{NO-BREAK SPACE}Ah", exact=True)
    follows.first.wait_for(state="attached")
    expect(holds).to_have_count(0)
    assert page.locator("#label-battery-capacity").input_value() == "20 Ah"
    assert page.locator('#bar input[name="base"]').first.input_value() == "2", "nothing is saved"

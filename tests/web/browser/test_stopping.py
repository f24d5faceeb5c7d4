"""Long searches in a real browser, real processes: progress, stop, go on; one is killed."""

from __future__ import annotations

import os
import re
import signal
from collections.abc import Callable

import psutil
import pytest
from playwright.sync_api import Page, expect
from tests.web.browser.conftest import READY

from sunpantry.store import Store

pytestmark = pytest.mark.regression

Open = Callable[..., Page]
WORKING = "#verdict[data-state=working]"
# Everything is open, with an inverter and jobs that wait: the longest of the shipped searches.
LONG = """
schema = 1
name = "Wash-house"
winters = 30
[site]
latitude = {latitude}
longitude = -9.33
[[load]]
name = "Washing machine"
like = "washing machine, cold wash"
uses_per_week = 3
can_wait = {{ days = 5, rule = "battery above 80 %" }}
importance = "may"
[[load]]
name = "Lamp"
power = "8 W"
supply = "12 V"
hours_per_day = 2
[search]
bank_voltages = ["12 V"]
"""


def workers() -> list[psutil.Process]:
    """Processes that this one has compute, oldest first."""
    every = psutil.Process().children(recursive=True)
    mine = [one for one in every if "spawn_main" in " ".join(one.cmdline())]
    return sorted(mine, key=lambda one: one.create_time())


def goes_on(page: Page, *, beyond: float) -> None:
    """Wait until the bar says that so much is done."""
    for _ in range(1200):
        if float(page.locator("#search-progress").get_attribute("value") or 0.0) > beyond:
            return
        page.wait_for_timeout(100)
    raise AssertionError("the bar stands still")


def test_a_long_search_is_stopped_and_begun_again(
    open_page: Open, new_design: Callable[..., str], store: Store
) -> None:
    """It shows how far it is; stopped, the best so far or a plain word stands there, and the
    page can be edited and search again; a second tab sees the same."""
    design = new_design(LONG.format(latitude=53.87), "Wash-house")
    page, other = (open_page(f"/designs/{design}") for _ in range(2))
    page.wait_for_selector(WORKING)
    bar = page.locator("#search-progress")
    goes_on(page, beyond=0.15)
    expect(other.locator("#search-progress")).to_be_visible()
    page.get_by_role("button", name="Stop").click()
    page.wait_for_selector(f"{READY}, #verdict[data-state=refused]")
    bar.wait_for(state="detached")
    other.wait_for_selector(f"{READY}, #verdict[data-state=refused]")
    told = page.locator("#verdict").inner_text() + page.locator("#with .quiet").first.inner_text()
    assert re.search(r"(?i)stopped", told), told

    page.locator("#load-2 summary").first.click()
    page.locator("#load-2-power").fill("9 W")
    page.locator("#load-2-power").press("Enter")
    page.wait_for_selector('#bar input[name="base"][value="2"]', state="attached")
    assert '"9 W"' in store.head(design).version.document
    page.locator("#verdict button").first.wait_for()
    if bar.count() == 0:
        page.locator("#verdict button").first.click()  # choose again, or try again
    bar.wait_for()
    page.get_by_role("button", name="Stop").click()
    bar.wait_for(state="detached")


def test_a_killed_search_is_told_and_tried_again(
    open_page: Open, new_design: Callable[..., str]
) -> None:
    """The page says that the computation broke off and what to do, and one press begins anew."""
    page = open_page(f"/designs/{new_design(LONG.format(latitude=53.1), 'Wash-house')}")
    page.wait_for_selector(WORKING)
    goes_on(page, beyond=0.05)
    for one in workers():
        os.kill(one.pid, signal.SIGKILL)
    refused = page.locator("#verdict[data-state=refused]")
    refused.wait_for()
    assert "broke off" in refused.inner_text()
    page.get_by_role("button", name="Try again").click()
    page.wait_for_selector(WORKING)
    page.get_by_role("button", name="Stop").click()
    page.wait_for_selector(f"{READY}, #verdict[data-state=refused]")


def test_a_killed_worker_is_not_noticed(open_page: Open, new_design: Callable[..., str]) -> None:
    """What was asked for is done by a new process: the verdict comes, and edits go on."""
    page = open_page(f"/designs/{new_design()}")
    page.wait_for_selector(READY)
    before = page.locator("#verdict-now").inner_text()
    for one in workers():
        os.kill(one.pid, signal.SIGKILL)
    page.locator("#load-1 summary").first.click()
    page.locator("#load-1-power").fill("200 W")
    page.wait_for_selector("html[data-answered-in-ms]", state="attached")
    assert page.locator("#verdict-now").inner_text() != before
    page.locator("#load-1-power").press("Enter")
    page.wait_for_selector("#verdict[data-state=kept]")

"""A real browser: the Chromium of the system, without a window."""

from __future__ import annotations

import os
import shutil
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from sunpantry.store import Store
from sunpantry.web.settings import Settings

FLAGS = (
    *("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run"),
    *("--disable-background-networking", "--disable-component-update", "--disable-sync"),
)
SIZES = {"phone": (360, 740), "tablet": (768, 1024), "desktop": (1440, 900)}
FIRST_ANSWER_S = 600.0
# The page with an answer: of parts chosen for exactly this, or of parts chosen before.
READY = "#verdict[data-state=fresh], #verdict[data-state=kept]"
SETTLED = ('data-state="fresh"', 'data-state="kept"', 'data-state="refused"')
Open = Callable[..., Page]


@pytest.fixture(scope="session")
def live_page(
    served: Any, folder: Path, store: Store, new_design: Callable[..., str]
) -> Iterator[str]:
    """Address of a page that does not wait for long answers, and has given one already."""
    with served(Settings(data_folder=folder, workers=1), store) as running:
        _wait_for_first(f"{running.url}/designs/{new_design()}")
        yield running.url


def _wait_for_first(address: str) -> None:
    """Wait for the first answer.

    It starts the workers and may compile the kernels, which takes minutes on a busy machine:
    whichever test came first would run out of time.
    """
    until = time.monotonic() + FIRST_ANSWER_S
    while time.monotonic() < until:
        text = httpx.get(address, timeout=60.0).text
        if any(one in text for one in SETTLED):
            return
        time.sleep(0.5)
    pytest.fail("the page gave no first answer")


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """The browser; without one the tests fail where they must run, and are skipped elsewhere."""
    found = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
    if found is None:
        words = "no Chromium here; tools/ensure_system_packages.sh installs Debian's"
        if os.environ.get("CI"):
            pytest.fail(words)
        pytest.skip(words)
    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=found, args=list(FLAGS))
        yield running
        running.close()


@pytest.fixture
def open_page(browser: Browser, live_page: str) -> Iterator[Open]:
    """Open an address of the page; what the browser complains of fails the test."""
    contexts: list[BrowserContext] = []
    complaints: list[str] = []

    def listen(message: Any) -> None:
        if message.type == "error" and "Failed to load resource" not in message.text:
            complaints.append(message.text)

    def open_it(path: str = "/", size: str = "desktop", **options: Any) -> Page:
        width, height = SIZES[size]
        context = browser.new_context(
            viewport={"width": width, "height": height}, accept_downloads=True, **options
        )
        context.set_default_timeout(150_000)
        contexts.append(context)
        page = context.new_page()
        page.on("console", listen)
        page.on("pageerror", lambda error: complaints.append(str(error)))
        page.goto(live_page + path)
        return page

    yield open_it
    for context in contexts:
        context.close()
    assert complaints == []

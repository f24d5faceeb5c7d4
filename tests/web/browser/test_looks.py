"""What a screen must not do: overlap, overflow, or shut anyone out."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Literal

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page
from tests.web.browser.conftest import SIZES

pytestmark = pytest.mark.regression

Open = Callable[..., Page]
SCREENS = ("/", "/glossary", "/compare", "/unlock", "/nowhere")
OF_A_DESIGN = ("", "/history", "/text", "/pictures", "/workings", "/weather")
# WCAG 2.2 level A and AA, as axe-core tags its rules.
RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]

# Pairs of visible texts or controls that cover one another, and texts that are cut off.
CROWDED = """
() => {
  const found = [];
  const width = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth > width) found.push(`page is wider than ${width}`);
  const floating = (one) => {
    for (let up = one; up; up = up.parentElement) {
      const how = getComputedStyle(up).position;
      if (how === "fixed" || how === "sticky") return true;
      if (up.matches(".unseen, .skip, svg, .scroll, .menu form")) return true;
      if (up.matches(".cupboard") && getComputedStyle(up).overflowX === "auto") return true;
      const folded = up.tagName === "DETAILS" && !up.open && up !== one;
      if (folded && !one.closest("summary")) return true;
    }
    return false;
  };
  const leaves = [...document.querySelectorAll("body *")].filter((one) => {
    const own = [...one.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim());
    if (!own && !one.matches("input, select, textarea, img, progress")) return false;
    if (one.matches("option, title, datalist, script")) return false;
    return one.checkVisibility({ checkOpacity: true }) && !floating(one);
  });
  const boxes = leaves.map((one) => [...one.getClientRects()]);
  leaves.forEach((one, i) => {
    const box = one.getBoundingClientRect();
    const words = one.textContent.slice(0, 40);
    if (box.right > width + 1 || box.left < -1) found.push(`off the side: ${words}`);
    const hidden = getComputedStyle(one).overflowX === "hidden" && !one.matches(".which");
    if (hidden && one.scrollWidth > one.clientWidth + 2) found.push(`cut off: ${words}`);
    for (let j = i + 1; j < leaves.length; j++) {
      if (one.contains(leaves[j]) || leaves[j].contains(one)) continue;
      for (const a of boxes[i]) for (const b of boxes[j]) {
        const w = Math.min(a.right, b.right) - Math.max(a.left, b.left);
        const h = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
        const other = leaves[j].textContent.slice(0, 40);
        if (w > 2 && h > 3) found.push(`${words} | ${other} (${Math.round(w)}x${Math.round(h)})`);
      }
    }
  });
  return found.slice(0, 8);
}
"""
SMALL_TARGETS = """
() => [...document.querySelectorAll("button, summary, select, input, textarea")]
  .filter((one) => one.checkVisibility() && !one.closest(".unseen"))
  .filter((one) => one.type !== "hidden" && one.type !== "radio")
  .map((one) => ({ one, box: one.getBoundingClientRect() }))
  .filter(({ box }) => box.width < 24 || box.height < 24)
  .map(({ one }) => one.outerHTML.slice(0, 90))
"""
# Height of what stays where it is while the page is scrolled.
STAYING = """
() => {
  scrollTo(0, 700);
  return [...document.querySelectorAll(".in-view, .verdict, .strip")]
    .filter((one) => ["sticky", "fixed"].includes(getComputedStyle(one).position))
    .reduce((sum, one) => sum + one.getBoundingClientRect().height, 0);
}
"""
STICKING_OUT = """
() => document.documentElement.scrollWidth <= innerWidth ? [] : [...document.querySelectorAll("*")]
  .filter((one) => one.getBoundingClientRect().right > innerWidth + 1 && !one.closest(".scroll"))
  .map((one) => `${one.tagName}.${one.className} ${one.textContent.trim().slice(0, 40)}`)
"""


@pytest.fixture(scope="session")
def design(new_design: Callable[..., str]) -> str:
    """A design to look at."""
    return new_design()


def screens(design: str) -> list[str]:
    """Every screen there is."""
    return [*SCREENS, *(f"/designs/{design}{more}" for more in OF_A_DESIGN)]


def unfold(page: Page, which: str) -> None:
    """Open every fold."""
    page.evaluate(f"document.querySelectorAll('{which}').forEach((one) => {{ one.open = true; }})")


def settle(page: Page) -> None:
    """Wait for the answer where the screen has one; the workings of a verdict are none."""
    verdict = page.locator("#verdict[data-state]")
    if verdict.count():
        states = ("fresh", "kept", "refused")
        page.wait_for_selector(", ".join(f"#verdict[data-state={one}]" for one in states))
        assert verdict.get_attribute("data-state") != "refused", verdict.inner_text()


@pytest.mark.parametrize(
    ("size", "language"),
    [("phone", "en"), ("phone", "de"), ("tablet", "en"), ("desktop", "en")],
)
def test_nothing_overlaps_or_overflows(
    open_page: Open, live_page: str, design: str, size: str, language: str
) -> None:
    """At 360, 768 and 1440 px, with every fold open, in both languages where it is tight."""
    page = open_page("/", size)
    page.context.add_cookies([{"name": "language", "value": language, "url": live_page}])
    crowded: dict[str, Any] = {}
    for path in screens(design):
        page.goto(live_page + path)
        settle(page)
        page.evaluate(
            "document.querySelectorAll('main details').forEach((one) => { one.open = true; })"
        )
        trouble = page.evaluate(CROWDED)
        if trouble:
            crowded[path] = trouble
    assert crowded == {}


Way = tuple[str, Literal["light", "dark"]]
EVERY_WAY: list[Way] = [*((size, "light") for size in SIZES), *((size, "dark") for size in SIZES)]
TWO_WAYS: list[Way] = [("desktop", "light"), ("phone", "dark")]


def ways_of(path: str, design: str, language: str) -> list[Way]:
    """In how many ways a screen is looked at: in English the one people live on in all of them."""
    if language != "en":  # colours and structure are those of English; longer words matter most
        return [("phone", "dark")]
    return EVERY_WAY if path == f"/designs/{design}" else TWO_WAYS


@pytest.mark.parametrize("language", ["en", "de"])
def test_no_serious_finding_of_axe(
    open_page: Open, live_page: str, design: str, language: str
) -> None:
    """Every screen, every fold open, by width and light (axe-core, WCAG 2.2 A and AA)."""
    found: dict[str, Any] = {}
    page = open_page("/", bypass_csp=True)
    page.context.add_cookies([{"name": "language", "value": language, "url": live_page}])
    options = {"runOnly": {"type": "tag", "values": RULES}, "resultTypes": ["violations"]}
    for path in screens(design):
        page.goto(live_page + path)
        settle(page)
        unfold(page, "details")
        for size, scheme in ways_of(path, design, language):
            width, height = SIZES[size]
            page.set_viewport_size({"width": width, "height": height})
            page.emulate_media(color_scheme=scheme)
            told = Axe().run(page, options=options).response["violations"]
            bad = [
                (one["id"], one["nodes"][0]["html"][:160], one["nodes"][0]["failureSummary"][:200])
                for one in told
                if one["impact"] in {"serious", "critical"}
            ]
            if bad:
                found[f"{size} {scheme} {path}"] = bad
    assert found == {}


def test_a_screen_of_320_px_and_a_low_one(open_page: Open, live_page: str, design: str) -> None:
    """No sideways scrolling at 320 px, with wide letter spacing too (criteria 1.4.10, 1.4.12)."""
    page = open_page("/", bypass_csp=True)
    spaced = "* { line-height: 1.5 !important; letter-spacing: .12em !important;"
    spaced += " word-spacing: .16em !important; }"
    for width, height in ((320, 256), (360, 740)):
        page.set_viewport_size({"width": width, "height": height})
        for path in ("/", f"/designs/{design}", f"/compare?left={design}&right={design}"):
            page.goto(live_page + path)
            settle(page)
            page.add_style_tag(content=spaced)
            assert page.evaluate(STICKING_OUT) == [], f"{path} at {width} px"
            kept = page.evaluate(STAYING)
            assert kept < height * 0.6, f"{path}: {kept} px of {height} never move"


def test_charts_keep_their_letters_on_a_phone(open_page: Open, design: str) -> None:
    """They are drawn for its width, not shrunk to it."""
    page = open_page(f"/designs/{design}", "phone")
    settle(page)
    page.locator(".pictures-here").scroll_into_view_if_needed()
    drawn = page.locator("figure.chart[data-drawn] svg").first
    drawn.wait_for()
    box = drawn.bounding_box()
    assert box is not None
    natural = drawn.evaluate("one => one.viewBox.baseVal.width")
    assert box["width"] / natural > 0.9


def test_what_goes_where_can_be_read_on_a_phone(open_page: Open, design: str) -> None:
    """Its smallest letters, of 11.5 units, are 9 px and more; only empty margins are cut away."""
    page = open_page(f"/designs/{design}", "phone")
    settle(page)
    drawn = page.locator(".drawing.picture img")
    drawn.scroll_into_view_if_needed()
    page.wait_for_function("() => document.querySelector('.drawing.picture img').naturalWidth")
    box = drawn.bounding_box()
    assert box is not None
    scale = box["width"] / drawn.evaluate("one => one.naturalWidth")
    assert scale * 11.5 >= 9.0
    assert -box["x"] <= 20.0 * scale
    assert box["x"] + box["width"] - 360.0 <= 20.0 * scale


def test_targets_are_large_enough(open_page: Open, design: str) -> None:
    """At least 24 by 24 px (WCAG 2.2, success criterion 2.5.8)."""
    page = open_page(f"/designs/{design}", "phone")
    settle(page)
    assert page.evaluate(SMALL_TARGETS) == []


def test_larger_letters_fit(open_page: Open, design: str) -> None:
    """Text at twice its size needs no sideways scrolling (success criterion 1.4.4)."""
    page = open_page(f"/designs/{design}", "tablet")
    settle(page)
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert page.evaluate(STICKING_OUT) == []


@pytest.mark.parametrize("choice", ["light", "dark"])
def test_light_and_dark_can_be_chosen(open_page: Open, choice: str) -> None:
    """The choice stays, whatever the device prefers."""
    page = open_page("/", color_scheme="dark" if choice == "light" else "light")
    page.get_by_text("Settings", exact=True).click()
    page.get_by_label("Light or dark").select_option(choice)
    page.get_by_role("button", name="Use these").click()
    page.wait_for_selector(f"html[data-theme={choice}]", state="attached")
    ground = page.evaluate("getComputedStyle(document.documentElement).backgroundColor")
    brightness = sum(int(one) for one in ground[4:-1].split(","))
    assert (brightness > 384) is (choice == "light")

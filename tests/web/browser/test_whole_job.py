"""The whole job, from the first question to the sheet, as people do it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import Page

from sunpantry.store import Store

pytestmark = pytest.mark.regression

Open = Callable[..., Page]
READY = "#verdict[data-state=fresh]"
KEPT = "#verdict[data-state=kept]"


def begin_by_question(page: Page) -> None:
    """One lamp, one place."""
    page.get_by_label("What", exact=True).fill("LED lamp")
    page.get_by_label("Where").fill("54.1, -9.2")
    page.get_by_role("button", name="Begin").click()


def begin_by_example(page: Page) -> None:
    """A shipped situation."""
    page.get_by_role("button", name="A hut with lamps, phones and a fence").click()


def begin_by_file(page: Page, hut: str, folder: Path) -> None:
    """A file that someone sent."""
    file = folder / "sent.toml"
    file.write_text(hut)
    page.get_by_label("A file ending in .toml").set_input_files(file)
    page.get_by_role("button", name="Open", exact=True).click()


@pytest.mark.parametrize("size", ["desktop", "phone"])
@pytest.mark.parametrize("way", ["question", "example", "file"])
def test_from_first_question_to_the_sheet(
    open_page: Open, way: str, size: str, hut: str, tmp_path: Path
) -> None:
    """Begin, see the verdict, add a load in two actions, own a part, undo, take the PDF."""
    page = open_page(size=size)
    if way == "question":
        begin_by_question(page)
    elif way == "example":
        begin_by_example(page)
    else:
        begin_by_file(page, hut, tmp_path)
    page.wait_for_selector(READY)
    verdict = page.locator("#verdict .verdict-words").first
    assert verdict.inner_text().startswith(("Yes:", "No:"))
    assert "winters" in verdict.inner_text()

    loads = page.locator(".load").count()
    page.locator("#add-name").fill("phone charger" if way != "question" else "small LED lamp")
    page.locator("#add-name").press("Enter")
    page.locator(".load").nth(loads).wait_for()
    page.wait_for_selector(f"{KEPT}, {READY}")

    part = page.locator(".part").filter(has_text="Battery")
    part.get_by_role("button", name="I have it").click()
    page.locator(".part.owned").wait_for()
    page.get_by_role("button", name="Undo").click()
    page.locator(".part.owned").wait_for(state="detached")

    page.locator("#last").scroll_into_view_if_needed()
    box = page.locator("#verdict").bounding_box()
    assert box is not None
    assert 0 <= box["y"] < 5, "the verdict stays in view"
    with page.expect_download() as coming:
        page.get_by_role("link", name="Build sheet (PDF)").click()
    assert Path(coming.value.path()).read_bytes().startswith(b"%PDF")
    assert coming.value.suggested_filename.endswith(".pdf")


def test_quick_answer_while_typing(open_page: Open, new_design: Callable[..., str]) -> None:
    """The verdict follows the keys before anything is saved, and saving makes one version."""
    page = open_page(f"/designs/{new_design()}")
    page.wait_for_selector(READY)
    before = page.locator("#verdict-now").inner_text()
    page.locator("#load-1 summary").first.click()
    page.locator("#load-1-power").fill("200 W")
    page.wait_for_selector("html[data-answered-in-ms]", state="attached")
    assert page.locator("#verdict-now").inner_text() != before
    page.locator("#load-1-power").press("Enter")
    page.wait_for_selector(f"{KEPT}, #verdict[data-state=old]")
    assert page.locator('#bar input[name="base"]').first.input_value() == "2"
    page.wait_for_selector(KEPT)
    assert page.locator("#load-1 details").first.evaluate("one => one.open"), "it stays open"


def test_mistakes_are_told_in_place(open_page: Open, new_design: Callable[..., str]) -> None:
    """The field is marked; the typed words stay; mending it is enough."""
    page = open_page(f"/designs/{new_design()}")
    page.wait_for_selector(READY)
    page.locator("#load-1 summary").first.click()
    page.locator("#load-1-power").fill("lots")
    page.locator("#load-1-power").press("Enter")
    wrong = page.locator("#load-1-power[aria-invalid=true]")
    wrong.wait_for()
    assert wrong.input_value() == "lots"
    page.locator("#load-1-power").fill("9 W")
    page.locator("#load-1-power").press("Enter")
    wrong.wait_for(state="detached")


def test_two_tabs_are_asked(open_page: Open, new_design: Callable[..., str], store: Store) -> None:
    """The second tab sees the merge page, and both changes are kept by one press."""
    design = new_design()
    first, second = (open_page(f"/designs/{design}") for _ in range(2))
    for page, row, power in ((first, 1, "9 W"), (second, 2, "6 W")):
        page.wait_for_selector(READY)
        page.locator(f"#load-{row} summary").first.click()
        page.locator(f"#load-{row}-power").fill(power)
        page.locator(f"#load-{row}-power").press("Enter")
        page.wait_for_selector(f"{KEPT}, form.merge")
    second.get_by_role("button", name="Put both together").click()
    second.wait_for_selector("#run")
    document = store.head(design).version.document
    assert '"9 W"' in document
    assert '"6 W"' in document


def test_charts_react(open_page: Open, new_design: Callable[..., str]) -> None:
    """Scrolled to, they are drawn by the browser under the strict policy, and show values."""
    page = open_page(f"/designs/{new_design()}")
    page.wait_for_selector(READY)
    page.locator(".pictures-here").scroll_into_view_if_needed()
    drawn = page.locator("figure.chart[data-drawn] svg").first
    drawn.wait_for()
    assert drawn.get_attribute("aria-label")
    assert page.locator("figure.chart[data-drawn] svg path").count() > 3
    page.locator("#winter").fill("2")
    page.locator(".winter-form button").click()
    page.wait_for_selector('figure.chart[data-spec*="winter=2"][data-drawn]')


def test_words_are_explained_on_tap(open_page: Open, new_design: Callable[..., str]) -> None:
    """In place, and away again."""
    page = open_page(f"/designs/{new_design()}")
    page.get_by_role("link", name="watt-hour").first.click()
    page.get_by_role("status").filter(has_text="one watt for one hour").wait_for()
    page.get_by_role("link", name="watt-hour").first.click()
    page.get_by_role("status").filter(has_text="one watt").wait_for(state="detached")


def test_without_scripts(open_page: Open, hut: str, tmp_path: Path) -> None:
    """Forms alone do the whole job."""
    page = open_page(size="phone", java_script_enabled=False)
    begin_by_file(page, hut, tmp_path)
    page.wait_for_selector(READY)
    page.locator("#add-name").fill("LED lamp")
    page.get_by_role("button", name="Add", exact=True).click()
    page.wait_for_selector(f"{KEPT}, {READY}")
    assert page.locator(".load").count() == 3
    page.get_by_role("button", name="Undo").click()
    assert page.locator(".load").count() == 2
    page.get_by_role("link", name="See the year in pictures").click()
    assert page.locator("figure.chart img").count() >= 4
    page.go_back()
    with page.expect_download() as coming:
        page.get_by_role("link", name="Build sheet (PDF)").click()
    assert Path(coming.value.path()).read_bytes().startswith(b"%PDF")


# Where the focus is, whether it shows, and what lies over its beginning if not itself. What is
# taller than half the screen may begin above it, as long as its middle on the screen is free:
# WCAG 2.2, criterion 2.4.11, asks that what has the focus is not entirely hidden.
FOCUS = """
() => {
  const one = document.activeElement;
  const box = one.getBoundingClientRect();
  const x = box.left + Math.min(box.width / 2, 60);
  const heights = [box.top + Math.min(box.height / 2, 12)];
  if (box.height > innerHeight / 2)
    heights.push((Math.max(box.top, 0) + Math.min(box.bottom, innerHeight)) / 2);
  const over = heights.map((y) => document.elementFromPoint(x, y)).filter(Boolean);
  const free = !over.length || over.some((top) => one.contains(top) || top.contains(one));
  return {
    words: one.id || one.textContent.trim().replace(/\\s+/g, " ").slice(0, 60),
    shows: getComputedStyle(one).outlineStyle !== "none",
    under: free ? "" : over[0].outerHTML.slice(0, 90),
  };
}
"""
MOST_STOPS = 400


def walk(page: Page, to: str) -> list[str]:
    """Press Tab until a stop is called so; every stop shows itself, and nothing lies over it."""
    seen: list[str] = []
    for _ in range(MOST_STOPS):
        page.keyboard.press("Tab")
        stop = page.evaluate(FOCUS)
        seen.append(stop["words"])
        assert stop["shows"], (stop, seen)
        assert not stop["under"], stop
        if stop["words"].startswith(to):
            return seen
    raise AssertionError(f"{to} is not reached: {seen}")


@pytest.mark.parametrize("size", ["desktop", "phone"])
def test_the_whole_job_by_keyboard_alone(open_page: Open, size: str) -> None:
    """Begin, add, own a part, undo, open a working, take the sheet: by keys, with no trap."""
    page = open_page(size=size)
    assert walk(page, "Skip") == ["Skip to the content"]
    walk(page, "begin-name")
    page.keyboard.type("LED lamp")
    walk(page, "begin-place")
    page.keyboard.type("54.1, -9.2")
    page.keyboard.press("Enter")
    page.wait_for_selector(READY)
    assert walk(page, "add-name")[0] == "Skip to the content"
    page.keyboard.type("phone charger")
    page.keyboard.press("Enter")
    page.locator(".load").nth(1).wait_for()
    page.wait_for_selector(f"{KEPT}, {READY}")
    assert page.evaluate("document.activeElement.id") == "add-name", "the focus stays"
    page.keyboard.press("Tab")
    page.keyboard.press("Shift+Tab")
    assert page.evaluate("document.activeElement.id") == "add-name", "both ways"

    walk(page, "I have it")
    page.keyboard.press("Enter")
    page.locator(".part.owned").wait_for()
    stop = page.evaluate("document.activeElement.closest('.part')?.className ?? ''")
    assert "owned" in stop, "the focus stays with the part whose button has gone"
    page.keyboard.press("Control+z")
    page.locator(".part.owned").wait_for(state="detached")

    walk(page, "Build sheet (PDF)")
    with page.expect_download() as coming:
        page.keyboard.press("Enter")
    assert Path(coming.value.path()).read_bytes().startswith(b"%PDF")
    verdict = page.locator("#verdict").bounding_box()
    assert verdict is not None
    assert 0 <= verdict["y"] < 5, "the verdict stays in view"


def test_a_new_verdict_is_said_once(open_page: Open, new_design: Callable[..., str]) -> None:
    """A screen reader hears it when it has come to rest, and nothing while it is typed."""
    page = open_page(f"/designs/{new_design()}", bypass_csp=True)
    page.wait_for_selector(READY)
    page.evaluate(
        """() => {
          window.heard = [];
          const told = document.getElementById("told");
          const hear = new MutationObserver(() => window.heard.push(told.textContent));
          hear.observe(told, { childList: true });
        }"""
    )
    page.locator("#load-1 summary").first.click()
    page.locator("#load-1-power").fill("")
    page.locator("#load-1-power").press_sequentially("200 W", delay=100)
    page.wait_for_function("window.heard.length > 0")
    heard = page.evaluate("window.heard")
    assert len(heard) == 1
    assert heard[0].startswith(("Yes:", "No:"))

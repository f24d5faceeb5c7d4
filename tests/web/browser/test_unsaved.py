"""What is typed and not saved yet: it stays, and the verdict is of it."""

from __future__ import annotations

from collections.abc import Callable

from playwright.sync_api import Page, expect
from tests.web.browser.conftest import READY

Open = Callable[..., Page]


def test_nothing_typed_is_lost_when_the_page_is_away(
    open_page: Open, new_design: Callable[..., str]
) -> None:
    """It says so, goes nowhere, and saves what was typed once it is back."""
    page = open_page(f"/designs/{new_design()}")
    page.wait_for_selector(READY)
    address = page.url
    page.locator("#load-1 summary").first.click()
    page.context.set_offline(True)
    power = page.locator("#load-1-power")
    power.fill("11 W")
    power.press("Enter")
    page.locator("#verdict .said", has_text="does not answer").wait_for()
    assert page.url == address
    assert power.input_value() == "11 W"
    page.context.set_offline(False)
    power.press("Enter")
    expect(page.locator("#bar input[name=base]").first).to_have_value("2")
    page.wait_for_selector(READY)
    assert page.locator("#load-1-power").input_value() == "11 W"
    assert page.locator("#verdict .said").count() == 0


def test_the_verdict_is_of_what_is_typed_after_something_else_was_saved(
    open_page: Open, new_design: Callable[..., str]
) -> None:
    """A page made anew tells the saved design; what is typed beside it is asked for again."""
    page = open_page(f"/designs/{new_design()}")
    page.wait_for_selector(READY)
    before = page.locator("#verdict-now").inner_text()
    page.locator("#load-1 summary").first.click()
    page.locator("#load-1-power").fill("200 W")
    expect(page.locator("#verdict-now")).not_to_have_text(before)
    # something else is saved meanwhile, without leaving the field
    form = page.locator("#load-2 form[data-glance]").first.element_handle()
    page.evaluate(
        """form => {
          const field = form.querySelector('[name=power]');
          field.value = '6 W';
          form.requestSubmit();
        }""",
        form,
    )
    expect(page.locator("#bar input[name=base]").first).to_have_value("2")
    page.wait_for_selector(READY)
    assert page.locator("#load-1-power").input_value() == "200 W"
    expect(page.locator("#verdict-now")).not_to_have_text(before)


def test_the_next_thing_may_be_typed_while_the_last_is_being_added(
    open_page: Open, new_design: Callable[..., str]
) -> None:
    """Only the name that was added leaves the field, not what was typed since."""
    page = open_page(f"/designs/{new_design()}")
    page.wait_for_selector(READY)
    page.locator("#add-name").fill("radio")
    page.evaluate(
        """() => {
          document.querySelector('#add-load button.main').click();
          document.getElementById('add-name').value = 'laptop';
        }"""
    )
    expect(page.locator("#bar input[name=base]").first).to_have_value("2")
    assert page.locator("#add-name").input_value() == "laptop"
    page.wait_for_selector(READY)
    page.locator("#add-name").fill("phone")
    page.locator("#add-load button.main").click()
    expect(page.locator("#bar input[name=base]").first).to_have_value("3")
    assert page.locator("#add-name").input_value() == ""


def test_the_focus_stays_where_it_is_when_the_page_is_made_anew(
    open_page: Open, new_design: Callable[..., str]
) -> None:
    """Also on what has neither a name nor words, such as a drawing that moves sideways."""
    page = open_page(f"/designs/{new_design()}")
    page.wait_for_selector(READY)
    page.locator("figure.diagram .scroll").focus()
    page.evaluate(
        """() => {
          const field = document.querySelector('#load-1 [name=power]');
          field.value = '9 W';
          field.form.requestSubmit();
        }"""
    )
    expect(page.locator("#bar input[name=base]").first).to_have_value("2")
    page.wait_for_selector(READY)
    kind = "document.activeElement.matches('figure.diagram .scroll')"
    assert page.evaluate(kind)

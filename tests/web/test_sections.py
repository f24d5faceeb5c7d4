"""Numbers in sentences lead to their workings, and every working has its place on one page."""

from __future__ import annotations

import html
import re
from collections.abc import Callable

import httpx
import pytest

from sunpantry.examples import example
from sunpantry.figures import Figure, Given
from sunpantry.language import speaking
from sunpantry.phrases import phrase, phrases
from sunpantry.report.numbers import NO_BREAK, Numbers
from sunpantry.web.sections import Section, said

pytestmark = pytest.mark.regression

FIGURE = Figure(
    "current",
    10.8125,
    "A",
    "1.25 × short-circuit current",
    (Given("of one panel", 8.65, "A"),),
    "x",
)
LIMIT = {"name": "highest current", "value": 13.0, "unit": "A"}
FINDING = Section("fit-1", "", (FIGURE,), LIMIT, "the label", whole=True)
PLAIN = Section("verdict", "", (FIGURE,))


def tell(text: str, key: str, *sections: Section, locale: str = "en_IE") -> str:
    """Say a sentence with links."""
    known = {one.key: one for one in sections}
    return str(said(text, key, sections=known, numbers=Numbers(locale), address="/w"))


def test_a_number_leads_to_the_working_that_has_it() -> None:
    """Its own value first, then what went into one, then the limit; all with their unit."""
    text = phrase("{a:.1f} A of {b:.2f} A, at most {c:g} A.", a=10.8125, b=8.65, c=13.0)
    assert tell(text, "fit-1", FINDING) == (
        '<a class="num" href="/w#fit-1-1">10.8 A</a> of '
        '<a class="num" href="/w#fit-1-1">8.65 A</a>, at most '
        '<a class="num" href="/w#fit-1">13 A</a>.'
    )


def test_a_number_that_has_no_working_stays_plain() -> None:
    """Outside a finding nothing is claimed; in one, all that it rests on answers."""
    text = phrase("Wait {days:g} days.", days=4)
    assert tell(text, "verdict", PLAIN) == "Wait 4 days."
    assert 'href="/w#fit-1"' in tell(text, "fit-1", FINDING)
    assert tell(text, "", PLAIN) == "Wait 4 days."
    assert tell(phrase("Nothing to tell."), "fit-1", FINDING) == "Nothing to tell."


def test_the_very_value_is_found_anywhere_but_a_whole_number_is_not() -> None:
    """10.8125 is told apart from everything else; 11 could be anything."""
    assert 'href="/w#verdict-1"' in tell(phrase("{a:.0f} A", a=10.8125), "", PLAIN)
    assert "href" not in tell(phrase("{a:g} A", a=11), "", PLAIN)


def test_shares_and_rounded_counts_are_known_again() -> None:
    """A share told in percent, and hours told as a whole number of them."""
    figures = (
        Figure("share", 26.73, "%", "", (), ""),
        Figure("hours", 8.31, "h", "", (), ""),
    )
    section = Section("x", "", figures)
    assert 'href="/w#x-1">27%' in tell(phrase("{share:.0%} of it", share=0.2673), "x", section)
    nested = phrase("for {hours} a year", hours=phrases("{count} hour", "{count} hours", count=8))
    assert '<a class="num" href="/w#x-2">8</a> hours' in tell(nested, "x", section)


def test_names_stay_harmless_and_numbers_stay_in_any_language() -> None:
    """A name that looks like markup is escaped; German writes the number its own way."""
    text = phrase("{load} draws {power_w:.1f} W.", load="<b>&", power_w=10.8125)
    with speaking("de"):
        told = tell(text, "verdict", PLAIN, locale="de_DE")
    assert "&lt;b&gt;&amp;" in told
    assert 'href="/w#verdict-1">10,8 W</a>' in told.replace(NO_BREAK, " ")


@pytest.mark.parametrize("name", ["hut", "whole-house", "water-by-battery"])
def test_every_link_of_a_number_has_its_working(
    client: httpx.Client,
    new_design: Callable[..., str],
    answered: Callable[[str], str],
    name: str,
) -> None:
    """On the workings' page, each anchor once; and no number of the verdict or of a finding
    that a rule put into its sentence is without one."""
    text = None
    if name != "hut":
        text = example(name).text.replace("schema = 1", "schema = 1\nwinters = 2", 1)
        text = re.sub(r"\nwinters = (?!2\n)\d+", "", text)
    design = new_design(text) if text else new_design()
    page = answered(design)
    workings = client.get(f"/designs/{design}/workings").text
    ids = re.findall(r' id="([^"]+)"', workings)
    assert len(ids) == len(set(ids))
    wanted = {html.unescape(one) for one in re.findall(r'class="num" href="[^"#]*#([^"]+)"', page)}
    assert len(wanted) > 60
    assert wanted <= set(ids), wanted - set(ids)
    for sentence in re.findall(r'<li class="finding[^>]*>\s*<p>.*?</p>', page, re.S):
        words = re.sub(r"<a .*?</a>", "", sentence.split("</strong>", 1)[1])
        assert sentence.count('class="num"') or not re.search(r"\d", words), words
    verdict = page.split('class="verdict-words', 1)[1].split("</p>", 1)[0]
    assert not re.search(r"\d", re.sub(r"<svg.*?</svg>|<a .*?</a>", "", verdict, flags=re.S))


def test_a_reader_with_a_link_keeps_it(
    client: httpx.Client, new_design: Callable[..., str], answered: Callable[[str], str]
) -> None:
    """Numbers of a page that is shared lead to its workings through the same link."""
    design = new_design()
    answered(design)
    made = client.post(f"/designs/{design}/share", data={"base": "1"}).text
    link = re.search(r"/shared/([\w-]+)", made)
    assert link is not None
    shared = client.get(link[0]).text
    address = re.search(r'class="num" href="([^"#]*)#', shared)
    assert address is not None
    assert html.unescape(address[1]).endswith(f"/workings?link={link[1]}")
    assert client.get(html.unescape(address[1])).status_code == 200

"""The sheet of every shipped design, read back from its PDF: whole, legible, and the same numbers.

Read with an independent PDF library. Sources: ISO 14289-1 (PDF/UA-1) for tags, title and
language; CLDR for the signs of numbers.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache

import pytest
from tests.report.reading import (
    SECTIONS,
    Read,
    check_pages,
    emptiest_pages,
    lonely_headings,
    overlapping_words,
    plain,
)
from tests.situations import pseudo
from tests.situations.plans import PlanOf, shipped_plan

from sunpantry import language
from sunpantry.examples import examples
from sunpantry.explain.live import live_words
from sunpantry.explain.topics import ORDER
from sunpantry.plan import Plan
from sunpantry.report.numbers import Numbers, numbers_of
from sunpantry.report.place_text import place_text
from sunpantry.report.plan_json import plan_json
from sunpantry.report.plan_text import plan_text
from sunpantry.report.sheet import desk, sheet_data, sheet_pdf
from sunpantry.report.wiring_text import wiring_text
from sunpantry.report.written import column, said
from sunpantry.sky.view import place_view

NAMES = [one.name for one in examples()]
# As many as a person will carry to the shed.
FEWEST_PAGES, MOST_PAGES = 6, 24
# A point where German has a comma; in German a point before three digits sets thousands apart.
# Words that hold English sentences together, and none of which is German.
ENGLISH = re.compile(
    r"\b(?:the|and|of|is|are|be|it|its|with|without|from|by|when|which|that|no|not|none|than|at|on"
    r"|before|after|every|each|all|your|you)\b",
    re.I,
)
POINTED = re.compile(r"(?<![\w.§])\d+\.(?!\d{3}(?!\d))\d+(?!\.?\d|[^\W\d_])")


@cache
def sheet_of(name: str) -> Read:
    """The sheet of a shipped design, read once for all tests."""
    return Read(sheet_pdf(shipped_plan(name)))


def numbers_for(plan: Plan) -> Numbers:
    """How numbers are written at its site."""
    return numbers_of(timezone=plan.sky.place.timezone, currency=plan.design.money.currency)


@pytest.mark.regression
@pytest.mark.parametrize("name", NAMES)
def test_pages_are_whole_and_legible(name: str) -> None:
    """Nothing cut, nothing over another thing, no heading alone, no page all but empty."""
    sheet = sheet_of(name)
    check_pages(sheet)
    assert not list(lonely_headings(sheet))
    assert not list(overlapping_words(sheet))
    assert FEWEST_PAGES <= sheet.file.page_count <= MOST_PAGES
    assert min(emptiest_pages(sheet)) > 0.08


@pytest.mark.regression
@pytest.mark.parametrize("name", ["apiary-hut", "phone-by-day", "whole-house"])
def test_pages_in_us_letter(name: str) -> None:
    """The same on the other paper."""
    sheet = Read(sheet_pdf(shipped_plan(name), paper="letter"))
    check_pages(sheet, paper="letter")
    assert not list(lonely_headings(sheet))
    assert not list(overlapping_words(sheet))


@pytest.mark.published
@pytest.mark.parametrize("name", NAMES)
def test_title_bookmarks_tags_and_links(name: str, shipped: PlanOf) -> None:
    """ISO 14289-1; every section is a bookmark, every mention of one leads to a page."""
    plan, sheet = shipped(name), sheet_of(name)
    assert sheet.file.metadata["title"] == f"{plan.design.name}: build sheet"
    catalog = sheet.file.xref_object(sheet.file.pdf_catalog())
    for entry in ("/StructTreeRoot", "/Marked true", "/Lang (en-", "/DisplayDocTitle true"):
        assert entry in catalog
    assert "pdfuaid" in sheet.file.get_xml_metadata()
    wanted = [f"{number} {title}" for number, title in enumerate(SECTIONS, start=1)]
    assert [plain(one[1]) for one in sheet.file.get_toc() if one[0] == 1] == wanted
    links = [link for page in sheet.file for link in page.get_links()]
    assert links
    assert all(0 <= link["page"] < sheet.file.page_count for link in links)


@pytest.mark.independent
@pytest.mark.parametrize("name", NAMES)
def test_every_row_of_the_wiring_is_there(name: str, shipped: PlanOf) -> None:
    """Every cable, fuse, set point, label, step and line to buy, as in the JSON."""
    plan, sheet = shipped(name), sheet_of(name)
    assert plan.wiring is not None
    numbers, rows = numbers_for(plan), plan.wiring.to_json()

    def told(words: str) -> str:
        return plain(said(words, numbers))

    schedule = sheet.section("Cable and fuse schedule")
    for run in rows["runs"]:
        wanted = [run["id"], told(run["name"]), told(run["size"])]
        wanted.append(plain(numbers.number(run["length_m"], "m")))
        if run["design_a"] is not None:
            wanted.append(plain(numbers.fixed(run["design_a"], "A", places=1)))
            wanted.append(f"{numbers.fixed(run['drop_pct'], places=1)}%")
        for one in wanted:
            assert one in schedule, run["id"]
    for device in rows["protections"]:
        for key in ("id", "name", "rating", "place"):
            assert told(device[key]) in schedule, device["id"]
    shopping = sheet.section("Shopping list")
    for line in rows["materials"]:
        assert told(line["item"]) in shopping
    for one in rows["settings"]:
        assert told(one["name"]) in sheet.section("Settings")
    work = sheet.section("Order of work")
    notices = [one["text"] for one in rows["notices"]]
    # What is only plugged together has nothing to earth and no ends to crimp.
    for words in [*rows["steps"], *(notices if rows["protections"] else ())]:
        assert told(words) in work, words


@pytest.mark.independent
@pytest.mark.parametrize("name", NAMES)
def test_numbers_are_those_of_the_json(name: str, shipped: PlanOf) -> None:
    """Promise, months, parts, money and workings, printed from the values of the JSON."""
    plan, sheet = shipped(name), sheet_of(name)
    numbers, made = numbers_for(plan), plan_json(plan)
    promise, shopping = sheet.section("The promise"), sheet.section("Shopping list")
    proof = made["proof"]
    assert plain(said(made["verdict"], numbers)) in promise
    assert f"{proof['winters_without_shortfall']} of {proof['winters']}" in promise
    assert plain(numbers.money(made["cost"]["total"])) in promise
    assert plain(numbers.money(made["cost"]["purchase"], exact=True)) in shopping
    for key in ("offered_wh", "gathered_wh", "served_wh"):
        for cell in column([month[key] for month in proof["months"]], numbers):
            assert plain(cell) in promise
    for load in proof["loads"]:
        mean = load["energy_wh_per_year"] / 365.0
        assert plain(numbers.number(mean, "Wh")) in promise, load["name"]
    for part in made["parts"]:
        if part["role"] != part["name"]:
            assert plain(said(part["name"], numbers)) in shopping
    workings = sheet.section("Workings")
    for figure in made["workings"]:
        assert plain(said(figure["name"], numbers)) in workings
        if abs(figure["value"]) >= 1e-4:
            assert plain(numbers.number(figure["value"], figure["unit"])) in workings


def before_the_document(sheet: Read) -> str:
    """Words of all pages before that of the design document, which stays as it is typed."""
    start = [one[2] for one in sheet.file.get_toc() if one[0] == 1][-1]
    return " ".join(plain(sheet.file[page].get_text()) for page in range(start - 1))


def names_in(plan: Plan) -> list[str]:
    """What a person or the parts list named."""
    loads, parts = plan.proof.loads, plan.parts
    return [plan.design.name, *(load.name for load in loads), *(part.name for part in parts)]


@pytest.mark.published
@pytest.mark.parametrize(
    ("name", "spoken"),
    [("apiary-hut", "de"), ("fence", "en"), ("water-by-battery", "en"), ("whole-house", "de")],
)
def test_no_english_decimals_in_german(name: str, spoken: str, shipped: PlanOf) -> None:
    """CLDR, de_DE: a comma before decimals, all through, whatever the language.

    In German the pages are whole, and no sentence is left in English.
    """
    plan = shipped(name)
    with language.speaking(spoken):
        sheet = Read(sheet_pdf(plan, locale="de_DE"))
    words = before_the_document(sheet).replace(f"Sunpantry {plan.version}", "")
    assert re.search(r"\d,\d", words)
    if spoken == "de":
        check_pages(sheet)
        assert not list(lonely_headings(sheet))
        assert not list(overlapping_words(sheet))
        named = {word.casefold() for word in re.findall(r"\w+", " ".join(names_in(plan)))}
        assert not [one for one in ENGLISH.findall(words) if one.casefold() not in named]
        assert len(ENGLISH.findall(before_the_document(sheet_of(name)))) > 1000
    left = [words[max(0, one.start() - 30) : one.end() + 10] for one in POINTED.finditer(words)]
    assert not left
    money = plain(Numbers("de_DE", plan.design.money.currency).money(plan.cost.total))
    assert money.endswith("€")
    assert money in words


@pytest.mark.regression
@pytest.mark.parametrize(
    "name", ["apiary-hut", "phone-by-night", "water-from-the-sun", "whole-house"]
)
def test_sheet_can_be_said_in_any_language(
    name: str, shipped: PlanOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every text of the sheet is made of messages, names and numbers; the catalogue holds each."""
    plan = shipped(name)
    spoken = pseudo.spoken(monkeypatch)
    # Charts have a test of their own.
    monkeypatch.setattr(desk, "draw", lambda *_, **__: b'<svg viewBox="0 0 2 1"/>')
    with language.speaking("de"):
        data = sheet_data(plan)
    names = pseudo.names_of(plan)
    texts = list(pseudo.texts_of_sheet(data))
    assert len(texts) > 300
    assert [text for text in texts if not pseudo.is_said(text, names)] == []
    assert list(pseudo.unknown(spoken, names)) == []


@pytest.mark.regression
@pytest.mark.parametrize(
    "name", ["apiary-hut", "phone-by-night", "water-from-the-sun", "whole-house"]
)
def test_texts_can_be_said_in_any_language(
    name: str, shipped: PlanOf, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Plan, wiring, place and the figures of the explanations, as a terminal prints them."""
    plan = shipped(name)
    spoken = pseudo.spoken(monkeypatch)
    with language.speaking("de"):
        texts = [*texts_of(plan)]
        texts += [Numbers("de_DE").told(live_words(one, plan)) for one in ORDER]
    names = pseudo.names_of(plan)
    assert [text for text in texts if not pseudo.is_said(" ".join(text.split()), names)] == []
    assert list(pseudo.unknown(spoken, names)) == []


def texts_of(plan: Plan) -> Iterator[str]:
    """What the commands print of a plan, its wiring and its place."""
    yield plan_text(plan)
    yield wiring_text(plan)
    sky = plan.sky
    yield place_text(
        place_view(sky.place, climate=sky.climate, weather=sky.weather, horizon=sky.horizon)
    )


@pytest.mark.published
def test_plan_text_in_german(shipped: PlanOf) -> None:
    """CLDR, de_DE, for numbers; no sentence is left in English, whose digits stay plain."""
    plan = shipped("apiary-hut")
    english = " ".join(texts_of(plan))
    with language.speaking("de"):
        german = " ".join(texts_of(plan))
    assert "Jetzt zu kaufen: " in german
    # What is typed again keeps its points.
    place = plan.sky.place
    typed = f"{' '.join(names_in(plan))} {place.latitude:.2f} {place.longitude:.2f}"
    assert set(POINTED.findall(german)) <= set(POINTED.findall(typed))
    named = {word.casefold() for word in re.findall(r"\w+", " ".join(names_in(plan)))}
    assert not [one for one in ENGLISH.findall(german) if one.casefold() not in named]
    assert len(ENGLISH.findall(english)) > 200
    assert "\N{NO-BREAK SPACE}" not in english


@pytest.mark.published
def test_american_numbers(shipped: PlanOf) -> None:
    """CLDR, en_US: a point before decimals, a comma between thousands, the sign in front."""
    plan = shipped("whole-house")
    words = Read(sheet_pdf(plan, locale="en_US")).text
    assert Numbers("en_US", "EUR").money(4590.0) == "€4,590"
    assert plain(Numbers("en_US", "EUR").money(plan.cost.purchase, exact=True)) in words
    assert not re.search(r"\d,\d(?!\d\d)", words)

"""The build sheet, read back from the PDF: nothing cut, nothing missing, the same numbers.

Read with an independent PDF library. Sources: ISO 216 and ANSI/ASME Y14.1 for the size of
paper; ISO 14289-1 (PDF/UA-1) for tags, title and language.
"""

from __future__ import annotations

import math
from datetime import date
from pathlib import Path

import pytest
from tests.report.reading import (
    SECTIONS,
    Read,
    check_pages,
    lonely_headings,
    overlapping_words,
    plain,
)

from sunpantry.errors import InputError
from sunpantry.explain.readings import rest_voltages
from sunpantry.explain.shadow import shadow_noons
from sunpantry.language import gettext, speaking
from sunpantry.plan.types import Plan
from sunpantry.report.numbers import Numbers
from sunpantry.report.sheet import sheet_data, sheet_pdf, write_sheet
from sunpantry.report.written import column, said

NUMBERS = Numbers("en_IE", "EUR")


def told(words: str) -> str:
    """A sentence of the plan as the sheet prints it."""
    return plain(said(words, NUMBERS))


@pytest.fixture(scope="session")
def read(hut: Plan) -> Read:
    """The sheet of the hut."""
    return Read(sheet_pdf(hut))


@pytest.mark.regression
def test_the_sections_in_order(read: Read) -> None:
    """Eleven, numbered, as bookmarks."""
    found = [plain(entry[1]) for entry in read.file.get_toc() if entry[0] == 1]
    assert found == [f"{number} {title}" for number, title in enumerate(SECTIONS, start=1)]
    assert 12 <= read.file.page_count <= 20


@pytest.mark.published
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_nothing_is_cut(hut: Plan, paper: str) -> None:
    """Pages of the right size; every piece of text inside the margins; every letter has a shape."""
    sheet = Read(sheet_pdf(hut, paper=paper))
    check_pages(sheet, paper=paper)
    assert not list(overlapping_words(sheet))


@pytest.mark.regression
def test_only_the_shipped_typefaces(read: Read) -> None:
    """No typeface of the machine gets in, so that the sheet looks alike everywhere."""
    names = {font[3].split("+")[-1] for page in read.file for font in page.get_fonts()}
    assert names
    assert all(name.startswith(("SourceSansPro", "DejaVuSansMono")) for name in names), names


@pytest.mark.regression
def test_no_heading_stands_alone(read: Read) -> None:
    """Below every heading on a page there is something else."""
    assert not list(lonely_headings(read))


@pytest.mark.published
def test_title_tags_and_language(read: Read, hut: Plan) -> None:
    """ISO 14289-1: tagged, with a title that viewers show, a language, and the mark of it."""
    assert read.file.metadata["title"] == f"{hut.design.name}: build sheet"
    catalog = read.file.xref_object(read.file.pdf_catalog())
    assert "/StructTreeRoot" in catalog
    assert "/Marked true" in catalog
    assert "/Lang (en-IE)" in catalog
    assert "/DisplayDocTitle true" in catalog
    assert "pdfuaid" in read.file.get_xml_metadata()


@pytest.mark.regression
def test_sections_are_linked(read: Read) -> None:
    """A mention of another section leads to it."""
    links = [link for page in read.file for link in page.get_links()]
    assert len(links) >= 5
    assert all("uri" not in link for link in links)


@pytest.mark.independent
def test_every_row_of_the_schedule_is_there(read: Read, hut: Plan) -> None:
    """Each cable with length, size and amps, each fuse with rating and place, as in the JSON."""
    assert hut.wiring is not None
    rows = hut.wiring.to_json()
    words = read.section("Cable and fuse schedule")
    for run in rows["runs"]:
        wanted = [run["id"], run["name"], NUMBERS.number(run["length_m"], "m"), run["size"]]
        if run["design_a"] is not None:
            wanted += [
                NUMBERS.fixed(run["design_a"], "A", places=1),
                NUMBERS.fixed(run["capacity_a"], "A", places=0),
                f"{NUMBERS.fixed(run['drop_pct'], places=1)}%",
            ]
        for one in wanted:
            assert told(one) in words, run["id"]
    for device in hut.wiring.protections:
        # a rating is never told below what the device has to bear, and as its label tells it
        assert plain(f"{math.ceil(device.voltage_v)} V") in words, device.device.id
    for device in rows["protections"]:
        for one in (device["id"], device["name"], device["rating"], device["place"]):
            assert told(one) in words, device["id"]
    shopping = read.section("Shopping list")
    for line in rows["materials"]:
        assert told(line["item"]) in shopping
        assert plain(NUMBERS.money(line["price"], exact=True)) in shopping
    settings = read.section("Settings")
    for one in rows["settings"]:
        assert told(one["name"]) in settings
        if not isinstance(one["value"], str):
            assert plain(NUMBERS.number(one["value"], one["unit"])) in settings
    work = read.section("Order of work")
    for notice in rows["notices"]:
        assert told(notice["text"]) in work, notice
    for step in rows["steps"]:
        assert told(step) in work


@pytest.mark.independent
def test_numbers_are_those_of_the_json(read: Read, hut: Plan) -> None:
    """Costs, the promise, the months: printed from the same values that the JSON holds."""
    from sunpantry.report.plan_json import plan_json

    made = plan_json(hut)
    promise, shopping = read.section("The promise"), read.section("Shopping list")
    proof = made["proof"]
    assert f"{proof['winters_without_shortfall']} of {proof['winters']}" in promise
    assert plain(NUMBERS.money(made["cost"]["total"])) in promise
    assert plain(NUMBERS.money(made["cost"]["purchase"], exact=True)) in shopping
    for part in made["parts"]:
        assert told(part["name"]) in shopping
        assert plain(NUMBERS.money(part["unit_price"], exact=True)) in shopping
    for load in proof["loads"]:
        assert plain(NUMBERS.number(load["energy_wh_per_year"] / 365.0, "Wh")) in promise
    for key in ("offered_wh", "gathered_wh", "served_wh"):
        for cell in column([month[key] for month in proof["months"]], NUMBERS):
            assert plain(cell) in promise
    workings = read.section("Workings")
    for figure in made["workings"]:
        assert told(figure["name"]) in workings
        assert plain(NUMBERS.number(figure["value"], figure["unit"])) in workings
        for given in figure["inputs"]:
            assert told(given["name"]) in workings
    assert told(made["verdict"]) in promise


@pytest.mark.independent
def test_tables_that_are_worked_out_for_the_sheet(read: Read, hut: Plan) -> None:
    """Clock times of the shadow and rest voltages, all of them."""
    mounting, after = read.section("Mounting"), read.section("Looking after it")
    for noon in shadow_noons(hut.sky.place):
        assert NUMBERS.clock(noon.clock_h) in mounting
    assert hut.system.bank is not None
    for one in rest_voltages(hut.system.bank):
        assert plain(NUMBERS.fixed(one.volts, "V", places=2)) in after
    readings = read.section("First readings")
    for load in hut.demand.loads:
        assert f"Lead of {load.name}" in readings
    for month in ("December", "March", "June", "September"):
        assert month in readings


@pytest.mark.regression
def test_the_document_can_be_typed_in_again(read: Read, hut: Plan) -> None:
    """What is printed reads back to an equal design."""
    from sunpantry.design.document import parse_design, write_design

    lines = [line for line in write_design(hut.design).splitlines() if line]
    printed = read.section("The design document")
    for line in lines:
        assert plain(line) in printed
    assert parse_design(write_design(hut.design)) == hut.design


@pytest.mark.regression
def test_a_date_is_printed_only_when_given(hut: Plan, read: Read) -> None:
    """Without one the bytes are the same whenever it is made; with one, on every page."""
    assert sheet_pdf(hut) == read.content
    dated = Read(sheet_pdf(hut, date=date(2026, 3, 21)))
    for page in dated.file:
        assert "21 March 2026" in plain(page.get_text())
    readings = dated.section("First readings")
    assert "March" in readings
    assert "December" not in readings
    assert "2026" not in read.text


@pytest.mark.published
def test_another_locale(hut: Plan) -> None:
    """CLDR: a comma before decimals in German."""
    read = Read(sheet_pdf(hut, locale="de_DE"))
    money = plain(Numbers("de_DE", "EUR").money(hut.cost.purchase, exact=True))
    assert money in read.section("Shopping list")
    schedule = read.section("Cable and fuse schedule")
    assert "1,5 m" in schedule
    assert "1.5 m " not in schedule


@pytest.fixture(scope="session")
def german(hut: Plan) -> Read:
    """The sheet of the hut in German."""
    with speaking("de"):
        return Read(sheet_pdf(hut))


@pytest.mark.published
def test_in_german(german: Read, hut: Plan) -> None:
    """ISO 14289-1 and BCP 47: its language is told; title, bookmarks, pages and links follow."""
    catalog = german.file.xref_object(german.file.pdf_catalog())
    assert "/Lang (de-DE)" in catalog
    assert german.file.metadata["title"] == f"{hut.design.name}: Bauplan"
    with speaking("de"):
        wanted = [f"{number} {gettext(title)}" for number, title in enumerate(SECTIONS, start=1)]
    assert wanted[:2] == ["1 Das Versprechen", "2 Einkaufsliste"]
    assert [plain(one[1]) for one in german.file.get_toc() if one[0] == 1] == wanted
    pages = german.file.page_count
    for number, page in enumerate(german.file, start=1):
        assert f"Seite {number} von {pages}" in plain(page.get_text())
    links = [link for page in german.file for link in page.get_links()]
    assert len(links) >= 5
    assert all(0 <= link["page"] < pages for link in links)
    check_pages(german)
    assert not list(overlapping_words(german))
    assert not list(lonely_headings(german))


@pytest.mark.published
def test_german_numbers_and_dates(hut: Plan, german: Read) -> None:
    """CLDR, de_DE; a reader of German elsewhere may choose another locale."""
    money = plain(Numbers("de_DE", "EUR").money(hut.cost.purchase, exact=True))
    assert money.endswith(",00 €")
    assert money in german.section("Einkaufsliste")
    assert "Dezember" in german.section("Erste Messungen")
    with speaking("de"):
        data = sheet_data(hut, locale="de_CH", date=date(2026, 3, 21))
    assert data["footer"].endswith("Startzahl 1, 21. März 2026")
    assert (data["language"], data["region"]) == ("de", "CH")


@pytest.mark.regression
def test_without_a_battery(fan: Plan) -> None:
    """The sheet of a fan on a panel has all its sections too, and nothing about batteries."""
    words = Read(sheet_pdf(fan)).text
    assert "it runs straight from the sun" in words
    assert "How full is it" not in words


@pytest.mark.regression
def test_without_wiring(hut: Plan) -> None:
    """Sections that need the wiring are left out, the others keep their numbers."""
    from dataclasses import replace

    data = sheet_data(replace(hut, wiring=None))
    assert [one["number"] for one in data["sections"]] == [1, 2, 5, 6, 8, 9, 10, 11]
    Read(sheet_pdf(replace(hut, wiring=None)))


@pytest.mark.regression
def test_names_that_look_like_markup(hut: Plan) -> None:
    """What a person types is printed, not obeyed."""
    from dataclasses import replace

    name = 'The #let $x$ "hut" *at* _Carrowmoor_ <b> \\ `end`'
    design = hut.design.model_copy(update={"name": name})
    assert name in Read(sheet_pdf(replace(hut, design=design))).text


@pytest.mark.regression
@pytest.mark.parametrize("name", ["Łąka i źródło", "Бджоли", "小屋", "the \N{HONEYBEE} hut"])
def test_names_in_any_letters(hut: Plan, name: str) -> None:
    """A sheet is made whatever letters a name is in, shown as far as the machine can."""
    from dataclasses import replace

    design = hut.design.model_copy(update={"name": name})
    sheet = Read(sheet_pdf(replace(hut, design=design)))
    assert sheet.file.metadata["title"] == f"{name}: build sheet"


@pytest.mark.regression
def test_what_does_not_exist_is_told(hut: Plan, tmp_path: Path) -> None:
    """Paper, locale, place of the file."""
    with pytest.raises(InputError, match="paper = a5: 'a4' or 'letter'"):
        sheet_pdf(hut, paper="a5")
    with pytest.raises(InputError, match="locale = xx"):
        sheet_pdf(hut, locale="xx")
    with pytest.raises(InputError, match="a file that can be written"):
        write_sheet(hut, tmp_path / "none" / "sheet.pdf")
    assert write_sheet(hut, tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.regression
@pytest.mark.parametrize(("months", "before"), [(2, "Before winter"), (12, "How full is it")])
def test_water_of_a_flooded_battery(hut: Plan, months: int, before: str) -> None:
    """How much and how often, among what comes round as often."""
    from dataclasses import replace

    from sunpantry.parts.catalogue import shipped_catalogue
    from sunpantry.parts.system import Bank
    from sunpantry.simulate.life import ToppingUp

    flooded = next(one for one in shipped_catalogue().batteries if one.chemistry == "flooded")
    water = ToppingUp(water_l_per_year=0.7, ml_per_cell_year=117.0, every_months=months)
    plan = replace(
        hut,
        system=replace(hut.system, bank=Bank(flooded, round(12.0 / flooded.nominal_v), 1)),
        proof_new=replace(hut.proof_new, topping_up=water),
    )
    care = Read(sheet_pdf(plan)).section("Looking after it")
    words = f"look at the level every {months} months and top up; about 0.7 L of distilled water"
    assert words in care
    assert care.index(words) < care.index(before)
    assert "distilled water only" in care
    assert "Lead batteries are taken back" in care


@pytest.mark.regression
def test_the_system_at_one_glance(hut: Plan, fan: Plan) -> None:
    """Sources, what keeps the power, uses; without a battery nothing stands between."""
    kinds = [
        block for block in sheet_data(hut)["sections"][0]["blocks"] if block["kind"] == "chain"
    ]
    titles = [[card["title"] for card in column] for column in kinds[0]["columns"]]
    assert titles[0] == ["Panels"]
    assert titles[1] == ["Charge controller", "Battery"]
    assert titles[2][0] == "12 V"
    assert "through" in titles[2][1]
    bare = [block for block in sheet_data(fan)["sections"][0]["blocks"] if block["kind"] == "chain"]
    assert len(bare[0]["columns"]) == 2

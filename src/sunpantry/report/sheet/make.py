"""The build sheet as PDF."""

from __future__ import annotations

import json
import tempfile
from functools import cache
from importlib.resources import files
from pathlib import Path
from shutil import copyfile
from typing import TYPE_CHECKING, Any, Literal

from sunpantry.errors import InputError
from sunpantry.language import language
from sunpantry.phrases import Phrase, phrase
from sunpantry.report.charts import charts_of
from sunpantry.report.drawing import font_directory
from sunpantry.report.numbers import Numbers, numbers_of
from sunpantry.report.sheet.appendix import document, workings
from sunpantry.report.sheet.care import looking_after
from sunpantry.report.sheet.circuit import drawings, schedule, settings
from sunpantry.report.sheet.desk import Desk
from sunpantry.report.sheet.first_readings import readings
from sunpantry.report.sheet.mounting import mounting
from sunpantry.report.sheet.promise import promise
from sunpantry.report.sheet.room import room_for
from sunpantry.report.sheet.shopping import shopping
from sunpantry.report.sheet.work import order_of_work

if TYPE_CHECKING:
    from datetime import date

    from sunpantry.plan.types import Plan

# Languages whose long words are broken at the end of a line in narrow columns.
_BROKEN = frozenset({"de"})
# As the typesetter calls them.
PAPERS = {"a4": "a4", "letter": "us-letter"}
_FACES = ("Regular", "Semibold", "Bold", "It", "SemiboldIt")


def write_sheet(
    plan: Plan,
    path: str | Path,
    *,
    paper: str = "a4",
    locale: str | None = None,
    date: date | None = None,
) -> Path:
    """Write the build sheet of a plan, in the language spoken.

    Parameters
    ----------
    plan : Plan
        The plan.
    path : str or Path
        The PDF.
    paper : str
        'a4' or 'letter'.
    locale : str, optional
        How numbers are written; as in the language spoken or at the site by default.
    date : date, optional
        Printed on every page when given, and the first readings are then those of its
        month; without it the sheet is the same whenever it is made.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    InputError
        When paper or locale do not exist, or the file cannot be written.
    """
    content = sheet_pdf(plan, paper=paper, locale=locale, date=date)
    target = Path(path)
    try:
        target.write_bytes(content)
    except OSError as error:
        raise InputError.one(
            "sheet",
            str(target),
            phrase("a file that can be written"),
            error.strerror or str(error),
        ) from error
    return target


def sheet_pdf(
    plan: Plan, *, paper: str = "a4", locale: str | None = None, date: date | None = None
) -> bytes:
    """Set the build sheet of a plan; see :func:`write_sheet`.

    Parameters
    ----------
    plan, paper, locale, date
        As for :func:`write_sheet`.

    Returns
    -------
    bytes
        A tagged PDF (PDF/UA-1) with title and bookmarks.
    """
    if paper not in PAPERS:
        raise InputError.one(
            "paper", paper, phrase("'a4' or 'letter'"), phrase("choose one of these")
        )
    return _set(sheet_data(plan, paper=paper, locale=locale, date=date))


def _set(data: dict[str, Any]) -> bytes:
    """Set the data; names in letters that the typeface lacks take the machine's typefaces."""
    import typst

    template = (files("sunpantry.report.sheet") / "sheet.typ").read_bytes()
    inputs = {"data": json.dumps(data, ensure_ascii=False)}
    ways: tuple[tuple[bool, list[Literal["ua-1"]]], ...] = (
        (False, ["ua-1"]),
        (True, ["ua-1"]),
        (True, []),
    )
    for machine, standards in ways:
        try:
            return bytes(
                typst.compile(
                    template,
                    font_paths=_fonts(machine=machine),
                    format="pdf",
                    sys_inputs=inputs,
                    pdf_standards=list(standards),
                )
            )
        except typst.TypstError as error:
            if not standards or "could not be displayed" not in str(error):
                raise
    raise AssertionError("the last way either sets the sheet or raises")


def sheet_data(
    plan: Plan, *, paper: str = "a4", locale: str | None = None, date: date | None = None
) -> dict[str, Any]:
    """Everything the sheet says in the language spoken, as plain data for the template.

    Parameters
    ----------
    plan, paper, locale, date
        As for :func:`write_sheet`.

    Returns
    -------
    dict
        Title, footer and the sections with their blocks; all texts plain.
    """
    numbers = numbers_of(
        timezone=plan.sky.place.timezone, currency=plan.design.money.currency, locale=locale
    )
    charts = {one.name: one for one in charts_of(plan, locale=numbers.locale)}
    desk = Desk(plan, numbers, charts, date)
    wiring = plan.wiring
    sections = [promise(desk), shopping(desk)]
    if wiring is not None:
        sections += [*drawings(desk, wiring), schedule(desk, wiring)]
    sections += [mounting(desk), order_of_work(desk)]
    if wiring is not None:
        sections.append(settings(desk, wiring))
    sections += [readings(desk), looking_after(desk), workings(desk), document(desk)]
    said: dict[str, Any] = _said(
        {
            "title": phrase("{name}: build sheet", name=plan.design.name),
            "name": plan.design.name,
            "author": f"Sunpantry {plan.version}",
            "keywords": [phrase("solar"), phrase("build sheet"), plan.design.name],
            "language": language(),
            "region": _region(numbers),
            "hyphens": language() in _BROKEN,
            "paper": PAPERS.get(paper, paper),
            "footer": _footer(plan, numbers, date),
            "words": _WORDS,
            "sections": sections,
        },
        numbers,
    )
    for one in said["sections"]:
        one["room"] = room_for(one)
    return said


# What the template says by itself; it fills in the braces.
_WORDS = {
    "page": phrase("page {page} of {pages}", page="{page}", pages="{pages}"),
    "given": phrase("with {inputs}", inputs="{inputs}"),
    "section": phrase("section"),
}


def _said(value: Any, numbers: Numbers) -> Any:
    """Every phrase in nested data as a plain text."""
    if isinstance(value, Phrase):
        return numbers.told(value)
    if isinstance(value, dict):
        return {key: _said(one, numbers) for key, one in value.items()}
    if isinstance(value, list):
        return [_said(one, numbers) for one in value]
    return value


def _footer(plan: Plan, numbers: Numbers, day: date | None) -> str:
    words = phrase("Sunpantry {version}, seed {seed}", version=plan.version, seed=str(plan.seed))
    return words if day is None else words + f", {numbers.date(day)}"


def _region(numbers: Numbers) -> str:
    tail = numbers.locale.replace("-", "_").split("_")[-1]
    return tail if len(tail) == 2 and tail.isupper() else "IE"


@cache
def _fonts(*, machine: bool) -> Any:
    """The typeface, each face once: the installed package has every face in two formats."""
    import typst

    folder = Path(tempfile.mkdtemp(prefix="sunpantry-type-"))
    for face in _FACES:
        name = f"SourceSansPro-{face}.ttf"
        copyfile(font_directory() / name, folder / name)
    return typst.Fonts(
        include_system_fonts=machine, include_embedded_fonts=True, font_paths=[str(folder)]
    )

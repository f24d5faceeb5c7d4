"""``sunpantry sheet`` and ``sunpantry explain``: what is taken to the shed, and what is told."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Annotated

import typer

from sunpantry.cli.output import DesignFile, Language, progress_bar


def sheet(
    file: DesignFile,
    output: Annotated[
        Path, typer.Option("-o", "--output", metavar="PDF", help="The file to write.")
    ] = Path("sheet.pdf"),
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    locale: Annotated[
        str | None, typer.Option(help="How numbers are written, as en_IE; by default the site's.")
    ] = None,
    date: Annotated[
        datetime | None,
        typer.Option(
            formats=["%Y-%m-%d"],
            help="Date to print; without it the sheet is the same whenever it is made.",
        ),
    ] = None,
    language: Language = "en",
) -> None:
    """Write the build sheet: everything a person needs to build the system, on paper."""
    del language  # spoken already
    from sunpantry.plan import make_plan, read_plan_design
    from sunpantry.report.sheet import write_sheet

    design = read_plan_design(file)
    with progress_bar() as progress:
        plan = make_plan(design, folder=file.parent, progress=progress)
        progress(0.95, "setting the pages")
        day = None if date is None else date.date()
        path = write_sheet(plan, output, paper=paper, locale=locale, date=day)
    typer.echo(f"Wrote {path}.")


def explain(
    topic: Annotated[
        str | None, typer.Argument(metavar="TOPIC", help="One of the topics; none lists them.")
    ] = None,
    design: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Your design, for a figure of your own."),
    ] = None,
    locale: Annotated[
        str | None, typer.Option(help="How numbers are written, as en_IE; by default the site's.")
    ] = None,
    language: Language = "en",
) -> None:
    """Explain how things work, in plain words, with a figure from your own design."""
    del language  # spoken already
    from sunpantry.explain import explain as explained
    from sunpantry.explain import topics

    if topic is None:
        for one in topics():
            typer.echo(f"{one.name}: {one.title}")
        return
    plan = write = None
    if design is not None:
        from sunpantry.plan import make_plan, read_plan_design

        document = read_plan_design(design)
        with progress_bar() as progress:
            plan = make_plan(document, folder=design.parent, progress=progress)
        from sunpantry.report.numbers import numbers_of

        write = numbers_of(
            timezone=plan.sky.place.timezone, currency=document.money.currency, locale=locale
        ).number
    typer.echo(explained(topic, plan, write=write))

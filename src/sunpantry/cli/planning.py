"""``sunpantry plan``: from a document to a proven system."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from sunpantry.cli.fetching import with_fetched_weather
from sunpantry.cli.output import AsJson, DesignFile, FetchYears, Language, progress_bar


def plan(
    file: DesignFile,
    pictures: Annotated[
        Path | None,
        typer.Option(metavar="DIR", help="Also draw every chart there, as SVG and PNG."),
    ] = None,
    winter: Annotated[
        int | None,
        typer.Option(
            metavar="N", help="Draw this winter too in the picture of the charge, 1 for the first."
        ),
    ] = None,
    theme: Annotated[str, typer.Option(help="Pictures on a light or a dark ground.")] = "light",
    locale: Annotated[
        str | None,
        typer.Option(help="How numbers are written in pictures, as en_IE; by default the site's."),
    ] = None,
    fetch: FetchYears = None,
    *,
    language: Language = "en",
    as_json: AsJson = False,
) -> None:
    """Plan a design: choose the parts left open, prove them, say what it costs."""
    del language  # spoken already
    from sunpantry.plan import make_plan, read_plan_design
    from sunpantry.report.plain import as_json as to_json

    if winter is not None and pictures is None:
        raise typer.BadParameter("it belongs to --pictures DIR", param_hint="--winter")
    design = read_plan_design(file)
    design = design.model_copy(update={"site": with_fetched_weather(design.site, fetch)})
    with progress_bar(quiet=as_json) as progress:
        made = make_plan(design, folder=file.parent, progress=progress)
    if pictures is not None:
        from sunpantry.report.charts import theme_of, write_charts

        drawn = write_charts(made, pictures, theme=theme_of(theme), winter=winter, locale=locale)
        typer.echo(f"drew {len(drawn)} pictures in {pictures}", err=True)
    if as_json:
        from sunpantry.report.plan_json import plan_json

        typer.echo(to_json(plan_json(made)), nl=False)
        return
    from sunpantry.report.plan_text import plan_text

    typer.echo(plan_text(made), nl=False)

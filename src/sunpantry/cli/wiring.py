"""``sunpantry wire``: cables, fuses, settings, drawings."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from sunpantry.cli.output import AsJson, DesignFile, Language, progress_bar


def wire(
    file: DesignFile,
    drawings: Annotated[
        Path | None,
        typer.Option(
            metavar="DIR",
            help="Where to write diagram.svg, picture.svg, and picture-narrow.svg for a telephone.",
        ),
    ] = None,
    language: Language = "en",
    as_json: AsJson = False,
) -> None:
    """Wire a planned design: cable and fuse schedule, set points, two drawings."""
    del language  # spoken already
    from sunpantry.plan import make_plan, read_plan_design
    from sunpantry.report.plain import as_json as to_json
    from sunpantry.report.spoken import spoken
    from sunpantry.report.wiring_text import NOTHING_TO_WIRE, wiring_text, write_drawings

    design = read_plan_design(file)
    with progress_bar(quiet=as_json) as progress:
        plan = make_plan(design, folder=file.parent, progress=progress)
    wiring = plan.wiring
    if wiring is None:
        typer.echo(spoken(NOTHING_TO_WIRE))
        return
    typer.echo(to_json(wiring.to_json()) if as_json else wiring_text(plan), nl=False)
    if drawings is not None:
        for path in write_drawings(plan, drawings):
            typer.echo(f"drew {path}", err=True)

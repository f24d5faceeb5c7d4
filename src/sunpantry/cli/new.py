"""``sunpantry new``: a document to start from."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from sunpantry.cli.output import write_new


def new(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="The document to write.")],
    like: Annotated[
        str | None,
        typer.Option(
            metavar="NAME", help="Start from an example; `sunpantry examples` lists them."
        ),
    ] = None,
) -> None:
    """Write a commented design document to start from. Nothing is ever overwritten."""
    if like is None:
        from sunpantry.design.starter import starter_text

        text = starter_text()
    else:
        from sunpantry.examples import example

        text = example(like).text
    write_new(file, text)
    typer.echo(f"Wrote {file}. Change it to suit you, then: sunpantry plan {file}")

"""Every command, each in a module of its own that loads what it needs when it runs."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated

import typer

from sunpantry import __version__
from sunpantry.cli.listing import examples, loads, parts
from sunpantry.cli.matching import match
from sunpantry.cli.new import new
from sunpantry.cli.opening import backup, open_page, restore
from sunpantry.cli.paper import explain, sheet
from sunpantry.cli.place import place
from sunpantry.cli.planning import plan
from sunpantry.cli.wiring import wire

app = typer.Typer(
    name="sunpantry",
    help="Plan, prove and build small solar systems, for any place on land, offline.",
    no_args_is_help=True,
    add_completion=False,
    context_settings={"help_option_names": ["-h", "--help"]},
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"sunpantry {__version__}")
        raise typer.Exit


@app.callback()
def common(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version.")
    ] = False,
) -> None:
    """Plan, prove and build small solar systems, for any place on land, offline."""
    del version


PLAIN: tuple[Callable[..., None], ...] = (
    new, plan, match, wire, sheet, explain, parts, loads, examples, backup, restore,
)  # fmt: skip
for command in PLAIN:
    app.command()(command)
app.command(name="open")(open_page)
# Coordinates south of the equator begin with a minus: that is no option.
app.command(context_settings={"ignore_unknown_options": True})(place)

"""``sunpantry place``: what the sun gives there."""

from __future__ import annotations

import re
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sunpantry.cli.fetching import with_fetched_weather
from sunpantry.cli.output import AsJson, FetchYears, Language
from sunpantry.errors import InputError

if TYPE_CHECKING:
    from sunpantry.design.site import Site

USUAL_WINTERS, USUAL_SEED = 30, 1
# No name of a place or a file on the command line is as long [characters].
LONGEST_NAME = 120


def place(
    words: Annotated[
        list[str],
        typer.Argument(
            metavar="PLACE",
            help='A name, coordinates ("53.9, -9.3"), or a design file: its site, skyline, own '
            "figures and weather file.",
        ),
    ],
    winters: Annotated[
        int | None,
        typer.Option(
            min=5, max=200, help="Winters to draw.", show_default="those of the file, or 30"
        ),
    ] = None,
    seed: Annotated[
        int | None,
        typer.Option(min=0, help="Seed of the winters.", show_default="that of the file, or 1"),
    ] = None,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also draw sun paths and the year (.svg or .png)."),
    ] = None,
    fetch: FetchYears = None,
    language: Language = "en",
    as_json: AsJson = False,
) -> None:
    """Say what the sun gives at a place: month by month, the dark spells, the cold."""
    del language  # spoken already
    from sunpantry.report.place_text import place_text
    from sunpantry.report.plain import as_json as to_json
    from sunpantry.sky.from_site import sky_of
    from sunpantry.sky.view import place_view

    if picture is not None:
        from sunpantry.sky.picture import check_ending

        check_ending(picture)
    asked = _asked(_joined(words))
    sky = sky_of(
        with_fetched_weather(asked.site, fetch),
        years=asked.winters if winters is None else winters,
        seed=asked.seed if seed is None else seed,
        step_h=asked.step_h,
        folder=asked.folder,
    )
    view = place_view(
        sky.place,
        climate=sky.climate,
        weather=sky.weather,
        horizon=sky.horizon,
        albedo=sky.albedo,
    )
    typer.echo(to_json(view.to_json()) if as_json else place_text(view), nl=False)
    if picture is not None:
        from sunpantry.sky.picture import picture_spec, write_picture

        write_picture(picture_spec(view), picture)
        typer.echo(f"drew {picture}", err=True)


@dataclass(frozen=True)
class _Asked:
    """A site, and how its years are drawn."""

    site: Site
    winters: int = USUAL_WINTERS
    seed: int = USUAL_SEED
    step_h: float = 1.0
    folder: Path | None = None


def _joined(words: list[str]) -> str:
    """Put together a place that was written without quotes; a mistyped option is no place."""
    for word in words:
        if word.startswith("--") or re.fullmatch(r"-[A-Za-z].*", word):
            raise InputError.one(
                "option", word, "one of those of `sunpantry place --help`", "check its spelling"
            )
    return " ".join(words)


def _asked(where: str) -> _Asked:
    from sunpantry.design.site import Site
    from sunpantry.sky.coordinates import read_coordinates

    if not where.strip() or len(where) > LONGEST_NAME:
        raise InputError.one(
            "place",
            repr(where[:LONGEST_NAME]),
            "a name, a latitude and longitude, or a design file",
            "write 'Westport, IE', '53.80, -9.52' or 'design.toml'",
        )
    file = Path(where)
    # A file without an ending may be called like a town; the town is meant.
    if file.suffix.lower() == ".toml" or (file.suffix and "\0" not in where and file.is_file()):
        from sunpantry.design import read_design

        design = read_design(file)
        return _Asked(design.site, design.winters, design.seed, design.step_h, file.parent)
    point = read_coordinates(where)
    if point is not None:
        return _Asked(Site(latitude=point[0], longitude=point[1]))
    if sys.stderr.isatty():
        typer.echo("Looking the place up (the first time takes some seconds) ...", err=True)
    return _Asked(Site(place=where))

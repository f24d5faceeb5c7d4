"""``sunpantry place``: what the sun gives there."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from sunpantry.cli.fetching import with_fetched_weather
from sunpantry.cli.output import AsJson, FetchYears


def place(
    where: Annotated[
        str, typer.Argument(metavar="PLACE", help='A name, or coordinates: "53.9, -9.3".')
    ],
    winters: Annotated[int, typer.Option(min=5, max=200, help="Winters to draw.")] = 30,
    seed: Annotated[int, typer.Option(min=0, help="Seed of the winters.")] = 1,
    picture: Annotated[
        Path | None,
        typer.Option(metavar="FILE", help="Also draw sun paths and the year (.svg or .png)."),
    ] = None,
    fetch: FetchYears = None,
    as_json: AsJson = False,
) -> None:
    """Say what the sun gives at a place: month by month, the dark spells, the cold."""
    from sunpantry.design.site import Site
    from sunpantry.report.place_text import place_text
    from sunpantry.report.plain import as_json as to_json
    from sunpantry.sky.coordinates import read_coordinates
    from sunpantry.sky.from_site import sky_of
    from sunpantry.sky.view import place_view

    point = read_coordinates(where)
    if point is None and sys.stderr.isatty():
        typer.echo("Looking the place up (the first time takes some seconds) ...", err=True)
    site = Site(latitude=point[0], longitude=point[1]) if point else Site(place=where)
    site = with_fetched_weather(site, fetch)
    sky = sky_of(site, years=winters, seed=seed)
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

        write_picture(picture_spec(view, sky.horizon), picture)
        typer.echo(f"drew {picture}", err=True)

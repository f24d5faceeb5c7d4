"""``sunpantry parts``, ``loads`` and ``examples``: what there is to choose from."""

from __future__ import annotations

from textwrap import fill
from typing import Annotated

import typer

from sunpantry.cli.output import AsJson, Language
from sunpantry.errors import InputError
from sunpantry.phrases import phrase
from sunpantry.report.columns import columns_of


def parts(
    kind: Annotated[
        str | None,
        typer.Argument(metavar="KIND", help="panel, battery, controller, inverter or converter."),
    ] = None,
    text: Annotated[str, typer.Option(help="Words that must be in the name.")] = "",
    volts: Annotated[float | None, typer.Option(help="Only parts for this voltage.")] = None,
    at_least: Annotated[float | None, typer.Option(help="Smallest size (W, Wh or A).")] = None,
    at_most: Annotated[float | None, typer.Option(help="Largest size (W, Wh or A).")] = None,
    language: Language = "en",
    as_json: AsJson = False,
) -> None:
    """List the generic parts, with their typical prices."""
    del language  # spoken already
    from sunpantry.parts.catalogue import ROLES, select_parts, shipped_catalogue, size_of
    from sunpantry.report.plain import as_json as to_json
    from sunpantry.report.plain import plain
    from sunpantry.report.spoken import figure, spoken

    if kind is not None and kind not in ROLES:
        raise InputError.one("KIND", kind, f"one of {', '.join(ROLES)}", "or leave it out for all")
    chosen = select_parts(
        shipped_catalogue(),
        role=kind,
        text=text,
        voltage_v=volts,
        at_least=at_least,
        at_most=at_most,
    )
    if as_json:
        found = [{"role": role, **plain(part)} for role, part in chosen]
        typer.echo(to_json({"parts": found}), nl=False)
        return
    rows = []
    for role, part in chosen:
        size, unit = size_of(part)
        price = "" if part.price is None else figure(part.price, ".2f")
        rows.append((spoken(role), part.name, f"{figure(size, 'g')} {spoken(unit)}", price))
    heads = (
        *(phrase("kind"), phrase("name"), phrase("size{part}", part="")),
        phrase("{currency} each", currency="EUR"),
    )
    typer.echo(columns_of(rows, tuple(map(spoken, heads))))
    last = phrase(
        "{count} parts. Prices are typical ones, from memory: yours will differ.", count=len(rows)
    )
    typer.echo(spoken(last))


def loads(
    text: Annotated[str | None, typer.Argument(metavar="WORDS", help="Words to look for.")] = None,
    as_json: AsJson = False,
) -> None:
    """List ordinary things that need power, to start a load from: like = "…"."""
    from sunpantry.demand.library import load_library
    from sunpantry.report.load_words import load_facts
    from sunpantry.report.plain import as_json as to_json

    words = (text or "").casefold().split()
    chosen = [
        one
        for one in load_library()
        if all(w in f"{one.group} {one.name} {' '.join(one.also)}".casefold() for w in words)
    ]
    if as_json:
        typer.echo(to_json({"loads": chosen}), nl=False)
        return
    rows = [(one.group, one.name, load_facts(one), one.source) for one in chosen]
    typer.echo(columns_of(rows, ("where", "name", "typical", "source")))
    typer.echo(f'{len(rows)} loads. Use one by writing like = "its name" in a [[load]].')


def examples(as_json: AsJson = False) -> None:
    """List the shipped designs; `sunpantry new --like NAME FILE` writes one."""
    from sunpantry.examples import examples as shipped
    from sunpantry.report.plain import as_json as to_json

    if as_json:
        rows = [{"name": one.name, "title": one.title, "teaches": one.teaches} for one in shipped()]
        typer.echo(to_json({"examples": rows}), nl=False)
        return
    for one in shipped():
        typer.echo(f"{one.name}: {one.title}")
        if one.teaches:
            words = " ".join(one.teaches.split())
            typer.echo(fill(words, 88, initial_indent="    ", subsequent_indent="    "))

"""``sunpantry match``: can I use this with that?"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sunpantry.cli.output import AsJson
from sunpantry.errors import InputError

COLDEST_C, WARMEST_C = -90.0, 60.0

if TYPE_CHECKING:
    from sunpantry.design.nameplates import AnyNameplate


def match(
    things: Annotated[
        list[str],
        typer.Argument(
            metavar="PART...",
            help="Names from the parts list, or a design document whose own parts are meant.",
        ),
    ],
    coldest: Annotated[
        float, typer.Option(help="Coldest hour of an ordinary year at your place, °C.")
    ] = -10.0,
    as_json: AsJson = False,
) -> None:
    """Say whether parts suit each other: any pair or set, without a whole design."""
    from sunpantry.match.finding import Severity
    from sunpantry.match.pair import match_parts
    from sunpantry.report.plain import as_json as to_json
    from sunpantry.report.plan_json import finding_json

    if not COLDEST_C <= coldest <= WARMEST_C:  # also when it is no number at all
        raise InputError.one(
            "--coldest",
            coldest,
            f"from {COLDEST_C:g} to {WARMEST_C:g} °C",
            "`sunpantry place` tells the coldest hour of an ordinary year",
        )
    findings = match_parts(_parts_of(things), coldest_c=coldest)
    if as_json:
        typer.echo(to_json({"findings": [finding_json(one) for one in findings]}), nl=False)
        return
    told = [one for one in findings if one.severity is not Severity.FINE]
    for finding in told:
        typer.echo(f"{finding.severity.words}: {finding.sentence}")
        if finding.remedy is not None:
            typer.echo(f"    {finding.remedy.sentence}")
    hard = sum(one.severity.is_hard for one in findings)
    fine = len(findings) - len(told)
    if hard:
        typer.echo(f"Do not use them together like this: {hard} of {len(findings)} checks say no.")
    else:
        typer.echo(f"They can be used together; {fine} of {len(findings)} checks found nothing.")


def _parts_of(things: Sequence[str]) -> list[AnyNameplate]:
    from sunpantry.parts.catalogue import shipped_catalogue

    catalogue = shipped_catalogue()
    found: list[AnyNameplate] = []
    for position, thing in enumerate(things, start=1):
        if thing.endswith(".toml"):
            found += _parts_in(Path(thing))
        else:
            found.append(catalogue.find(thing, where=f"PART {position}")[1])
    return found


def _parts_in(path: Path) -> list[AnyNameplate]:
    """Every part that a design document fixes, by name or by its label."""
    from sunpantry.parts.catalogue import shipped_catalogue
    from sunpantry.parts.resolve import resolve_kit
    from sunpantry.plan import read_plan_design

    kit = resolve_kit(read_plan_design(path), shipped_catalogue())
    singles = [
        *(array.panel for array in kit.arrays),
        kit.bank.battery,
        kit.controller.controller,
        kit.inverter.inverter,
        *(one.converter for one in kit.converters),
    ]
    return [part for part in singles if part is not None]

"""``sunpantry match``: can I use this with that?"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from sunpantry.cli.output import AsJson, Language
from sunpantry.errors import InputError
from sunpantry.phrases import phrase

COLDEST_C, WARMEST_C = -90.0, 60.0

if TYPE_CHECKING:
    from sunpantry.match.asked import Asked
    from sunpantry.match.finding import Finding


def match(
    things: Annotated[
        list[str],
        typer.Argument(
            metavar="PART...",
            help="Names from the parts list, loads from the library of loads, or a design "
            "document whose own parts and loads are meant.",
        ),
    ],
    coldest: Annotated[
        float | None,
        typer.Option(
            help="Coldest hour of an ordinary year at your place, °C.",
            show_default="that of the document's place, or -10",
        ),
    ] = None,
    bank_voltage: Annotated[
        float | None,
        typer.Option(help="Voltage of the battery bank, V.", show_default="what the parts suggest"),
    ] = None,
    language: Language = "en",
    as_json: AsJson = False,
) -> None:
    """Say whether parts and loads suit each other: any pair or set, without a whole design."""
    del language  # spoken already
    from sunpantry.match.pair import match_asked
    from sunpantry.report.plain import as_json as to_json
    from sunpantry.report.plan_json import finding_json

    asked = _asked(things)
    if coldest is not None:
        asked = replace(asked, coldest_c=_cold(coldest), never_colder_c=None)
    if bank_voltage is not None:
        asked = replace(asked, bank_v=_bank_v(bank_voltage))
    findings = match_asked(asked)
    if as_json:
        typer.echo(to_json({"findings": [finding_json(one) for one in findings]}), nl=False)
        return
    _tell(findings)


def _tell(findings: Sequence[Finding]) -> None:
    from sunpantry.match.finding import Severity
    from sunpantry.report.spoken import spoken

    for finding in findings:
        if finding.rule == "wiring":
            typer.echo(spoken(finding.sentence))
    checks = [one for one in findings if one.rule != "wiring"]
    told = [one for one in checks if one.severity is not Severity.FINE]
    for finding in told:
        typer.echo(f"{spoken(finding.severity.words)}: {spoken(finding.sentence)}")
        if finding.remedy is not None:
            typer.echo(f"    {spoken(finding.remedy.sentence)}")
    hard = sum(one.severity.is_hard for one in checks)
    fine = len(checks) - len(told)
    if hard:
        last = phrase(
            "Do not use them together like this: {hard} of {checks} checks say no.",
            hard=hard,
            checks=len(checks),
        )
    elif not checks:
        last = phrase("No rule has anything to say of these together.")
    else:
        last = phrase(
            "They can be used together; {fine} of {checks} checks found nothing.",
            fine=fine,
            checks=len(checks),
        )
    typer.echo(spoken(last))


def _cold(coldest_c: float) -> float:
    if not COLDEST_C <= coldest_c <= WARMEST_C:  # also when it is no number at all
        raise InputError.one(
            "--coldest",
            coldest_c,
            f"from {COLDEST_C:g} to {WARMEST_C:g} °C",
            "`sunpantry place` tells the coldest hour of an ordinary year",
        )
    return coldest_c


def _bank_v(volts: float) -> float:
    from sunpantry.design.kit import BANK_VOLTAGES

    if volts not in BANK_VOLTAGES:
        raise InputError.one(
            "--bank-voltage",
            volts,
            "one of " + ", ".join(f"{one:g} V" for one in BANK_VOLTAGES),
            "a 12.8 V LiFePO4 battery makes a 12 V bank",
        )
    return volts


def _asked(things: Sequence[str]) -> Asked:
    from sunpantry.match.asked import all_asked, asked_by_design, asked_by_name
    from sunpantry.plan import read_plan_design

    return all_asked(
        [
            asked_by_design(read_plan_design(Path(thing)))
            if thing.endswith(".toml")
            else asked_by_name(thing, where=f"PART {position}")
            for position, thing in enumerate(things, start=1)
        ]
    )

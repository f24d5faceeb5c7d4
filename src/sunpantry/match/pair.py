"""'Can I use this with that?' for any parts, without a whole design."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from sunpantry.design.kit import BANK_VOLTAGES, voltage_class
from sunpantry.design.nameplates import (
    AnyNameplate,
    BatteryNameplate,
    ControllerNameplate,
    ConverterNameplate,
    InverterNameplate,
    PanelNameplate,
)
from sunpantry.errors import InputError
from sunpantry.match.case import USUAL_HOTTEST_CELL_C, Case, Choices, Joined, LoadFacts
from sunpantry.match.changes import wirings, words_for
from sunpantry.match.finding import Finding, Severity
from sunpantry.match.rules import check, harm
from sunpantry.match.sources import LABEL
from sunpantry.parts.catalogue import Catalogue
from sunpantry.parts.system import Array, Bank, System

Label = TypeVar("Label", bound=AnyNameplate)

# A panel alone says nothing of where it points; no rule for a pair asks.
_TILT_DEG = (35.0,) * 12
_AZIMUTH_DEG = 180.0


def sort_parts(parts: Sequence[AnyNameplate]) -> Catalogue:
    """Sort parts by kind.

    Parameters
    ----------
    parts : sequence of nameplates
        In any order; a part that is there twice stands twice.

    Returns
    -------
    Catalogue
        The same parts.
    """
    return Catalogue(
        panels=_of_kind(parts, PanelNameplate),
        batteries=_of_kind(parts, BatteryNameplate),
        controllers=_of_kind(parts, ControllerNameplate),
        inverters=_of_kind(parts, InverterNameplate),
        converters=_of_kind(parts, ConverterNameplate),
    )


def _of_kind(parts: Sequence[AnyNameplate], kind: type[Label]) -> tuple[Label, ...]:
    return tuple(part for part in parts if isinstance(part, kind))


@dataclass(frozen=True)
class Matched:
    """One way of putting the parts together, and what the rules say of it.

    Parameters
    ----------
    case : Case
        The parts as a system, as far as there are parts.
    findings : tuple of Finding
        The worst first.
    """

    case: Case
    findings: tuple[Finding, ...]

    @property
    def suits(self) -> bool:
        """Nothing is dangerous and nothing fails."""
        return not any(found.severity.is_hard for found in self.findings)


def match_parts(
    parts: Sequence[AnyNameplate],
    *,
    coldest_c: float = -10.0,
    never_colder_c: float | None = None,
    hottest_cell_c: float = USUAL_HOTTEST_CELL_C,
    bank_v: float | None = None,
    mains_v: float = 230.0,
    loads: tuple[LoadFacts, ...] = (),
    choices: Choices | None = None,
) -> tuple[Finding, ...]:
    """Say whether parts suit each other, wired in the best way they allow.

    Parameters
    ----------
    parts : sequence of nameplates
        Any pair or set; a part that is there twice stands twice. Unlike panels are taken as
        joined to the first kind, unlike batteries as joined to the first.
    coldest_c, never_colder_c : float
        Coldest hour of a usual year, and of many years [°C].
    hottest_cell_c : float
        Hottest cell temperature [°C].
    bank_v : float, optional
        Bank voltage; what the parts suggest when left out [V].
    mains_v : float
        Voltage that mains appliances want [V].
    loads : tuple of LoadFacts
        What is to run, if that is asked too.
    choices : Choices, optional
        Habits and circumstances.

    Returns
    -------
    tuple of Finding
        The worst first. The first of rule 'wiring' says how the parts were put together.

    Raises
    ------
    InputError
        When there is nothing to match.
    """
    facts = Case(
        System(bank_v=12.0, arrays=(), bank=None, controller=None),
        coldest_c=coldest_c,
        never_colder_c=never_colder_c,
        hottest_cell_c=hottest_cell_c,
        mains_v=mains_v,
        loads=loads,
        choices=choices or Choices(),
        whole=False,
    )
    found: dict[tuple[str, str, tuple[str, ...]], Finding] = {}
    for matched in match_cases(parts, facts=facts, bank_v=bank_v):
        for one in matched.findings:
            found.setdefault((one.rule, one.sentence, one.about), one)
    return tuple(sorted(found.values(), key=lambda one: one.severity))


def match_cases(
    parts: Sequence[AnyNameplate], *, facts: Case, bank_v: float | None = None
) -> tuple[Matched, ...]:
    """Put parts together in the best way they allow, once for each controller and inverter.

    Parameters
    ----------
    parts : sequence of nameplates
        Any pair or set.
    facts : Case
        Place, loads and choices; its system is not looked at.
    bank_v : float, optional
        Bank voltage; what the parts suggest when left out [V].

    Returns
    -------
    tuple of Matched
        One for each controller and inverter among the parts.

    Raises
    ------
    InputError
        When there is nothing to match.
    """
    if len(parts) + len(facts.loads) < 2:
        raise InputError.one(
            "parts", len(parts), "at least two parts, or a part and a load", "name another part"
        )
    kit = sort_parts(parts)
    volts = _bank_voltage(kit) if bank_v is None else bank_v
    results = []
    for controller in _distinct(kit.controllers):
        for inverter in _distinct(kit.inverters):
            base = replace(
                facts,
                system=System(
                    bank_v=volts,
                    arrays=(),
                    bank=_bank(kit, volts),
                    controller=controller,
                    inverter=inverter,
                    converters=kit.converters,
                    controller_count=max(1, kit.controllers.count(controller))
                    if controller is not None
                    else 1,
                ),
            )
            case = min(_wired(base, kit), key=_badness)
            results.append(Matched(case, (*_how(case), *check(case))))
    return tuple(results)


def _distinct(parts: tuple[Label, ...]) -> list[Label] | list[None]:
    kept: list[Label] = []
    for part in parts:
        if part not in kept:
            kept.append(part)
    return kept or [None]


def _bank_voltage(kit: Catalogue) -> float:
    """Bank voltage that the parts suggest [V]: what most of them can agree on."""
    votes = dict.fromkeys(BANK_VOLTAGES, 0.0)
    if kit.batteries:
        first = kit.batteries[0]
        count = kit.batteries.count(first)
        if first.chemistry == "power_bank":
            return 5.0
        for series in range(1, count + 1):
            made_v = voltage_class(series * first.nominal_v)
            if made_v is not None and count % series == 0:
                votes[made_v] += 1.5
    for controller in kit.controllers:
        for volts in controller.bank_voltages:
            votes[volts] = votes.get(volts, 0.0) + 1.0
    for inverter in kit.inverters:
        wanted_v = voltage_class(inverter.input_v)
        if wanted_v is not None:
            votes[wanted_v] += 1.0
    for converter in kit.converters:
        for volts in BANK_VOLTAGES:
            if converter.input_min_v <= volts <= converter.input_max_v / 1.2:
                votes[volts] += 1.0
    best_v = max(votes, key=lambda volts: (votes[volts], volts == 12.0, -volts))
    return best_v if votes[best_v] > 0.0 else 12.0


def _bank(kit: Catalogue, volts: float) -> Bank | None:
    if not kit.batteries:
        return None
    first = kit.batteries[0]
    count = kit.batteries.count(first)
    series = next(
        (
            series
            for series, _ in wirings(count)
            if voltage_class(series * first.nominal_v) == volts
        ),
        1,
    )
    return Bank(first, series, count // series, housing="shed")


def _wired(base: Case, kit: Catalogue) -> Iterator[Case]:
    """Every wiring of the panels and every way of joining the unlike ones."""
    batteries = tuple(one for one in kit.batteries if one != kit.batteries[0])
    arrays: list[tuple[Array, ...]] = [()]
    others: tuple[PanelNameplate, ...] = ()
    if kit.panels:
        first = kit.panels[0]
        others = tuple(one for one in kit.panels if one != first)
        arrays = [
            (Array(first, series, parallel, _TILT_DEG, _AZIMUTH_DEG),)
            for series, parallel in wirings(kit.panels.count(first))
        ]
    for wired in arrays:
        for how in ("parallel", "series") if others or batteries else ("parallel",):
            yield replace(
                base,
                system=replace(base.system, arrays=wired),
                joined=Joined(panels=others, batteries=batteries, how=how),
            )


def _badness(case: Case) -> tuple[tuple[int, int], int]:
    """Fewest bad findings first, then the fewest panels in series."""
    return harm(case), sum(array.series for array in case.system.arrays)


def _how(case: Case) -> Iterator[Finding]:
    """Say how the parts were put together."""
    joined, bank = case.joined, case.system.bank
    told = [_told(array.count, "panel", array.series) for array in case.system.arrays]
    if bank is not None:
        told.append(_told(bank.count, "battery", bank.series))
    if joined.panels or joined.batteries:
        names = ", ".join(part.name for part in (*joined.panels, *joined.batteries))
        told.append(f"joined to it in {joined.how}: {names}")
    yield Finding(
        Severity.FINE,
        f"Put together for a {case.system.bank_v:g} V bank"
        + (": " + "; ".join(told) + "." if told else "."),
        ("parts",),
        rule="wiring",
        source=LABEL,
    )


def _told(count: int, noun: str, series: int) -> str:
    if count == 1:
        return f"1 {noun}"
    return f"{words_for(count, noun)}, {series} in series and {count // series} side by side"

"""'Can I use this with that?' for any parts, without a whole design."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeVar

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
from sunpantry.match.asked import ANY_AZIMUTH_DEG, ANY_TILT_DEG, Asked
from sunpantry.match.case import Case, Joined, LoadFacts
from sunpantry.match.changes import wirings, words_for
from sunpantry.match.finding import Finding, Severity
from sunpantry.match.load_measures import USB, VOLTS
from sunpantry.match.rules import check, harm
from sunpantry.match.sources import LABEL
from sunpantry.parts.catalogue import Catalogue
from sunpantry.parts.system import Array, Bank, System
from sunpantry.phrases import joined as row
from sunpantry.phrases import phrase

Label = TypeVar("Label", bound=AnyNameplate)

USUAL_COLDEST_C = -10.0
USUAL_MAINS_V = 230.0


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
    coldest_c: float = USUAL_COLDEST_C,
    bank_v: float | None = None,
    loads: tuple[LoadFacts, ...] = (),
) -> tuple[Finding, ...]:
    """Say whether parts suit each other, wired in the best way they allow.

    Parameters
    ----------
    parts : sequence of nameplates
        Any pair or set; a part that is there twice stands twice. Unlike panels are taken as
        joined to the first kind, unlike batteries as joined to the first.
    coldest_c : float
        Coldest hour of a usual year [°C].
    bank_v : float, optional
        Bank voltage; what the parts suggest when left out [V].
    loads : tuple of LoadFacts
        What is to run, if that is asked too.

    Returns
    -------
    tuple of Finding
        As of :func:`match_asked`.
    """
    return match_asked(Asked(tuple(parts), loads, bank_v=bank_v, coldest_c=coldest_c))


def match_asked(asked: Asked) -> tuple[Finding, ...]:
    """Say whether everything that is asked about suits.

    Parameters
    ----------
    asked : Asked
        Parts and loads; what is wired already stays so, the rest is wired in the best way.

    Returns
    -------
    tuple of Finding
        The worst first. The first of rule 'wiring' says how the parts were put together.

    Raises
    ------
    InputError
        When there is nothing to match.
    """
    found: dict[tuple[str, str, tuple[str, ...]], Finding] = {}
    for matched in match_cases(asked):
        for one in matched.findings:
            found.setdefault((one.rule, one.sentence, one.about), one)
    return tuple(sorted(found.values(), key=lambda one: one.severity))


def match_cases(asked: Asked) -> tuple[Matched, ...]:
    """Put parts together in the best way they allow, once for each controller and inverter.

    Parameters
    ----------
    asked : Asked
        Parts and loads.

    Returns
    -------
    tuple of Matched
        One for each controller and inverter among the parts.

    Raises
    ------
    InputError
        When there is nothing to match.
    """
    _refuse_too_little(asked)
    kit = sort_parts(asked.parts)
    volts, why = _bank_voltage(asked, kit)
    results = []
    for controller in _distinct(kit.controllers):
        for inverter in _distinct(kit.inverters):
            base = Case(
                System(
                    bank_v=volts,
                    arrays=asked.arrays,
                    bank=asked.bank or _bank(kit, volts),
                    controller=controller,
                    inverter=inverter,
                    converters=kit.converters,
                    controller_count=max(1, kit.controllers.count(controller))
                    if controller is not None
                    else 1,
                ),
                coldest_c=USUAL_COLDEST_C if asked.coldest_c is None else asked.coldest_c,
                never_colder_c=asked.never_colder_c,
                loads=asked.loads,
                mains_v=asked.mains_v or USUAL_MAINS_V,
                choices=asked.choices,
                whole=False,
            )
            case = min(_wired(base, kit), key=_badness)
            results.append(Matched(case, (_how(case, why), *check(case))))
    return tuple(results)


def _refuse_too_little(asked: Asked) -> None:
    if asked.count < 2:
        raise InputError.one(
            "parts", asked.count, "at least two parts, or a part and a load", "name another part"
        )
    if asked.count == len(asked.loads):
        raise InputError.one(
            "parts",
            "loads only",
            "a part that they are to run from, and the loads",
            "name a battery, an inverter, a converter, or whatever you have",
        )


def _distinct(parts: tuple[Label, ...]) -> list[Label] | list[None]:
    kept: list[Label] = []
    for part in parts:
        if part not in kept:
            kept.append(part)
    return kept or [None]


def _bank_voltage(asked: Asked, kit: Catalogue) -> tuple[float, str]:
    """Bank voltage [V], and where it comes from in plain words."""
    if asked.bank_v is not None:
        return asked.bank_v, phrase("as said")
    if asked.bank is not None:
        wired_v = voltage_class(asked.bank.nominal_v)
        if wired_v is not None:
            return wired_v, phrase("as its batteries are wired")
    suggested_v = _suggested_v(kit)
    if suggested_v is not None:
        return suggested_v, phrase("from the batteries") if kit.batteries else phrase(
            "assumed from these parts"
        )
    for supply in dict.fromkeys(load.supply for load in asked.loads):
        if supply in VOLTS and supply != USB:
            return VOLTS[supply], phrase("assumed from the loads")
    return 12.0, phrase("assumed, because no part tells")


def _suggested_v(kit: Catalogue) -> float | None:
    """Bank voltage that most of the parts can agree on [V]; ``None``: no part tells."""
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
    return best_v if votes[best_v] > 0.0 else None


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
    bank = base.system.bank
    batteries = tuple(one for one in kit.batteries if bank is None or one != bank.battery)
    arrays: list[tuple[Array, ...]] = [base.system.arrays]
    others = kit.panels
    if kit.panels and not base.system.arrays:
        first = kit.panels[0]
        others = tuple(one for one in kit.panels if one != first)
        arrays = [
            (Array(first, series, parallel, ANY_TILT_DEG, ANY_AZIMUTH_DEG),)
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


def _how(case: Case, why: str) -> Finding:
    """Say how the parts were put together, and for which bank."""
    joined, bank = case.joined, case.system.bank
    told = [_told(array.count, "panel", array.series) for array in case.system.arrays]
    if bank is not None:
        told.append(_told(bank.count, "battery", bank.series))
    if joined.panels or joined.batteries:
        names = ", ".join(part.name for part in (*joined.panels, *joined.batteries))
        told.append(
            phrase("joined to it in series: {names}", names=names)
            if joined.how == "series"
            else phrase("joined to it in parallel: {names}", names=names)
        )
    return Finding(
        Severity.FINE,
        phrase("Put together for a {bank_v:g} V bank ({why})", bank_v=case.system.bank_v, why=why)
        + (": " + row(told, "; ") + "." if told else "."),
        ("parts",),
        rule="wiring",
        source=LABEL,
    )


def _told(count: int, noun: Literal["panel", "battery"], series: int) -> str:
    if count == 1:
        return words_for(count, noun)
    return phrase(
        "{parts}, {series} in series and {parallel} side by side",
        parts=words_for(count, noun),
        series=series,
        parallel=count // series,
    )

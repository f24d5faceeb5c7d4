"""Every rule, put to a case."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from sunpantry.match import (
    array_charging,
    array_current,
    array_mix,
    array_voltage,
    bank,
    bank_use,
    bank_years,
    charging,
    cold,
    converters,
    hard_starts,
    inverter_bank,
    inverter_rules,
    loads_rules,
    mains_side,
    panel_curve,
    place_rules,
    set_points,
    sockets,
)
from sunpantry.match.case import (
    USUAL_CHOICES,
    USUAL_HOTTEST_CELL_C,
    Case,
    Choices,
    LoadFacts,
    ProofFacts,
)
from sunpantry.match.finding import Finding, Rule, Severity
from sunpantry.parts.system import System

# By subject, in the order in which a person would look at the parts.
SUBJECTS: tuple[tuple[str, tuple[Rule, ...]], ...] = (
    ("Volts of the array", array_voltage.RULES + array_charging.RULES),
    ("Amperes of the array", array_current.RULES),
    ("Labels, and unlike panels", panel_curve.RULES + array_mix.RULES),
    ("Charging", charging.RULES),
    ("Set points", set_points.RULES),
    ("The bank", bank.RULES + bank_use.RULES + hard_starts.RULES + bank_years.RULES),
    ("Cold", cold.RULES),
    ("The inverter", inverter_rules.RULES + inverter_bank.RULES),
    ("The loads", loads_rules.RULES + converters.RULES + sockets.RULES),
    ("The place", place_rules.RULES),
    ("Mains voltage", mains_side.RULES),
)
RULES: tuple[Rule, ...] = tuple(rule for _, rules in SUBJECTS for rule in rules)
_ORDER = {rule.slug: place for place, rule in enumerate(RULES)}
_BREAKS: tuple[Callable[[Case], bool], ...] = tuple(
    rule.breaks for rule in RULES if rule.breaks is not None
)


def harm(case: Case) -> tuple[int, int]:
    """Count what is wrong with a case.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    tuple of int
        Hard findings, disappointing ones.
    """
    hard = disappointing = 0
    for rule in RULES:
        for found in rule.say(case):
            hard += found.severity.is_hard
            disappointing += found.severity is Severity.WILL_DISAPPOINT
    return hard, disappointing


def check(case: Case) -> tuple[Finding, ...]:
    """Put every rule to a case.

    Parameters
    ----------
    case : Case
        The case; rules that need its ``proof`` keep silent without one.

    Returns
    -------
    tuple of Finding
        The worst first, then by subject; each with the smallest change that cures it and, if
        there is one, does no harm elsewhere.
    """
    before: dict[ProofFacts | None, tuple[int, int]] = {}

    def harmless(changed: Case) -> bool:
        # A change drops the proof, and with it what the proof says: compare like with like.
        if changed.proof not in before:
            before[changed.proof] = harm(replace(case, proof=changed.proof))
        return harm(changed) <= before[changed.proof]

    found = [one for rule in RULES for one in rule.check(case, harmless=harmless)]
    return tuple(sorted(found, key=lambda one: (one.severity, _ORDER[one.rule])))


def hard_findings(case: Case) -> tuple[Finding, ...]:
    """Findings that forbid a system: danger, and what will not work.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    tuple of Finding
        Empty for a system that may be proposed.
    """
    return tuple(
        found
        for rule in RULES
        if rule.breaks is not None and rule.breaks(case)
        for found in rule.check(case)
        if found.severity.is_hard
    )


def is_sound(case: Case) -> bool:
    """Whether a case has no hard finding; quick, made for the search.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    bool
        The same as ``not hard_findings(case)``.
    """
    return not any(breaks(case) for breaks in _BREAKS)


def may_combine(
    system: System,
    *,
    coldest_c: float,
    hottest_cell_c: float = USUAL_HOTTEST_CELL_C,
    loads: tuple[LoadFacts, ...] = (),
    peaks_w: tuple[tuple[str, float], ...] = (),
    mains_v: float = 230.0,
    choices: Choices = USUAL_CHOICES,
) -> bool:
    """Whether a system may be proposed at all.

    Parameters
    ----------
    system : System
        The parts.
    coldest_c : float
        Mean of the coldest hour of each year [°C].
    hottest_cell_c : float
        Hottest cell temperature [°C].
    loads, peaks_w, mains_v, choices
        See :class:`sunpantry.match.case.Case`.

    Returns
    -------
    bool
        False when any rule that needs no simulation says danger or will not work.
    """
    case = Case(
        system,
        coldest_c=coldest_c,
        loads=loads,
        peaks_w=peaks_w,
        mains_v=mains_v,
        choices=choices,
        hottest_cell_c=hottest_cell_c,
    )
    return is_sound(case)

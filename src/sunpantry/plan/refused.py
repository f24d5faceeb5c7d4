"""Why a design has no answer, what forbids one, and what is short where the closest one fails."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf, isfinite
from typing import TYPE_CHECKING

import numpy as np

from sunpantry.match.rules import hard_findings
from sunpantry.memory import give_back
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.system import System
from sunpantry.phrases import joined, phrase
from sunpantry.physics.battery import WORN_OUT
from sunpantry.plan.proofs import prove_worn
from sunpantry.plan.questions import Question
from sunpantry.plan.suiting import case_of
from sunpantry.plan.wires import wiring_refusals
from sunpantry.sizing import options
from sunpantry.sizing.answer import Answer
from sunpantry.sizing.frontier import words_for
from sunpantry.sizing.search import Searcher
from sunpantry.sizing.space import Choice

if TYPE_CHECKING:
    from sunpantry.design.promise import Search
    from sunpantry.match.finding import Finding

NOTHING_FITS = phrase(
    "No combination of parts on the list serves these loads with what is fixed in the design. "
    "Free a part, allow another battery voltage, or give the figures of a part that fits."
)
HOURS_PER_DAY = 24.0
# So many systems are looked at for the one that is refused for the fewest reasons.
MOST_LOOKED_AT = 150
# Where the largest array covers less than this share of the loads, more of it is no help.
NEXT_TO_NO_SUN = 0.02


def refusals(question: Question, system: System) -> tuple[Finding, ...]:
    """What forbids a system when the rules know its winters, and its wiring is drawn.

    Parameters
    ----------
    question : Question
        The design and its sky.
    system : System
        One that keeps the promise.

    Returns
    -------
    tuple of Finding
        Empty for a system that may be proposed.
    """
    design, setting = question.design, question.setting
    found = wiring_refusals(design, setting, system)
    if found:
        return found
    proof = prove_worn(question, system)
    forbidding = hard_findings(case_of(design, setting, system, proof=proof))
    del proof
    give_back()  # its traces; a search asks this of several systems
    return forbidding


# --- nothing fits ---------------------------------------------------------------------------


def why_nothing_fits(question: Question, searcher: Searcher) -> str:
    """Say which part or rule leaves a design without an answer, and what to do about it.

    Parameters
    ----------
    question : Question
        The design.
    searcher : Searcher
        Whose space is empty, or holds nothing that the rules allow.
    """
    if searcher.space.systems == 0:
        reasons = tuple(_missing(question, searcher.space.too_heavy_from_kg))
        return joined((NOTHING_FITS, *reasons), " ") if reasons else NOTHING_FITS
    nearest, reasons_why = _least_refused(question, searcher)
    if nearest is None or not reasons_why:
        return NOTHING_FITS
    first, most_kg = reasons_why[0], question.design.search.max_weight_kg
    remedy = first.remedy.sentence if first.remedy is not None else ""
    return joined(
        (
            phrase(
                "Nothing that could be built of the parts on the list may be built for these "
                "loads. The nearest is {parts}; it is refused.",
                parts=words_for(nearest),
            ),
            first.sentence,
            *((remedy,) if remedy else ()),
            *(() if most_kg is None else (_too_heavy(most_kg, inf),)),
        ),
        " ",
    )


def _missing(question: Question, lightest_kg: float) -> Iterator[str]:
    """Parts that no bank voltage finds on the list, or finds too heavy."""
    design, kit, demand = question.design, question.kit, question.setting.demand
    limits, catalogue = design.search, shipped_catalogue()
    volts = options.bank_voltages(kit, limits)
    mains_v = design.site.mains_v
    if limits.max_weight_kg is not None:
        yield _too_heavy(limits.max_weight_kg, lightest_kg)
    fed = [
        options.feeds(kit, catalogue, limits, demand, bank_v=one, mains_v=mains_v) for one in volts
    ]
    if not any(fed):
        yield from _unfed(question)
    banks = [options.banks(kit, catalogue, limits, demand, bank_v=one) for one in volts]
    if not any(banks):
        yield phrase(
            "The limit is the battery: none on the list makes a bank of {volts} with at most "
            "{most} of them ([search] max_batteries).",
            volts=_volts(volts),
            most=limits.max_batteries,
        )
    controls = [options.controls(kit, catalogue, limits, bank_v=one) for one in volts]
    if not any(controls):
        yield phrase(
            "The limit is the charge controller: none that the search may choose serves a bank "
            "of {volts}.",
            volts=_volts(volts),
        )


def _too_heavy(most_kg: float, lightest_kg: float) -> str:
    if isfinite(lightest_kg):
        return phrase(
            "The limit is the weight: panels and batteries may weigh {most_kg:.0f} kg together "
            "([search] max_weight), and the lightest that go together weigh {lightest_kg:.1f} kg. "
            "Allow at least that; more where it shall also last through the winter.",
            most_kg=most_kg,
            lightest_kg=lightest_kg,
        )
    return phrase(
        "Panels and batteries may weigh {most_kg:.0f} kg together ([search] max_weight): "
        "what is heavier, or has no weight on the list, is left out. Allow more weight.",
        most_kg=most_kg,
    )


def _unfed(question: Question) -> Iterator[str]:
    design, kit, demand = question.design, question.kit, question.setting.demand
    if "mains" not in demand.supplies() or kit.inverter.inverter is not None:
        yield phrase(
            "The limit is the way to the loads: no inverter or converter on the list brings their "
            "voltages from a bank of {volts}.",
            volts=_volts(options.bank_voltages(kit, design.search)),
        )
        return
    if kit.inverter.absent:
        yield phrase(
            "The limit is the inverter: a load runs from the mains, and the design says that "
            "there is none."
        )
        return
    mains_v = design.site.mains_v
    offers = [
        one for one in shipped_catalogue().inverters if abs(one.output_v - mains_v) <= 0.1 * mains_v
    ]
    if not offers:
        return
    largest = max(offers, key=lambda one: one.rated_w)
    peak_w = float(demand.by_supply_and_importance("mains").sum(axis=0).max())
    yield phrase(
        "The limit is the inverter: these loads draw up to {peak_w:,.0f} W at once and "
        "{surge_w:,.0f} W as they start; the largest on the list, {name}, gives {rated_w:,.0f} W "
        "and {most_w:,.0f} W for a moment. Give the figures of a larger one, or start the loads "
        "one after the other.",
        peak_w=_rounded(peak_w),
        surge_w=_rounded(demand.surge_w("mains")),
        name=largest.name,
        rated_w=largest.rated_w,
        most_w=largest.surge_w,
    )


def _volts(volts: tuple[float, ...]) -> str:
    return joined((phrase("{volts:.0f} V", volts=one) for one in volts), last=phrase(" or "))


def _least_refused(
    question: Question, searcher: Searcher
) -> tuple[System | None, tuple[Finding, ...]]:
    """Of some of the strongest systems, the one with the fewest reasons against it."""
    best: tuple[System | None, tuple[Finding, ...]] = (None, ())
    for system in _some_strong(searcher):
        case = case_of(question.design, question.setting, system)
        found = hard_findings(case) or wiring_refusals(question.design, question.setting, system)
        if found and (best[0] is None or len(found) < len(best[1])):
            best = (system, found)
    return best


def _some_strong(searcher: Searcher) -> Iterator[System]:
    space = searcher.space
    choices = []
    for number, group in enumerate(space.groups):
        for position, bank in enumerate(group.banks):
            pairs = np.nonzero(group.suits(bank))[0]
            if pairs.size:
                strongest = int(pairs[np.argmax(group.power_w[pairs])])
                choices += [
                    Choice(number, feed, position, strongest, 0) for feed in range(len(group.feeds))
                ]
    every = max(len(choices) // MOST_LOOKED_AT, 1)
    return (space.system(choice) for choice in choices[::every])


# --- the closest misses the promise -----------------------------------------------------------


def what_is_short(question: Question, searcher: Searcher, closest: Answer) -> str:
    """Say what the closest system gathers and stores in the darkest weeks, and what would help.

    Parameters
    ----------
    question : Question
        The design.
    searcher : Searcher
        That found nothing to keep the promise.
    closest : Answer
        What comes closest.
    """
    system, bounds = closest.system, searcher.trials().bounds
    draw = bounds.draws.rows[bounds.draws.row(system)]
    inside = np.zeros(draw.by_class_w.shape[0], dtype=bool)
    for first, end in bounds.spans:
        inside[first:end] = True
    asked_wh = float(draw.by_class_w[inside].sum(axis=1).mean() + draw.idle_w) * HOURS_PER_DAY
    sun_wh = sum(
        bounds.light.scarce_wh_per_day(row) * times
        for row, times in bounds.light.middle_parts(system)
    )
    stored_wh = 0.0 if system.bank is None else system.bank.energy_wh * WORN_OUT
    what = phrase(
        "What is shown comes closest of the largest that may be built: in the darkest weeks its "
        "panels gather about {sun_wh:,.0f} Wh a day, the loads ask for {asked_wh:,.0f} Wh, and "
        "its battery, full but no longer new, holds {days:.0f} days of that.",
        sun_wh=_rounded(sun_wh),
        asked_wh=_rounded(asked_wh),
        days=stored_wh / max(asked_wh, 1e-9),
    )
    limit = _what_helps(question.design.search, sun_wh / max(asked_wh, 1e-9))
    return joined((what, limit), " ")


def _what_helps(limits: Search, covered: float) -> str:
    """What to allow or to ask for less of; ``covered`` is the sun's share of what is asked [-]."""
    if limits.max_weight_kg is not None:
        return phrase(
            "The limit is the weight that panels and batteries may have together "
            "([search] max_weight is {most_kg:.0f} kg): allow more, or ask for less in the dark "
            "months.",
            most_kg=limits.max_weight_kg,
        )
    if covered < NEXT_TO_NO_SUN:
        return phrase(
            "The limit is the sun: in the darkest weeks there is next to none, and more panels do "
            "not bring it. Ask for less then, or let a second source help ([backup])."
        )
    if covered < 1.0:
        return phrase(
            "The limit is the sun on the panels: allow more of them ([search] max_panels is "
            "{panels}), ask for less in the dark months, or let a second source help ([backup]).",
            panels=limits.max_panels,
        )
    return phrase(
        "The limit is the battery: allow more of them ([search] max_batteries is "
        "{batteries}), give the figures of a larger one of your own, or ask for less.",
        batteries=limits.max_batteries,
    )


def _rounded(value: float) -> float:
    """Two digits are all that is known."""
    return float(f"{value:.1e}")

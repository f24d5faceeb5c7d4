"""Pumps straight on panels in a plan: beside a battery system, or all there is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from sunpantry import __version__
from sunpantry.errors import SearchError
from sunpantry.match.finding import Finding
from sunpantry.phrases import joined, phrase
from sunpantry.plan.direct_pump import OPEN_ARRAY, DirectPump, choose_direct
from sunpantry.plan.direct_suiting import direct_findings
from sunpantry.plan.parts_list import parts_of
from sunpantry.plan.pump_proof import proof_of_pumps, system_of_pumps
from sunpantry.plan.types import Plan, SearchReport, WaterReport
from sunpantry.plan.verdict import about_hours, promise_hours, promise_kept, share_words
from sunpantry.plan.water import water_findings, water_parts, water_reports
from sunpantry.plan.water_workings import water_workings
from sunpantry.plan.wires import wiring_of_pumps
from sunpantry.simulate.proof import Proof
from sunpantry.simulate.setting import Setting
from sunpantry.simulate.water import DirectPumping
from sunpantry.sizing.cost import Cost, Item

if TYPE_CHECKING:
    from sunpantry.plan.questions import Question


def choose_pumps(question: Question) -> tuple[DirectPump, ...]:
    """Choose panels and pipe for every pump that hangs straight on a panel.

    Parameters
    ----------
    question : Question
        The design and its sky. Where nothing runs from a battery, the first [[array]]
        tells what is fixed of the first pump's panels, and so on.

    Raises
    ------
    SearchError
        When the panels must not be wired as the document has them.
    """
    kits = () if question.setting.demand.loads else question.kit.arrays
    promise_h = promise_hours(question.design)
    jobs = [job for job in question.setting.demand.pumps if job.is_direct]
    chosen = tuple(
        choose_direct(
            question.setting,
            job,
            kit=kits[number] if number < len(kits) else OPEN_ARRAY,
            limits=question.design.search,
            pricing=question.pricing,
            allowed_h=promise_h[job.importance],
        )
        for number, job in enumerate(jobs)
    )
    for found in direct_findings(question.design, question.setting, chosen):
        if found.severity.is_hard:
            cure = () if found.remedy is None else (found.remedy.sentence,)
            raise SearchError(joined((found.sentence, *cure), " "))
    return chosen


def with_water(cost: Cost, question: Question) -> Cost:
    """Add to the cost of a system what it takes to bring the water.

    Parameters
    ----------
    cost : Cost
        Of the system.
    question : Question
        The design and its sky.

    Returns
    -------
    Cost
        With the pipes that were chosen, and the panels of pumps beside the battery system.
    """
    panels = _panels_beside(question)
    return replace(
        cost,
        purchase=cost.purchase + price_of_water(question),
        items=cost.items + panels,
    )


def price_of_water(question: Question) -> float:
    """Price of the pipes chosen, and of panels beside the battery system [currency].

    A pipe whose bore the document gives is there already.
    """
    jobs = [one.job for one in question.direct]
    jobs += [job for job in question.setting.demand.pumps if not job.is_direct]
    pipes = sum(job.pipe.price or 0.0 for job in jobs if job.pump.pipe_bore_mm is None)
    return pipes + sum(item.to_pay for item in _panels_beside(question))


def _panels_beside(question: Question) -> tuple[Item, ...]:
    """Panels of direct pumps, where they are not all there is."""
    if not question.setting.demand.loads:
        return ()
    return tuple(
        Item(
            "panel",
            one.array.panel,
            one.array.count,
            one.array.owned,
            question.pricing.price(one.array.panel),
        )
        for one in question.direct
    )


def plan_of_pumps(question: Question) -> Plan:
    """Answer a design in which everything hangs straight on panels.

    Parameters
    ----------
    question : Question
        The design and its sky.
    """
    design, setting, direct = question.design, question.setting, question.direct
    promise = promise_hours(design)
    system = system_of_pumps(direct)
    proof = proof_of_pumps(setting, direct, promise)
    darker = _under_darker_sky(question)
    kept = promise_kept(proof, promise)
    cost = with_water(question.pricing.cost(system, life_years=None), question)
    reports = water_reports(setting, system, proof, direct, design.wiring)
    return Plan(
        design=design,
        sky=question.sky,
        demand=setting.demand,
        system=system,
        parts=(*parts_of(cost), *water_parts(reports, design.money.currency)),
        verdict=phrase("Yes: {name} {keeps}.", name=design.name, keeps=_told(proof, kept=kept))
        if kept
        else phrase("No: {name} {keeps}.", name=design.name, keeps=_told(proof, kept=kept)),
        verdict_if_darker=phrase(
            "If your place is {share} darker than the table, it {keeps}.",
            share=share_words(question.share_darker),
            keeps=_told(darker, kept=promise_kept(darker, promise)),
        ),
        proof=proof,
        proof_new=proof,
        proof_darker=darker,
        search=_report(direct, kept=kept),
        frontier=(),
        cost=cost,
        findings=_findings(question, reports),
        wiring=wiring_of_pumps(design, setting, direct),
        workings=water_workings(setting, reports),
        uncertain=(),
        notes=tuple(dict.fromkeys((*question.sky.notes, *question.sky.weather.notes))),
        seed=design.seed,
        version=__version__,
        setting=setting,
        water=reports,
    )


def _findings(question: Question, reports: Sequence[WaterReport]) -> tuple[Finding, ...]:
    found = (
        *direct_findings(question.design, question.setting, question.direct),
        *water_findings(reports, question.sky.place.altitude_m),
    )
    return tuple(sorted(found, key=lambda one: one.severity))


def _under_darker_sky(question: Question) -> Proof:
    dark: Setting = question.darker()
    pumps = tuple(
        replace(one, run=DirectPumping(dark, one.job).run(one.array, one.job.pipe))
        for one in question.direct
    )
    return proof_of_pumps(dark, pumps, promise_hours(question.design))


def _told(proof: Proof, *, kept: bool) -> str:
    clear, winters = proof.winters_without_shortfall, proof.winters
    if clear == winters:
        return phrase("has water at every hour of all {winters} years", winters=winters)
    return phrase(
        "{keeps}; {clear} of {winters} years pass without a dry tank, and on average water is "
        "missing for {hours} a year",
        keeps=phrase("keeps its promise") if kept else phrase("does not keep its promise"),
        clear=clear,
        winters=winters,
        hours=about_hours(proof.hours_without_power_per_year),
    )


def _report(direct: tuple[DirectPump, ...], *, kept: bool) -> SearchReport:
    spoke_for = sum(one.spoke_for for one in direct)
    simulated = sum(one.simulated for one in direct)
    if spoke_for == len(direct):
        words = phrase("Panels and pipe were fixed in the design; nothing had to be chosen.")
    elif kept:
        words = phrase(
            "The cheapest of {spoke_for:,} combinations of panels and pipe that keeps the "
            "promise, {simulated:,} of them run through the years.",
            spoke_for=spoke_for,
            simulated=simulated,
        )
    else:
        words = phrase(
            "None of {spoke_for:,} combinations of panels and pipe keeps the promise.",
            spoke_for=spoke_for,
        )
    return SearchReport(
        spoke_for=spoke_for,
        simulated=simulated,
        chosen=spoke_for > len(direct),
        kept=kept,
        stopped_early=False,
        words=words,
    )

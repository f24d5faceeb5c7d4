"""From a design to its plan: every room asked in turn, nothing decided twice."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from sunpantry import __version__
from sunpantry.design.models import Design
from sunpantry.errors import SearchError
from sunpantry.match.case import choices_of
from sunpantry.match.rules import check, may_combine
from sunpantry.memory import give_back
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.system import System
from sunpantry.phrases import joined, phrase
from sunpantry.physics.battery import WORN_OUT
from sunpantry.plan.alternatives import carried_only, helped
from sunpantry.plan.battery_years import battery_figures
from sunpantry.plan.facing import open_azimuth_deg
from sunpantry.plan.parts_list import parts_of
from sunpantry.plan.proofs import Proofs, prove_all
from sunpantry.plan.pumps import plan_of_pumps, price_of_water, with_water
from sunpantry.plan.questions import Question, question_of
from sunpantry.plan.refused import refusals, what_is_short, why_nothing_fits
from sunpantry.plan.second import second_source_report, within_trips
from sunpantry.plan.suiting import case_of, hottest_cell_c, load_facts, peaks_of
from sunpantry.plan.types import Alternative, Plan, SearchReport
from sunpantry.plan.uncertainty import worth_measuring
from sunpantry.plan.verdict import promise_hours, promise_kept, verdict_if_darker, verdict_of
from sunpantry.plan.water import water_findings, water_parts, water_reports
from sunpantry.plan.water_workings import water_workings
from sunpantry.plan.wires import wiring_of
from sunpantry.plan.workings import workings_of
from sunpantry.simulate.proof import Proof
from sunpantry.simulate.second_source import SecondSource, second_source_of, standing_backup
from sunpantry.sizing.answer import Answer
from sunpantry.sizing.cost import Cost
from sunpantry.sizing.margin import safest_tilt
from sunpantry.sizing.promise import Demanded
from sunpantry.sizing.search import Searcher, SearchResult
from sunpantry.sizing.space import space_of
from sunpantry.sizing.tilts import tilt_candidates

if TYPE_CHECKING:
    from sunpantry.sizing.frontier import FrontierPoint

_FIXED = SearchReport(
    spoke_for=1,
    simulated=1,
    chosen=False,
    kept=True,
    stopped_early=False,
    words=phrase("Every part was fixed in the design; nothing had to be chosen."),
)

Progress = Callable[[float, str], None]


def _silent(fraction: float, words: str) -> None:
    del fraction, words


def make_plan(
    design: Design, *, folder: Path | None = None, progress: Progress | None = None
) -> Plan:
    """Answer a design.

    Parameters
    ----------
    design : Design
        What must run, where, with what.
    folder : Path, optional
        Where a relative weather file is looked for; the current directory by default.
    progress : callable, optional
        Told the fraction done and what is going on.

    Returns
    -------
    Plan
        The same for the same design, version and seed.

    Raises
    ------
    InputError, WeatherError, SearchError
        When the design cannot be answered.
    """
    tell = progress or _silent
    tell(0.0, "looking at the sky")
    question = question_of(design, folder=folder)
    tell(0.1, "choosing parts")
    if not question.setting.demand.loads:
        return plan_of_pumps(question)
    found = _choose(question, tell)
    give_back()
    tell(0.85, "proving the choice")
    return plan_for(
        question,
        found.system,
        search=found.report,
        frontier=found.frontier,
        alternatives=found.alternatives,
    )


@dataclass(frozen=True, eq=False)
class _Found:
    system: System
    report: SearchReport
    frontier: tuple[FrontierPoint, ...]
    alternatives: tuple[Alternative, ...] = ()


def _choose(question: Question, tell: Progress) -> _Found:
    """Search the space that the design leaves open; a space of one needs no search."""
    searcher = searcher_of(question)
    demanded = Demanded.of(question.design)
    systems = searcher.space.systems
    if systems == 0:
        raise SearchError(why_nothing_fits(question, searcher))
    if systems == 1:
        only = next(iter(searcher.space))
        return _Found(searcher.space.system(only), _FIXED, ())
    result = searcher.find(
        demanded, progress=lambda fraction, words: tell(0.1 + 0.6 * fraction, words)
    )
    answer = result.best or result.closest
    if answer is None:
        why = result.words if result.stopped_early else why_nothing_fits(question, searcher)
        raise SearchError(why)
    if result.best is not None and not result.stopped_early:
        answer = safest_tilt(searcher, demanded, answer, darker=question.darker())
    tell(0.7, "looking at cheaper and safer neighbours")
    report = SearchReport(
        spoke_for=result.spoke_for,
        simulated=result.simulated,
        chosen=True,
        kept=result.best is not None,
        stopped_early=result.stopped_early,
        words=(
            joined((result.words, what_is_short(question, searcher, answer)), " ")
            if result.best is None
            else result.words
        ),
    )
    points: tuple[FrontierPoint, ...] = ()
    if not result.stopped_early:
        answer, points = _with_neighbours(
            searcher, demanded, result, answer, weigh=question.design.search.weigh
        )
    return _Found(
        answer.system,
        report,
        points,
        _other_ways(question, points, answer.cost.total),
    )


def _with_neighbours(
    searcher: Searcher, demanded: Demanded, result: SearchResult, answer: Answer, *, weigh: bool
) -> tuple[Answer, tuple[FrontierPoint, ...]]:
    """The choice, or what the walk along the frontier found to be cheaper, and its neighbours."""
    from sunpantry.sizing.frontier import cheapest_known, frontier_of

    points = frontier_of(searcher, demanded, result, answer, weigh=weigh)
    if result.best is None or result.proven:
        return answer, points
    better = cheapest_known(searcher, demanded, answer)
    if better is answer:
        return answer, points
    result = replace(result, best=better)
    return better, frontier_of(searcher, demanded, result, better, weigh=weigh)


def _other_ways(
    question: Question, points: tuple[FrontierPoint, ...], total: float
) -> tuple[Alternative, ...]:
    """What a second source would change, where the design lets the search look for it."""
    design, setting, pricing = question.design, question.setting, question.pricing
    if not design.search.backup:
        return ()
    smaller = [one.system for one in points if one.total < total]
    ways = helped(setting, design, pricing, smaller=smaller, main_total=total)
    return (*ways, *carried_only(setting, design, pricing))


def searcher_of(question: Question) -> Searcher:
    """Searcher over everything the design leaves open, with the hard rules of matching."""
    design, setting = question.design, question.setting
    climate, latitude = question.sky.climate, question.sky.place.latitude
    facing_deg = open_azimuth_deg(question.kit, setting)
    space = space_of(
        design,
        question.kit,
        shipped_catalogue(),
        setting.demand,
        # an array too high for its controller destroys it once and for all: the hardest frost
        coldest_c=climate.never_colder_c,
        latitude_deg=latitude,
        tilts=tilt_candidates(setting, facing_deg, seasonal=design.search.seasonal_tilt),
    )
    facts, peaks = load_facts(setting.demand), peaks_of(setting.demand)
    hottest_c = hottest_cell_c(setting)
    fixed = space.systems == 1

    def acceptable(system: System) -> bool:
        return fixed or may_combine(
            system,
            coldest_c=climate.mean_annual_minimum_c,
            hottest_cell_c=hottest_c,
            loads=facts,
            peaks_w=peaks,
            mains_v=design.site.mains_v,
            choices=choices_of(design),
        )

    return Searcher(
        setting=setting,
        space=space,
        pricing=question.pricing,
        acceptable=acceptable,
        acceptable_fed=acceptable,
        sound=lambda system: fixed or not refusals(question, system),
        second_source=_charging(design),
        most_trips=None if design.backup is None else design.backup.max_per_winter,
        capacity_left=WORN_OUT,
    )


def _charging(design: Design) -> SecondSource | None:
    """Second source while parts are chosen; a transfer's promise is of hours on the mains."""
    source = second_source_of(standing_backup(design))
    return None if source is not None and source.transfer else source


def plan_for(
    question: Question,
    system: System,
    *,
    search: SearchReport,
    frontier: tuple[FrontierPoint, ...] = (),
    alternatives: tuple[Alternative, ...] = (),
    proofs: Proofs | None = None,
) -> Plan:
    """Prove, check, wire and price one system for a question.

    Parameters
    ----------
    question : Question
        The design and its sky.
    system : System
        The system.
    search : SearchReport
        How it was chosen; whether it keeps the promise is judged here.
    frontier : tuple of FrontierPoint
        Its neighbours in cost and hours.
    alternatives : tuple of Alternative
        Other ways, with a second source.
    proofs : Proofs, optional
        Of this system, where they are there already.
    """
    design, setting = question.design, question.setting
    if not setting.demand.loads:
        return plan_of_pumps(question)
    proofs, promise = proofs or prove_all(question, system), promise_hours(design)
    backup = standing_backup(design)
    helper = second_source_report(backup, proofs.worn)
    kept = promise_kept(proofs.worn, promise) and within_trips(helper)
    cost, water = cost_of(question, system, proofs.worn), price_of_water(question)
    reports = water_reports(setting, system, proofs.worn, question.direct, design.wiring)
    suiting = check(case_of(design, setting, system, proof=proofs.worn))
    findings = (*suiting, *water_findings(reports, question.sky.place.altitude_m))
    return Plan(
        design=design,
        sky=question.sky,
        demand=setting.demand,
        system=system,
        parts=(*parts_of(cost), *water_parts(reports, design.money.currency)),
        verdict=verdict_of(design, proofs.worn, kept=kept),
        verdict_if_darker=verdict_if_darker(
            proofs.darker,
            kept=promise_kept(proofs.darker, promise),
            kept_before=kept,
            fraction=question.share_darker,
        ),
        proof=proofs.worn,
        proof_new=proofs.new,
        proof_darker=proofs.darker,
        search=replace(search, kept=kept),
        frontier=tuple(
            replace(one, total=one.total + water, purchase=one.purchase + water) for one in frontier
        ),
        cost=cost,
        findings=tuple(sorted(findings, key=lambda one: one.severity)),
        wiring=wiring_of(design, setting, system, proof=proofs.worn, direct=question.direct),
        workings=(
            *workings_of(setting, system, proofs.worn, cost, years=design.money.years),
            *battery_figures(proofs.new, proofs.fading),
            *water_workings(setting, reports),
        ),
        uncertain=worth_measuring(
            setting, system, capacity_left=WORN_OUT, second_source=second_source_of(backup)
        ),
        notes=tuple(dict.fromkeys((*question.sky.notes, *question.sky.weather.notes))),
        seed=design.seed,
        version=__version__,
        setting=setting,
        water=reports,
        second_source=helper,
        alternatives=alternatives,
        fading=proofs.fading,
    )


def cost_of(question: Question, system: System, proof: Proof) -> Cost:
    """What a system costs, with the battery life and the second source its proof shows."""
    cost = question.pricing.cost(
        system,
        life_years=None if proof.life is None else proof.life.years,
        backup_wh_per_year=proof.audit.brought_in_wh,
    )
    return with_water(cost, question)

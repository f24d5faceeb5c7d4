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
from sunpantry.parts.catalogue import shipped_catalogue
from sunpantry.parts.resolve import Kit, resolve_kit
from sunpantry.parts.system import System
from sunpantry.physics.battery import WORN_OUT
from sunpantry.plan.parts_list import parts_of
from sunpantry.plan.questions import setting_of
from sunpantry.plan.suiting import case_of, hottest_cell_c, load_facts, peaks_of
from sunpantry.plan.types import Plan, SearchReport
from sunpantry.plan.uncertainty import worth_measuring
from sunpantry.plan.verdict import promise_hours, promise_kept, verdict_if_darker, verdict_of
from sunpantry.plan.wires import wiring_of
from sunpantry.simulate.proof import Proof, prove
from sunpantry.simulate.second_source import second_source_of
from sunpantry.simulate.setting import Setting
from sunpantry.sizing.cost import Cost, Pricing
from sunpantry.sizing.promise import Demanded
from sunpantry.sizing.search import Searcher
from sunpantry.sizing.space import space_of
from sunpantry.sizing.tilts import tilt_candidates
from sunpantry.sky.from_site import SiteSky, sky_of

if TYPE_CHECKING:
    from sunpantry.sizing.frontier import FrontierPoint

DARKER = 0.10
NOTHING_FITS = (
    "No combination of parts on the list serves these loads with what is fixed in the design. "
    "Free a part, allow another battery voltage, or give the figures of a part that fits."
)
_FIXED = SearchReport(
    spoke_for=1,
    simulated=1,
    chosen=False,
    kept=True,
    stopped_early=False,
    words="Every part was fixed in the design; nothing had to be chosen.",
)

Progress = Callable[[float, str], None]


def _silent(fraction: float, words: str) -> None:
    del fraction, words


@dataclass(frozen=True, eq=False)
class Question:
    """A design with everything that is looked up once for it.

    Parameters
    ----------
    design : Design
        As written.
    sky : SiteSky
        Place, climate, years.
    setting : Setting
        Sky and demand ready for simulation.
    kit : Kit
        What the design fixes.
    pricing : Pricing
        Prices and terms.
    """

    design: Design
    sky: SiteSky
    setting: Setting
    kit: Kit
    pricing: Pricing


@dataclass(frozen=True, eq=False)
class Proofs:
    """The runs that a plan rests on."""

    worn: Proof
    new: Proof
    darker: Proof


def question_of(design: Design, *, folder: Path | None = None) -> Question:
    """Look up everything a design refers to.

    Parameters
    ----------
    design : Design
        The design.
    folder : Path, optional
        Where a relative weather file is looked for.

    Raises
    ------
    InputError, WeatherError
        When something cannot be used.
    """
    sky = sky_of(
        design.site,
        years=design.winters,
        seed=design.seed,
        step_h=design.step_h,
        folder=folder,
    )
    south = sky.place.latitude < 0.0
    kit = resolve_kit(design, shipped_catalogue(), south=south)
    return Question(
        design=design,
        sky=sky,
        setting=setting_of(design, sky),
        kit=kit,
        pricing=Pricing.of(design, kit),
    )


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
    found = _choose(question, tell)
    tell(0.85, "proving the choice")
    return plan_for(question, found.system, search=found.report, frontier=found.frontier)


@dataclass(frozen=True, eq=False)
class _Found:
    system: System
    report: SearchReport
    frontier: tuple[FrontierPoint, ...]


def _choose(question: Question, tell: Progress) -> _Found:
    """Search the space that the design leaves open; a space of one needs no search."""
    searcher = searcher_of(question)
    demanded = Demanded.of(question.design)
    systems = searcher.space.systems
    if systems == 0:
        raise SearchError(NOTHING_FITS)
    if systems == 1:
        only = next(iter(searcher.space))
        return _Found(searcher.space.system(only), _FIXED, ())
    result = searcher.find(
        demanded, progress=lambda fraction, words: tell(0.1 + 0.6 * fraction, words)
    )
    answer = result.best or result.closest
    if answer is None:
        raise SearchError(NOTHING_FITS if not result.stopped_early else result.words)
    tell(0.7, "looking at cheaper and safer neighbours")
    report = SearchReport(
        spoke_for=result.spoke_for,
        simulated=result.simulated,
        chosen=True,
        kept=result.best is not None,
        stopped_early=result.stopped_early,
        words=result.words,
    )
    points: tuple[FrontierPoint, ...] = ()
    if not result.stopped_early:
        from sunpantry.sizing.frontier import frontier_of

        points = frontier_of(searcher, demanded, answer)
    return _Found(answer.system, report, points)


def searcher_of(question: Question) -> Searcher:
    """Searcher over everything the design leaves open, with the hard rules of matching."""
    design, setting = question.design, question.setting
    climate, latitude = question.sky.climate, question.sky.place.latitude
    equator_deg = 180.0 if latitude >= 0.0 else 0.0
    space = space_of(
        design,
        question.kit,
        shipped_catalogue(),
        setting.demand,
        # an array too high for its controller destroys it once and for all: the hardest frost
        coldest_c=climate.never_colder_c,
        latitude_deg=latitude,
        tilts=tilt_candidates(setting, equator_deg, seasonal=design.search.seasonal_tilt),
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
        second_source=second_source_of(design.backup),
        capacity_left=WORN_OUT,
    )


def plan_for(
    question: Question,
    system: System,
    *,
    search: SearchReport,
    frontier: tuple[FrontierPoint, ...] = (),
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
    """
    design, setting = question.design, question.setting
    proofs = prove_all(question, system)
    promise = promise_hours(design)
    kept = promise_kept(proofs.worn, promise)
    cost = cost_of(question, system, proofs.worn)
    case = case_of(design, setting, system, proof=proofs.worn)
    source = second_source_of(design.backup)
    return Plan(
        design=design,
        sky=question.sky,
        demand=setting.demand,
        system=system,
        parts=parts_of(cost),
        verdict=verdict_of(design, proofs.worn, kept=kept),
        verdict_if_darker=verdict_if_darker(
            proofs.darker, kept=promise_kept(proofs.darker, promise), fraction=DARKER
        ),
        proof=proofs.worn,
        proof_new=proofs.new,
        proof_darker=proofs.darker,
        search=replace(search, kept=kept),
        frontier=frontier,
        cost=cost,
        findings=check(case),
        wiring=wiring_of(design, setting, system, proof=proofs.worn),
        workings=(),
        uncertain=worth_measuring(setting, system, capacity_left=WORN_OUT, second_source=source),
        notes=tuple(dict.fromkeys((*question.sky.notes, *question.sky.weather.notes))),
        seed=design.seed,
        version=__version__,
        setting=setting,
    )


def prove_all(question: Question, system: System) -> Proofs:
    """Run the system worn, new, and worn under a darker sky."""
    design, setting, sky = question.design, question.setting, question.sky
    promise = promise_hours(design)
    source = second_source_of(design.backup)

    def run(where: Setting, capacity_left: float) -> Proof:
        return prove(
            where, system, promise_h=promise, capacity_left=capacity_left, second_source=source
        )

    climate, weather = sky.darker(DARKER, seed=design.seed)
    dark = Setting(
        climate=climate,
        weather=weather,
        demand=setting.demand,
        ground=setting.ground,
        habits=setting.habits,
    )
    return Proofs(worn=run(setting, WORN_OUT), new=run(setting, 1.0), darker=run(dark, WORN_OUT))


def cost_of(question: Question, system: System, proof: Proof) -> Cost:
    """What a system costs, with the battery life and the second source its proof shows."""
    return question.pricing.cost(
        system,
        life_years=None if proof.life is None else proof.life.years,
        backup_wh_per_year=proof.audit.brought_in_wh,
    )

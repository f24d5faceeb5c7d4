"""What the page shows of a plan: plain numbers and words, small enough to send about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sunpantry.figures import Figure, Given
from sunpantry.phrases import phrase
from sunpantry.web.picture import DECEMBER, JUNE, Picture, daily_wh, picture_of

if TYPE_CHECKING:
    from sunpantry.design.models import Design
    from sunpantry.parts.system import System
    from sunpantry.plan.types import Plan
    from sunpantry.simulate.load_proof import LoadProof
    from sunpantry.simulate.proof import Proof
    from sunpantry.simulate.setting import Setting
    from sunpantry.web.circuit import Drawn


@dataclass(frozen=True)
class LoadLine:
    """What one load asks for, and how it fares.

    Parameters
    ----------
    name : str
        As in the document.
    share : float
        Of the energy of the year [-].
    yearly_wh, june_wh, december_wh : float
        Asked for [Wh/year, Wh/day].
    hours_without : float
        In a year [h].
    costs_per_year : float
        Its share of what the system costs over its years [currency/year].
    figures : tuple of Figure
        How share and cost come about.
    """

    name: str
    share: float
    yearly_wh: float
    june_wh: float
    december_wh: float
    hours_without: float
    costs_per_year: float
    figures: tuple[Figure, ...]


@dataclass(frozen=True)
class Glance:
    """The quick answer to a change: the verdict, the picture, the shares.

    Parameters
    ----------
    verdict : str
        One sentence, in English.
    kept : bool
        The promise is kept.
    winters, clear_winters : int
        Run, and without a dark hour.
    hours_without, longest_gap_h, must_hours : float
        Mean of a year; worst stretch; of what must run [h].
    picture : Picture
        The system.
    loads : tuple of LoadLine
        What runs.
    cost : float
        Of everything over its years [currency].
    took_s : float
        To compute [s].
    """

    verdict: str
    kept: bool
    winters: int
    clear_winters: int
    hours_without: float
    longest_gap_h: float
    must_hours: float
    picture: Picture
    loads: tuple[LoadLine, ...]
    cost: float
    took_s: float


@dataclass(frozen=True)
class Answer:
    """Everything a page shows of a plan.

    Parameters
    ----------
    glance : Glance
        The headlines.
    plan : dict
        As the command line writes it with --json.
    wiring : tuple of Figure
        Workings of cables, fuses and settings.
    drawings : dict of str to Drawn
        The plain picture and the circuit diagram.
    pinned : str
        The document with every part written down (TOML).
    """

    glance: Glance
    plan: dict[str, Any]
    wiring: tuple[Figure, ...]
    drawings: dict[str, Drawn]
    pinned: str


def glance_of(
    design: Design,
    setting: Setting,
    system: System,
    proof: Proof,
    *,
    verdict: str,
    kept: bool,
    cost: float,
    took_s: float,
) -> Glance:
    """Sum up a proof for the page.

    Parameters
    ----------
    design, setting, system, proof
        As in a plan.
    verdict, kept, cost, took_s
        See :class:`Glance`.
    """
    return Glance(
        verdict=verdict,
        kept=kept,
        winters=proof.winters,
        clear_winters=proof.winters_without_shortfall,
        hours_without=proof.hours_without_power_per_year,
        longest_gap_h=proof.longest_gap_h,
        must_hours=proof.hours_without_by_class[0],
        picture=picture_of(setting, system, proof),
        loads=load_lines(setting, proof, cost_per_year=cost / max(design.money.years, 1.0)),
        cost=cost,
        took_s=took_s,
    )


def glance_of_plan(plan: Plan, took_s: float) -> Glance:
    """The headlines of a whole plan."""
    return glance_of(
        plan.design,
        plan.setting,
        plan.system,
        plan.proof,
        verdict=plan.verdict,
        kept=plan.search.kept,
        cost=plan.cost.total,
        took_s=took_s,
    )


def load_lines(setting: Setting, proof: Proof, *, cost_per_year: float) -> tuple[LoadLine, ...]:
    """Share of each load, and what it costs to run by that share."""
    whole = max(sum(one.energy_wh_per_year for one in proof.loads), 1e-9)
    lines = []
    known = {series.name: series for series in setting.demand.loads}
    for one in proof.loads:
        daily = [one.energy_wh_per_year / 365.0] * 12
        if one.name in known:
            daily = daily_wh(setting, known[one.name])
        share = one.energy_wh_per_year / whole
        lines.append(
            LoadLine(
                name=one.name,
                share=share,
                yearly_wh=one.energy_wh_per_year,
                june_wh=daily[JUNE],
                december_wh=daily[DECEMBER],
                hours_without=one.hours_without_per_year,
                costs_per_year=share * cost_per_year,
                figures=_load_figures(one, whole_wh=whole, cost_per_year=cost_per_year),
            )
        )
    return tuple(lines)


def _load_figures(load: LoadProof, *, whole_wh: float, cost_per_year: float) -> tuple[Figure, ...]:
    share = load.energy_wh_per_year / whole_wh
    return (
        Figure(
            name=phrase("share of {load}", load=load.name),
            value=100.0 * share,
            unit="%",
            formula="energy it asks for in a year / energy all loads ask for in a year",
            inputs=(
                Given("energy it asks for", load.energy_wh_per_year, "Wh/year"),
                Given("energy all loads ask for", whole_wh, "Wh/year"),
            ),
            source="the hours and powers in the design, added up step by step",
        ),
        Figure(
            name=phrase("what {load} costs to run", load=load.name),
            value=share * cost_per_year,
            unit="a year",
            formula="its share × cost of the system / years looked at",
            inputs=(
                Given("its share", 100.0 * share, "%"),
                Given("cost of the system for each year", cost_per_year, "a year"),
            ),
            source="common practice, no source: cost shared out by energy",
        ),
    )

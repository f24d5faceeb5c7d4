"""What the page shows of a plan: plain numbers and words, small enough to send about."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from sunpantry.figures import Figure, Given

if TYPE_CHECKING:
    from sunpantry.design.models import Design
    from sunpantry.parts.system import System
    from sunpantry.plan.types import Plan
    from sunpantry.simulate.load_proof import LoadProof
    from sunpantry.simulate.proof import Proof
    from sunpantry.simulate.setting import Setting
    from sunpantry.web.circuit import Drawn

JUNE, DECEMBER = 5, 11
MAINS = "mains"


@dataclass(frozen=True)
class Sunny:
    """The array in the picture.

    Parameters
    ----------
    words : str
        '2 × 100 W panel'.
    power_w, volts, amps : float
        Rated power, and voltage and current at it [W, V, A].
    tilt_deg, azimuth_deg : float
        How it faces [°].
    june_wh, december_wh : float
        Taken from it on a mean day [Wh].
    """

    words: str
    power_w: float
    volts: float
    amps: float
    tilt_deg: float
    azimuth_deg: float
    june_wh: float
    december_wh: float


@dataclass(frozen=True)
class Jar:
    """The battery in the picture.

    Parameters
    ----------
    words : str
        Name and count.
    volts, amp_hours, watt_hours : float
        Of the bank [V, Ah, Wh].
    june, december : float
        Mean state of charge [-].
    lowest : float
        In any winter [-].
    """

    words: str
    volts: float
    amp_hours: float
    watt_hours: float
    june: float
    december: float
    lowest: float


@dataclass(frozen=True)
class Shelf:
    """One supply in the picture: everything that runs on 12 V, on the mains, …

    Parameters
    ----------
    supply : str
        '5 V', '12 V', '24 V', '48 V' or 'mains'.
    through : str
        Converter or inverter between it and the battery; empty where there is none.
    volts, watts, amps : float
        With everything on it running [V, W, A].
    june_wh, december_wh : float
        Asked for on a mean day [Wh].
    names : tuple of str
        What hangs on it.
    """

    supply: str
    through: str
    volts: float
    watts: float
    amps: float
    june_wh: float
    december_wh: float
    names: tuple[str, ...]


@dataclass(frozen=True)
class Picture:
    """The system with its numbers; see the classes of its fields."""

    sunny: tuple[Sunny, ...]
    controller: str
    controller_kind: str
    controller_a: float
    bank_v: float
    jar: Jar | None
    shelves: tuple[Shelf, ...]
    june_served_wh: float
    december_served_wh: float


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
    drawings : dict of str to Drawn
        The plain picture and the circuit diagram.
    pinned : str
        The document with every part written down (TOML).
    """

    glance: Glance
    plan: dict[str, Any]
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


def picture_of(setting: Setting, system: System, proof: Proof) -> Picture:
    """Put the numbers of a system where its picture shows them."""
    june, december = proof.months[JUNE], proof.months[DECEMBER]
    whole_w = max(system.array_power_w, 1e-9)
    sunny = tuple(
        Sunny(
            words=f"{array.count} × {array.panel.name}",
            power_w=array.power_w,
            volts=array.series * array.panel.vmp_v,
            amps=array.parallel * array.panel.imp_a,
            tilt_deg=float(np.mean(array.tilt_deg)),
            azimuth_deg=array.azimuth_deg,
            june_wh=june.gathered_wh * array.power_w / whole_w,
            december_wh=december.gathered_wh * array.power_w / whole_w,
        )
        for array in system.arrays
    )
    jar = None
    if system.bank is not None:
        bank = system.bank
        jar = Jar(
            words=f"{bank.count} × {bank.battery.name}",
            volts=bank.nominal_v,
            amp_hours=bank.capacity_ah,
            watt_hours=bank.energy_wh,
            june=june.mean_charge,
            december=december.mean_charge,
            lowest=min(month.lowest_charge for month in proof.months),
        )
    controller = system.controller
    return Picture(
        sunny=sunny,
        controller="" if controller is None else controller.name,
        controller_kind="" if controller is None else controller.kind,
        controller_a=0.0 if controller is None else controller.rated_a * system.controller_count,
        bank_v=system.bank_v,
        jar=jar,
        shelves=_shelves(setting, system),
        june_served_wh=june.served_wh,
        december_served_wh=december.served_wh,
    )


def _shelves(setting: Setting, system: System) -> tuple[Shelf, ...]:
    shelves = []
    for supply in dict.fromkeys(load.supply for load in setting.demand.loads):
        here = [load for load in setting.demand.loads if load.supply == supply]
        if supply == MAINS:
            inverter = system.inverter
            volts = 230.0 if inverter is None else inverter.output_v
            through = "" if inverter is None else inverter.name
        else:
            volts = float(supply.split()[0])
            through = next((c.name for c in system.converters if c.output_v == volts), "")
        watts = sum(load.peak_w for load in here)
        daily = [_daily_wh(setting, load) for load in here]
        shelves.append(
            Shelf(
                supply=supply,
                through=through,
                volts=volts,
                watts=watts,
                amps=watts / volts,
                june_wh=sum(one[JUNE] for one in daily),
                december_wh=sum(one[DECEMBER] for one in daily),
                names=tuple(load.name for load in here),
            )
        )
    return tuple(shelves)


def _daily_wh(setting: Setting, load: Any) -> list[float]:
    """Asked for on a mean day of each month, jobs that can wait included."""
    grid = setting.demand.grid
    wanted = load.power_w * grid.step_h
    if load.flexible is not None:
        wanted = wanted + load.flexible.arrivals_wh
    sums = np.bincount(grid.month, weights=wanted, minlength=12)
    days = np.bincount(grid.month, minlength=12) / grid.steps_per_day
    return [float(total / count) for total, count in zip(sums, days, strict=True)]


def load_lines(setting: Setting, proof: Proof, *, cost_per_year: float) -> tuple[LoadLine, ...]:
    """Share of each load, and what it costs to run by that share."""
    whole = max(sum(one.energy_wh_per_year for one in proof.loads), 1e-9)
    lines = []
    known = {series.name: series for series in setting.demand.loads}
    for one in proof.loads:
        daily = [one.energy_wh_per_year / 365.0] * 12
        if one.name in known:
            daily = _daily_wh(setting, known[one.name])
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
            name=f"share of {load.name}",
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
            name=f"what {load.name} costs to run",
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

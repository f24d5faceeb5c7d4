"""The plan: everything every face shows, as frozen objects."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sunpantry.design.models import Design
from sunpantry.figures import Figure
from sunpantry.parts.system import Array, System
from sunpantry.simulate.proof import Proof

if TYPE_CHECKING:
    from sunpantry.demand.series import Demand
    from sunpantry.demand.water_jobs import PipeChoice
    from sunpantry.match.finding import Finding
    from sunpantry.simulate.fading import Fading
    from sunpantry.simulate.life import ToppingUp
    from sunpantry.simulate.setting import Setting
    from sunpantry.simulate.water import TankProof
    from sunpantry.sizing.cost import Cost
    from sunpantry.sizing.frontier import FrontierPoint
    from sunpantry.sky.from_site import SiteSky
    from sunpantry.wiring import WiringPlan


@dataclass(frozen=True)
class PlanPart:
    """One line of the parts list.

    Parameters
    ----------
    role : str
        'panel', 'battery', 'controller', 'inverter', 'converter', 'pipe' or 'second source'.
    name : str
        As in the parts list or on the person's label.
    count : int
        How many the system has.
    owned : int
        How many of them are already there.
    unit_price : float or None
        Price of one, ``None`` where it is not known.
    currency : str
        ISO 4217 code.
    """

    role: str
    name: str
    count: int
    owned: int
    unit_price: float | None
    currency: str

    @property
    def to_pay(self) -> float:
        """Price of those still to be bought."""
        return (self.unit_price or 0.0) * (self.count - self.owned)


@dataclass(frozen=True)
class SearchReport:
    """How the system was chosen.

    Parameters
    ----------
    spoke_for : int
        Systems the answer speaks for.
    simulated : int
        Systems run through the years for it.
    chosen : bool
        False where every part was fixed and nothing had to be chosen.
    kept : bool
        The promise is kept.
    stopped_early : bool
        The person stopped the search; the answer is the best so far.
    words : str
        The same in a sentence.
    """

    spoke_for: int
    simulated: int
    chosen: bool
    kept: bool
    stopped_early: bool
    words: str


@dataclass(frozen=True)
class Uncertain:
    """What is typical rather than measured, and matters.

    Parameters
    ----------
    load : str
        Name of the load.
    added_hours : float
        Hours a year without power that 20 % more would add [h].
    words : str
        Advice.
    """

    load: str
    added_hours: float
    words: str


@dataclass(frozen=True, eq=False)
class WaterReport:
    """One tank, its pump and pipe, and what the years showed.

    Parameters
    ----------
    tank, pump : str
        Names as in the document.
    volume_l : float
        The tank [L].
    suction_m, pipe_length_m, cable_length_m : float
        As in the document; the cable is that from panels to a direct pump [m].
    well_yield_l_per_day : float or None
        As in the document [L/day].
    pipe : PipeChoice
        The pipe and the pump's operating point on it.
    pipe_chosen : bool
        The bore was open, and this is the best; it is on the parts list.
    offered : tuple of PipeChoice
        Every standard size, for comparison.
    array : Array or None
        Panels of a pump without a battery.
    proof : TankProof
        The water, month by month.
    words : str
        The same in a sentence or two.
    """

    tank: str
    pump: str
    volume_l: float
    suction_m: float
    pipe_length_m: float
    cable_length_m: float
    well_yield_l_per_day: float | None
    pipe: PipeChoice
    pipe_chosen: bool
    offered: tuple[PipeChoice, ...]
    array: Array | None
    proof: TankProof
    words: str


@dataclass(frozen=True)
class SecondSourceReport:
    """What the second source does in a year.

    Parameters
    ----------
    kind : str
        'generator', 'mains' or 'carried_battery'.
    transfer : bool
        The mains carries the loads itself and does not charge.
    brought_in_wh_per_year : float
        Energy it brings [Wh/year].
    sun_share : float
        Share of what was delivered that came from the sun [-].
    hours_per_year, starts_per_year : float
        It runs so many hours [h/year], and is started so often.
    fuel_l_per_year : float or None
        Of a generator [L/year].
    trips_half, trips_nine_in_ten : int or None
        Carried batteries a winter: as many or fewer in half of the winters, and in nine of
        ten.
    most_trips : int or None
        Most that the document allows a winter.
    words : str
        The same in a sentence or two.
    """

    kind: str
    transfer: bool
    brought_in_wh_per_year: float
    sun_share: float
    hours_per_year: float
    starts_per_year: float
    fuel_l_per_year: float | None
    trips_half: int | None
    trips_nine_in_ten: int | None
    most_trips: int | None
    words: str


@dataclass(frozen=True)
class Alternative:
    """Another way of doing the same, with a second source.

    Parameters
    ----------
    name : str
        Short.
    words : str
        What it is, what it takes and what it costs.
    purchase, total : float
        To buy now, and over the years [currency].
    trips_per_year : float
        Times something must be carried out or started in a year.
    hours_without : float
        A year [h].
    system : System or None
        Its parts; ``None`` where there is nothing but batteries that are carried.
    """

    name: str
    words: str
    purchase: float
    total: float
    trips_per_year: float
    hours_without: float
    system: System | None


@dataclass(frozen=True, eq=False)
class Plan:
    """The answer to a design.

    Parameters
    ----------
    design : Design
        The question.
    sky : SiteSky
        Place, climate, years.
    demand : Demand
        What is asked, step by step.
    system : System
        The parts, chosen or fixed.
    parts : tuple of PlanPart
        The same as a list with prices.
    verdict : str
        One sentence for a person.
    verdict_if_darker : str
        The same if the place is a tenth darker than the table.
    proof : Proof
        With a worn battery (80 % of its capacity): what the promise rests on.
    proof_new : Proof
        With a new battery.
    proof_darker : Proof
        Worn battery, climate a tenth darker.
    search : SearchReport
        How the parts were chosen.
    frontier : tuple of FrontierPoint
        Cheaper and darker, dearer and safer.
    cost : Cost
        Purchase, replacements.
    findings : tuple of Finding
        Do the parts suit each other.
    wiring : WiringPlan or None
        Cables, protection, settings, drawings.
    workings : tuple of Figure
        Every headline number with its working, and the hand method.
    uncertain : tuple of Uncertain
        Loads worth measuring first.
    water : tuple of WaterReport
        Every tank.
    second_source : SecondSourceReport or None
        What helps out.
    alternatives : tuple of Alternative
        Other ways, with a second source, where the search may look for them.
    fading : Fading or None
        As the battery ages: hours without power, and when it is replaced.
    notes : tuple of str
        What a reader must know.
    seed : int
        Of the weather.
    version : str
        Of the program.
    setting : Setting
        What the runs shared, for further questions about the same design.
    """

    design: Design
    sky: SiteSky
    demand: Demand
    system: System
    parts: tuple[PlanPart, ...]
    verdict: str
    verdict_if_darker: str
    proof: Proof
    proof_new: Proof
    proof_darker: Proof
    search: SearchReport
    frontier: tuple[FrontierPoint, ...]
    cost: Cost
    findings: tuple[Finding, ...]
    wiring: WiringPlan | None
    workings: tuple[Figure, ...]
    uncertain: tuple[Uncertain, ...]
    notes: tuple[str, ...]
    seed: int
    version: str
    setting: Setting = field(repr=False)
    water: tuple[WaterReport, ...] = ()
    second_source: SecondSourceReport | None = None
    alternatives: tuple[Alternative, ...] = ()
    fading: Fading | None = None

    @property
    def topping_up(self) -> ToppingUp | None:
        """Distilled water that the battery needs when new; ``None`` where none can be added."""
        return self.proof_new.topping_up

"""The plan: everything every face shows, as frozen objects."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sunpantry.design.models import Design
from sunpantry.figures import Figure
from sunpantry.parts.system import System
from sunpantry.simulate.proof import Proof

if TYPE_CHECKING:
    from sunpantry.demand.series import Demand
    from sunpantry.match.finding import Finding
    from sunpantry.simulate.setting import Setting
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
        'panel', 'battery', 'controller', 'inverter' or 'converter'.
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

"""One system that was run through all years, and where it stands among others."""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.parts.system import System
from sunpantry.physics.ageing import BatteryLife
from sunpantry.sizing.cost import Cost
from sunpantry.sizing.space import Choice

# Costs closer than this are equal [currency].
SAME_COST = 1e-6


@dataclass(frozen=True)
class Answer:
    """One system that was run through all years, with a worn battery.

    Parameters
    ----------
    choice : Choice
        Its place in the space.
    system : System
        The system.
    cost : Cost
        What it costs.
    hours_by_class : tuple of float
        Mean hours a year without power: must, should, may [h].
    hours_without_power : float
        Anything at all, weighted by the share missing [h/year].
    winters_without_shortfall, winters : int
        Without any, and run.
    life : BatteryLife or None
        Of the batteries; ``None`` without any.
    """

    choice: Choice
    system: System
    cost: Cost
    hours_by_class: tuple[float, float, float]
    hours_without_power: float
    winters_without_shortfall: int
    winters: int
    life: BatteryLife | None

    @property
    def rank(self) -> tuple[float, float, Choice]:
        """Order of preference among systems that keep the promise."""
        return (
            round(self.cost.total / SAME_COST) * SAME_COST,
            round(self.hours_without_power, 6),
            self.choice,
        )

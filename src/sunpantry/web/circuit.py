"""Drawings of a plan's circuit, as the page shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan


@dataclass(frozen=True)
class Drawn:
    """A drawing of the circuit.

    Parameters
    ----------
    title, description : str
        What it is, and the same for those who cannot see it.
    svg : str
        The drawing.
    """

    title: str
    description: str
    svg: str


def drawings_of(plan: Plan) -> dict[str, Drawn]:
    """The plain picture and the circuit diagram; empty where nothing is wired.

    Parameters
    ----------
    plan : Plan
        The plan.
    """
    if plan.wiring is None:
        return {}
    name = plan.design.name
    made = {"picture": plan.wiring.picture(name), "diagram": plan.wiring.diagram(name)}
    return {key: Drawn(one.title, one.description, one.svg) for key, one in made.items()}

"""Drawings of a plan's circuit, as the page shows them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunpantry.language import LANGUAGES, LOCALES, speaking
from sunpantry.report.numbers import Numbers, locale_of

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan


@dataclass(frozen=True)
class Drawn:
    """A drawing of the circuit.

    Parameters
    ----------
    title, description : str
        What it is, and the same for those who cannot see it.
    svgs : dict of str to str
        The drawing in each language.
    """

    title: str
    description: str
    svgs: dict[str, str]


def drawings_of(plan: Plan) -> dict[str, Drawn]:
    """The plain picture and the circuit diagram; empty where nothing is wired.

    Parameters
    ----------
    plan : Plan
        The plan.
    """
    if plan.wiring is None:
        return {}
    ways = {"picture": plan.wiring.picture, "diagram": plan.wiring.diagram}
    drawn = {}
    for key, way in ways.items():
        svgs = {}
        for language in LANGUAGES:
            locale = LOCALES.get(language) or locale_of(plan.sky.place.timezone)
            with speaking(language):
                made = way(plan.design.name, Numbers(locale, plan.design.money.currency).told)
                svgs[language] = made.svg
        drawn[key] = Drawn(made.title, made.description, svgs)
    return drawn

"""Drawings of a plan's circuit, as the page shows them."""

from __future__ import annotations

from collections.abc import Callable, Generator
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from sunpantry.language import LANGUAGES, LOCALES, speaking
from sunpantry.report.numbers import Numbers, locale_of

if TYPE_CHECKING:
    from sunpantry.plan.types import Plan
    from sunpantry.wiring.drawing import Drawing


NARROW = "narrow"


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


def drawings_in_pieces(plan: Plan) -> Generator[None, None, dict[str, Drawn]]:
    """The plain picture, the same for a telephone, and the diagram; empty where nothing is wired.

    It pauses after each, for whoever has more urgent things to do.

    Parameters
    ----------
    plan : Plan
        The plan.
    """
    if plan.wiring is None:
        return {}
    ways: dict[str, Callable[[str, Callable[[str], str]], Drawing]] = {
        "picture": plan.wiring.picture,
        NARROW: partial(plan.wiring.picture, narrow=True),
        "diagram": plan.wiring.diagram,
    }
    drawn = {}
    for key, way in ways.items():
        svgs = {}
        for language in LANGUAGES:
            locale = LOCALES.get(language) or locale_of(plan.sky.place.timezone)
            with speaking(language):
                made = way(plan.design.name, Numbers(locale, plan.design.money.currency).told)
                svgs[language] = made.svg
            yield
        drawn[key] = Drawn(made.title, made.description, svgs)
    return drawn

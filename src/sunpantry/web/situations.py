"""The situations that the first page offers, in the words of someone who is in one."""

from __future__ import annotations

from dataclasses import dataclass

from sunpantry.examples import Example, examples
from sunpantry.language import gettext, mark

# What a person would say, and the sign beside it; from the smallest system to the largest.
_SAID: dict[str, tuple[str, str]] = {
    "phone-by-day": (mark("Charge a phone by day"), "panel"),
    "phone-by-night": (mark("Charge phones at night"), "jar"),
    "shed": (mark("Light a shed, and a radio"), "lamp"),
    "yard-lights": (mark("Light a yard when someone comes"), "lamp"),
    "fence": (mark("Keep a fence alive"), "panel"),
    "apiary-hut": (mark("A hut with lamps, phones and a fence"), "lamp"),
    "vehicle-socket": (mark("A trailer with 12 V things"), "jar"),
    "tool-batteries": (mark("Charge the batteries of saws and drills"), "jar"),
    "laptop-and-lights": (mark("A laptop and lights in a house"), "socket"),
    "water-from-the-sun": (mark("Pump water straight from the sun"), "drop"),
    "water-by-battery": (mark("Pump water with a battery"), "drop"),
    "washing-day": (mark("Wash on a sunny day"), "socket"),
    "whole-house": (mark("A whole house"), "socket"),
}


@dataclass(frozen=True)
class Situation:
    """A shipped design, as it is offered.

    Parameters
    ----------
    name : str
        Of the shipped design.
    said : str
        What a person would say, in the reader's language.
    sign : str
        Picture beside it, a name in ``mark.svg``.
    title : str
        Name of the design.
    teaches : str
        One or two sentences, in English; looked up as a whole when they are shown.
    """

    name: str
    said: str
    sign: str
    title: str
    teaches: str


def situations() -> tuple[Situation, ...]:
    """All of them, from the smallest system to the largest; new ones come last."""
    order = list(_SAID)
    shipped = sorted(
        examples(), key=lambda one: order.index(one.name) if one.name in _SAID else len(order)
    )
    return tuple(_situation(one) for one in shipped)


def _situation(one: Example) -> Situation:
    said, sign = _SAID.get(one.name, (one.title, "lamp"))
    sentences = " ".join(one.teaches.split()).split(". ")
    teaches = ". ".join(sentences[:2]).rstrip(".") + "." if one.teaches else ""
    return Situation(one.name, gettext(said), sign, one.title, teaches)

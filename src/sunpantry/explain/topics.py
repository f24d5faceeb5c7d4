"""The explanations themselves, kept as short texts beside this module."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from importlib.resources import files
from textwrap import fill
from typing import TYPE_CHECKING

from sunpantry.errors import InputError
from sunpantry.language import gettext, language, ngettext
from sunpantry.phrases import phrase, told

if TYPE_CHECKING:
    from sunpantry.explain.asked import PlanLike, Write

# Columns, as the texts themselves have.
_WIDTH = 100
# In the order a beginner would read them.
ORDER = (
    "panel",
    "volts-amps-watts",
    "battery-limits",
    "controller",
    "thick-cable",
    "inverter-idle",
    "winter",
    "tilt",
    "pwm-mppt",
    "series-parallel",
    "lead-lithium",
    "safety",
)


@dataclass(frozen=True)
class Topic:
    """One explanation.

    Parameters
    ----------
    name : str
        What it is asked for by.
    title : str
        Its heading.
    text : str
        Paragraphs, in the plain subset of Markdown that has only emphasis.
    """

    name: str
    title: str
    text: str


def topics() -> tuple[Topic, ...]:
    """All explanations in the language spoken, in the order a beginner would read them."""
    return _topics(language())


@cache
def _topics(spoken: str) -> tuple[Topic, ...]:
    folder = files("sunpantry.explain") / "texts"
    if spoken != "en":
        folder /= spoken
    found = []
    for name in ORDER:
        whole = (folder / f"{name}.md").read_text("utf-8")
        heading, text = whole.split("\n", 1)
        found.append(Topic(name, heading.removeprefix("# ").strip(), text.strip()))
    return tuple(found)


def topic(name: str) -> Topic:
    """Find one explanation.

    Parameters
    ----------
    name : str
        As in :data:`ORDER`.

    Raises
    ------
    InputError
        When there is none of that name; a close one is suggested.
    """
    for one in topics():
        if one.name == name:
            return one
    close = get_close_matches(name, ORDER, n=1, cutoff=0.4)
    hint = phrase("choose one of these")
    if close:
        hint = phrase("did you mean '{name}'?", name=close[0])
    raise InputError.one("topic", name, phrase("one of {words}", words=", ".join(ORDER)), hint)


def explain(name: str, plan: PlanLike | None = None, *, write: Write | None = None) -> str:
    """Explain something in the language spoken, with one figure from the reader's own plan.

    Parameters
    ----------
    name : str
        Of the topic.
    plan : PlanLike, optional
        A plan; without one the text stands alone.
    write : callable, optional
        Writes a number with its unit; plainly by default.

    Returns
    -------
    str
        Title, text and, with a plan, a last paragraph that begins 'In your system:'.

    Raises
    ------
    InputError
        When there is no such topic.
    """
    one = topic(name)
    parts = [one.title, one.text.replace("*", "")]
    if plan is not None:
        from sunpantry.explain.live import live_words, plainly

        live = live_words(name, plan, write or plainly)
        if live:
            words = told(phrase("In your system: {live}", live=live), gettext, _plain, ngettext)
            parts.append(fill(words, _WIDTH, break_on_hyphens=False))
    return "\n\n".join(parts) + "\n"


def _plain(value: float, spec: str, unit: str) -> str:
    """A count in a sentence; measured numbers are written already."""
    return format(value, spec) + (f" {unit}" if unit else "")

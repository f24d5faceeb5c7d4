"""What a person should do next, the most pressing first."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sunpantry.language import gettext as _
from sunpantry.language import ngettext

if TYPE_CHECKING:
    from sunpantry.web.desk import Shown

HARD = ("danger", "will not work")
MOST_STEPS = 4


@dataclass(frozen=True)
class NextStep:
    """One thing to do.

    Parameters
    ----------
    words : str
        What, in the reader's language.
    at : str
        Place on the page; empty for the build sheet.
    """

    words: str
    at: str


def next_steps(shown: Shown) -> tuple[NextStep, ...]:
    """Read from an answer what is to be done.

    Parameters
    ----------
    shown : Shown
        What the page shows.
    """
    if shown.asks_nothing:
        return (NextStep(_("Add the first thing that must run."), "run"),)
    if shown.answer is None:
        if shown.refused is not None and shown.fraction is None:
            words = _("There is no answer to this: ask for less, or let Sunpantry choose more.")
            return (NextStep(words, "with"),)
        return ()
    plan = shown.answer.plan
    severities = [one["severity"] for one in plan["findings"]]
    hard = sum(severity in HARD for severity in severities)
    soft = severities.count("will disappoint")
    steps = []
    if not shown.answer.glance.kept:
        words = _("It does not keep its promise: let parts be chosen again, or ask for less.")
        steps.append(NextStep(words, "with"))
    if hard:
        words = ngettext(
            "Mend what is dangerous or will not work: one thing.",
            "Mend what is dangerous or will not work: %(num)s things.",
            hard,
        )
        steps.append(NextStep(words % {"num": hard}, "fit"))
    if soft:
        words = ngettext(
            "Read what will disappoint: one thing.",
            "Read what will disappoint: %(num)s things.",
            soft,
        )
        steps.append(NextStep(words % {"num": soft}, "fit"))
    if plan["uncertain"]:
        load = plan["uncertain"][0]["load"]
        words = _("Measure what %(load)s takes: its figure is a typical one.")
        steps.append(NextStep(words % {"load": load}, "last"))
    if not any(part["owned"] for part in plan["parts"]):
        steps.append(NextStep(_("Say which parts you have already."), "with"))
    return (*steps[:MOST_STEPS], NextStep(_("Take the build sheet with you (PDF)."), ""))

"""The workings of a page by what they belong to, and the numbers of a sentence led to theirs."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from markupsafe import Markup, escape

from sunpantry.figures import Figure
from sunpantry.language import gettext, ngettext
from sunpantry.phrases import Phrase, phrase, told
from sunpantry.web.proof_whys import darker_figures, month_figures, search_figures

if TYPE_CHECKING:
    from sunpantry.report.numbers import Numbers
    from sunpantry.web.answer import Answer
    from sunpantry.web.whys import AnyFigure, Whys

# A number is marked while its sentence is said, so that it is known again in any language.
_BEGIN, _NUMBER, _END = "\ue000", "\ue001", "\ue002"
_MARKED = re.compile(
    f"{_BEGIN}(\\d+){_NUMBER}([^{_END}]*){_END}"
    "([ \u00a0]?%|°|[ \u00a0](?:kWh|Wh|mAh|Ah|kW|W|A|V|h|mm²|L)(?![\\w/²³·]))?"
)
_SAME = 1e-6


@dataclass(frozen=True)
class Section:
    """Workings that belong together: those of a finding, a cable, the verdict.

    Parameters
    ----------
    key : str
        In addresses.
    title : str
        What they are of.
    figures : tuple of figures
        The workings.
    limit : mapping or None
        What a finding is held against: name, value, unit.
    source : str
        What a finding rests on.
    whole : bool
        All of it answers for every number in its sentence, found by itself or not.
    """

    key: str
    title: str
    figures: tuple[AnyFigure, ...]
    limit: Mapping[str, Any] | None = None
    source: str = ""
    whole: bool = False

    def anchor(self, place: int) -> str:
        """Identity of a figure on the workings' page."""
        return f"{self.key}-{place}"

    def of(self, value: float, spec: str) -> str | None:
        """Where the working of a number of its sentence is; ``None`` where it is not here."""
        for inputs in (False, True):
            for place, figure in enumerate(self.figures, start=1):
                if any(_same(value, one, spec) for one in _numbers(figure, inputs=inputs)):
                    return self.anchor(place)
        held = self.limit is not None and _same(value, self.limit["value"], spec)
        return self.key if held or self.whole else None

    def exactly(self, value: float) -> str | None:
        """Where a figure has this very value, to the last digit."""
        for place, figure in enumerate(self.figures, start=1):
            for one in _numbers(figure, inputs=False):
                if math.isclose(value, one, rel_tol=_SAME):
                    return self.anchor(place)
        return None


def _numbers(figure: AnyFigure, *, inputs: bool) -> Iterator[float]:
    """Values of a working: its own, or those that went into it."""
    if isinstance(figure, Figure):
        values = [one.value for one in figure.inputs] if inputs else [figure.value]
    else:
        values = [one["value"] for one in figure["inputs"]] if inputs else [figure["value"]]
    for value in values:
        if isinstance(value, int | float) and math.isfinite(value):
            yield float(value)


def _same(value: float, known: Any, spec: str) -> bool:
    """Whether a number of a sentence is one of a working, as the sentence writes it."""
    if not isinstance(known, int | float):
        return False
    if math.isclose(value, known, rel_tol=_SAME, abs_tol=1e-12):
        return True
    if spec.endswith("%"):
        return f"{value:{spec}}" == f"{known / 100.0:{spec}}"
    if spec and f"{value:{spec}}" == f"{known:{spec}}":
        return True
    return float(value).is_integer() and value in (round(known), float(f"{known:.2g}"))


def sections_of(answer: Answer, whys: Whys) -> dict[str, Section]:
    """Every working of a page.

    Parameters
    ----------
    answer : Answer
        What the page shows.
    whys : Whys
        Those that the page adds up itself.

    Returns
    -------
    dict
        By key, in the order of the page.
    """
    made = (
        *_headlines(answer, whys),
        *_of_loads_and_parts(answer, whys),
        *_of_proof(answer, whys),
        *_findings(answer),
        *_of_wiring(answer, whys),
        *_of_money(answer, whys),
    )
    return {one.key: one for one in made if one.figures or one.limit or one.source}


def _headlines(answer: Answer, whys: Whys) -> Iterator[Section]:
    hours = whys.named("hours without power a year")
    yield Section("verdict", answer.plan["verdict"], (*whys.winters, *hours, *whys.longest))
    yield Section("place", phrase("Where"), whys.place)
    yield Section("darker", answer.plan["verdict_if_darker"], darker_figures(answer.plan))
    yield Section("search", answer.plan["search"]["words"], search_figures(answer.plan))


def _of_loads_and_parts(answer: Answer, whys: Whys) -> Iterator[Section]:
    shown = answer.glance.picture
    for place, load in enumerate(answer.glance.loads, start=1):
        yield Section(f"load-{place}", load.name, load.figures)
    for place, sunny in enumerate(shown.sunny, start=1):
        yield Section(f"sun-{place}", sunny.words, sunny.figures)
    if shown.controller:
        yield Section("controller", shown.controller, shown.controller_figures)
    if shown.jar:
        yield Section("jar", shown.jar.words, shown.jar.figures)
    for place, shelf in enumerate(shown.shelves, start=1):
        yield Section(f"shelf-{place}", ", ".join(shelf.names), shelf.figures)
    for place, part in enumerate(answer.plan["parts"], start=1):
        yield Section(f"part-{place}", part["name"], whys.part(part))


def _of_proof(answer: Answer, whys: Whys) -> Iterator[Section]:
    plan = answer.plan
    yield Section("worn", phrase("The worn battery"), whys.worn)
    for month in plan["proof"]["months"]:
        number = month["month"]
        title = phrase("Month {number} of the year", number=number)
        yield Section(f"month-{number}", title, month_figures(month))
    for place, one in enumerate(plan["uncertain"], start=1):
        yield Section(f"uncertain-{place}", one["words"], whys.uncertain(one))
    yield Section("plan", phrase("The same worked out by hand"), whys.rest())


def _findings(answer: Answer) -> Iterator[Section]:
    for place, one in enumerate(answer.plan["findings"], start=1):
        figures = tuple(one["figures"])
        yield Section(f"fit-{place}", one["sentence"], figures, one["limit"], one["source"], True)


def _of_wiring(answer: Answer, whys: Whys) -> Iterator[Section]:
    wiring = answer.plan["wiring"] or {"runs": (), "protections": (), "settings": ()}
    for run in wiring["runs"]:
        yield Section(f"run-{run['id']}", run["name"], whys.run(run))
    for one in wiring["protections"]:
        yield Section(f"run-{one['id']}", one["name"], whys.protection(one))
    faults = [one for one in wiring["protections"] if one.get("prospective_a") is not None]
    if faults:
        most = max(faults, key=lambda one: float(one["prospective_a"]))
        yield Section("faults", phrase("Short circuits"), whys.protection(most))
    for place, one in enumerate(wiring["settings"], start=1):
        yield Section(f"setting-{place}", one["name"], whys.setting(one))


def _of_money(answer: Answer, whys: Whys) -> Iterator[Section]:
    yield Section("purchase", phrase("to buy now"), whys.purchase)
    yield Section("replacements", phrase("new batteries, in today’s money"), whys.replacements)
    if answer.plan["cost"]["running"]:
        yield Section("running", phrase("fuel and power bought"), whys.running)
    if answer.plan["frontier"]:
        yield Section("frontier", phrase("What more or less money buys"), whys.frontier)


def said(
    text: str,
    key: str,
    *,
    sections: Mapping[str, Section],
    numbers: Numbers,
    address: str,
) -> Markup | str:
    """Say a sentence with each of its numbers leading to its working.

    A number leads to the working that has it, of the section the sentence belongs to; else,
    of a finding, to all that the finding rests on; else to the one working anywhere that has
    the very value. A number that has none stays a plain one.

    Parameters
    ----------
    text : str
        A phrase.
    key : str
        Section it belongs to; empty where it belongs to none.
    sections : mapping
        See :func:`sections_of`.
    numbers : Numbers
        How numbers are written.
    address : str
        Of the workings' page.
    """
    if not isinstance(text, Phrase):
        return numbers.told(text)
    places: list[str | None] = []

    def write(value: float, spec: str, unit: str) -> str:
        places.append(_place(float(value), spec, key, sections))
        return f"{_BEGIN}{len(places) - 1}{_NUMBER}{numbers.formatted(value, spec, unit)}{_END}"

    marked = str(escape(told(text, gettext, write, ngettext)))
    return Markup(_MARKED.sub(_leading(places, address), marked))  # noqa: S704 — escaped above


def _leading(places: list[str | None], address: str) -> Callable[[re.Match[str]], str]:
    def lead(found: re.Match[str]) -> str:
        place, words = places[int(found[1])], found[2]
        after = found[3] or ""
        if place is None:
            return words + after
        return f'<a class="num" href="{escape(address)}#{place}">{words}{after}</a>'

    return lead


def _place(value: float, spec: str, key: str, sections: Mapping[str, Section]) -> str | None:
    mine = sections.get(key)
    here = mine.of(value, spec) if mine is not None else None
    if here is not None or value.is_integer():
        return here
    return next((at for one in sections.values() if (at := one.exactly(value))), None)

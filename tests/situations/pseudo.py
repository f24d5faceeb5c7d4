"""A language for tests: every message that can be translated is said within brackets.

What is left outside the brackets on a page that was rendered in it cannot be translated.
"""

from __future__ import annotations

import asyncio
import re
from collections.abc import Iterator, Mapping
from functools import cache
from html.parser import HTMLParser
from types import SimpleNamespace
from typing import Any

import pytest
from babel.messages.catalog import Catalog
from starlette.applications import Starlette
from starlette.requests import Request

import messages
from sunpantry import language
from sunpantry.examples import Example
from sunpantry.plan import Plan
from sunpantry.web.answer import Answer
from sunpantry.web.desk import Shown
from sunpantry.web.render import environment, frame_of
from sunpantry.web.views import common

OPEN, CLOSE = "⟦", "⟧"
_INNERMOST = re.compile(f"{OPEN}[^{OPEN}{CLOSE}]*{CLOSE}")
_WORD = re.compile(r"[^\W\d_]{3,}")
# Written alike in every language.
_ANYWHERE = frozenset(
    {
        "Sunpantry",
        "PWM",
        "MPPT",
        "EUR",
        "kWh",
        "mAh",
        "min",
        "bar",
        "AWG",
        "PDF",
        "TOML",
        "PVC",
        "XLPE",
    }
)
_READ = ("title", "subtitle", "text", "word", "what", "month", "part", "name", "date")
_FOR_THE_TEMPLATE = ("kind", "align", "svg", "paper", "language", "region", "author")
_SPOKEN = ("alt", "aria-label", "placeholder", "title")


class Catalogue:
    """Answers every message with itself in brackets.

    Parameters
    ----------
    plurals : mapping of str to str
        Messages that depend on a count, and their plurals.
    """

    def __init__(self, plurals: Mapping[str, str]) -> None:
        self.plurals = plurals
        self.asked: set[str] = set()

    def get(self, message: str) -> SimpleNamespace:
        if OPEN in message:  # a unit that was said already
            return SimpleNamespace(string=str(message), id=message)
        self.asked.add(message)
        said: str | tuple[str, str] = f"{OPEN}{message}{CLOSE}"
        if message in self.plurals:
            said = (f"{OPEN}{message}{CLOSE}", f"{OPEN}{self.plurals[message]}{CLOSE}")
        return SimpleNamespace(string=said, id=message)


@cache
def wanted() -> Catalog:
    """Every message of the code and the templates."""
    return messages.wanted()


def spoken(monkeypatch: pytest.MonkeyPatch) -> Catalogue:
    """Have every language say its messages in brackets for the rest of a test."""
    catalogue = Catalogue({m.id[0]: m.id[1] for m in wanted() if isinstance(m.id, tuple)})
    monkeypatch.setattr(language, "catalogue", lambda _: catalogue)
    return catalogue


def unknown(catalogue: Catalogue, names: set[str]) -> Iterator[str]:
    """Texts that were asked for, need words, and are neither messages nor names."""
    known = {m.id if isinstance(m.id, str) else m.id[0] for m in wanted()}
    for text in catalogue.asked - known:
        if messages.needs_words(text) and not is_named(text, names):
            yield text


class _Texts(HTMLParser):
    """Texts of a page that are read or heard."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self._skip = 0
        self._inside = False  # a number that leads to its working stands within a sentence

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._skip += tag in ("script", "style", "textarea", "datalist", "select")
        self._inside = tag == "a" and ("class", "num") in attrs
        self.found += [value or "" for name, value in attrs if name in _SPOKEN]

    def handle_endtag(self, tag: str) -> None:
        self._skip -= tag in ("script", "style", "textarea", "datalist", "select")

    def handle_data(self, data: str) -> None:
        if self._skip or not data.strip():
            return
        words = " ".join(data.split())
        last = self.found[-1] if self.found else ""
        if last and (self._inside or last.count(OPEN) > last.count(CLOSE)):
            self.found[-1] += f" {words}"
        else:
            self.found.append(words)


def untranslated(page: str, names: set[str]) -> Iterator[str]:
    """Texts of a page with words outside the brackets that are no names.

    Parameters
    ----------
    page : str
        HTML.
    names : set of str
        Words of the names that a person or the parts list gave.
    """
    reader = _Texts()
    reader.feed(page)
    for text in reader.found:
        if not is_said(text, names):
            yield f"{_outside(text).strip()}   <-   {text}"


def _outside(text: str) -> str:
    """What of a text stands outside the brackets."""
    while _INNERMOST.search(text):
        text = _INNERMOST.sub(" ", text)
    return text


def is_said(text: str, names: set[str]) -> bool:
    """Whether a text holds nothing but messages, names and numbers."""
    return is_named(_outside(text), names)


def texts_of(spec: Any) -> Iterator[str]:
    """Texts of a chart's specification that are read.

    Parameters
    ----------
    spec : object
        The specification, or a part of it.
    """
    if isinstance(spec, dict):
        for key, value in spec.items():
            lines = [value] if isinstance(value, str) else value
            if key in _READ and isinstance(lines, list) and isinstance(lines[0], str):
                yield " ".join(lines)  # a long title is broken into lines
            elif isinstance(value, dict | list):
                yield from texts_of(value)
    elif isinstance(spec, list):
        for one in spec:
            yield from texts_of(one)


def texts_of_sheet(data: Any) -> Iterator[str]:
    """Texts of a sheet that are read: without drawings, and the document that is typed again.

    Parameters
    ----------
    data : object
        What the sheet's template is given, or a part of it.
    """
    if isinstance(data, str):
        yield data
    elif isinstance(data, dict) and "cautions" in data:
        # A step may be cut in the middle of a message.
        yield f"{data['title']} {data['text']}"
        yield from texts_of_sheet(data["cautions"])
    elif isinstance(data, dict) and data.get("kind") != "code":
        for key, value in data.items():
            if key not in _FOR_THE_TEMPLATE:
                yield from texts_of_sheet(value)
    elif isinstance(data, list):
        for one in data:
            yield from texts_of_sheet(one)


def rendered(page: Starlette, example: Example, answer: Answer) -> str:
    """The page of a shipped design with all its workings, for a reader who is not English.

    Parameters
    ----------
    page : Starlette
        The page.
    example : Example
        The design.
    answer : Answer
        What is shown of it.
    """

    class Desk:
        async def show(self, *_: object, **__: object) -> Shown:
            return Shown("fresh", answer)

    page.state.desk = Desk()
    version = page.state.store.create(example.text, name=example.title)
    scope = {
        "type": "http",
        "app": page,
        "router": page.router,
        "method": "GET",
        "path": f"/designs/{version.design_id}",
        "query_string": b"",
        "headers": [(b"cookie", b"language=de")],
        "path_params": {"design_id": version.design_id},
    }
    request = Request(scope)
    saved = page.state.store.head(version.design_id)
    text = bytes(asyncio.run(common.design_page(request, saved)).body).decode()
    macros = environment().get_template("macros.html").module
    frame = frame_of(request)
    workings = [*answer.plan["workings"], *answer.wiring]
    return text + "".join(str(macros.working(one, frame)) for one in workings)  # type: ignore[attr-defined]


def names_of(plan: Plan) -> set[str]:
    """Words of the names in a plan: its design, loads, parts and place."""
    design, system = plan.design, plan.system
    named = [design.name, plan.sky.place.name, plan.sky.place.timezone]
    named += [load.name for load in plan.proof.loads] + [part.name for part in plan.parts]
    named += [load.like or "" for load in design.loads]
    named += [tank.name for tank in design.tanks]
    named += [one.name for tank in design.tanks for one in tank.drinkers]
    named += [one for water in plan.water for one in (water.tank, water.pump)]
    named += [array.panel.name for point in plan.frontier for array in point.system.arrays]
    for point in plan.frontier:
        if point.system.bank is not None:
            named.append(point.system.bank.battery.name)
        if point.system.controller is not None:
            named.append(point.system.controller.name)
    if system.inverter is not None:
        named.append(system.inverter.name)
    named += [one.name for one in system.converters]
    return set(_WORD.findall(" ".join(str(one) for one in named)))


def is_named(text: str, names: set[str]) -> bool:
    """Whether every word of a text belongs to a name."""
    return all(word in names | _ANYWHERE for word in _WORD.findall(text))

"""Templates: everything escaped, nothing undefined, addresses from the routes alone."""

from __future__ import annotations

from contextvars import ContextVar
from dataclasses import dataclass, fields, replace
from functools import cache
from typing import TYPE_CHECKING, Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from starlette.requests import Request
from starlette.responses import HTMLResponse

from sunpantry import language as words
from sunpantry.errors import Problem
from sunpantry.phrases import Phrase
from sunpantry.report.numbers import Numbers, locale_of
from sunpantry.web import described, entries, labels, more_fields, static_files, whereabouts
from sunpantry.web.fields import Entry
from sunpantry.web.guard import unlocked
from sunpantry.web.sections import said

if TYPE_CHECKING:
    from collections.abc import Mapping

    from _typeshed import DataclassInstance
    from markupsafe import Markup

    from sunpantry.web.sections import Section

THEMES = ("auto", "light", "dark")
UNITS = ("metric", "us")
COMPASS = (
    *(words.mark("north"), words.mark("north-east"), words.mark("east"), words.mark("south-east")),
    *(words.mark("south"), words.mark("south-west"), words.mark("west"), words.mark("north-west")),
)
_numbers: ContextVar[Numbers] = ContextVar("numbers")


@dataclass(frozen=True)
class Frame:
    """What every page is given besides its own fields.

    Parameters
    ----------
    request : Request
        For addresses.
    language, theme, units : str
        Chosen by the reader.
    numbers : Numbers
        How numbers are written.
    may_write : bool
        No token is needed, or it was given.
    """

    request: Request
    language: str
    theme: str
    units: str
    numbers: Numbers
    may_write: bool

    def url(self, name: str, /, **values: Any) -> str:
        """Address of a route, without the host."""
        return str(self.request.app.url_path_for(name, **values))

    def static(self, name: str) -> str:
        """Address of a shipped file."""
        return self.url("static", stamp=static_files.stamp(), name=name)

    def unit(self, unit: str) -> str:
        """Unit that a field is labelled with, in the units the reader chose."""
        return entries.unit_of(unit)

    def measure(self, value: Any, unit: str) -> str:
        """What a field holds, in the units the reader chose."""
        return entries.shown(value, unit)

    def said(
        self, text: str, key: str, sections: Mapping[str, Section], address: str
    ) -> Markup | str:
        """A sentence with each of its numbers leading to its working."""
        return said(text, key, sections=sections, numbers=self.numbers, address=address)

    def fields(self, form: str) -> tuple[Entry, ...]:
        """Fields of a form that are kept as data."""
        return more_fields.FORMS[form]

    @property
    def label_kinds(self) -> tuple[labels.Label, ...]:
        """Kinds of parts that can be described by their label."""
        return labels.LABELS

    def described_in(self, document: dict[str, Any]) -> tuple[described.Described, ...]:
        """Parts of a document that are described so."""
        return described.described(document)

    def is_described(self, role: str, row: dict[str, Any]) -> bool:
        """Whether one of them is."""
        return described.is_described(role, row)

    def fixed(self, document: dict[str, Any]) -> dict[str, bool]:
        """Whether the parts of each role are fixed."""
        return described.fixed(document)

    def called(self, where: str) -> str:
        """What the field of a key is called on the page."""
        return whereabouts.named(where)

    def typed(self, problem: Problem) -> str:
        """What stands in the field that is wrong; empty where nothing does."""
        return whereabouts.typed(problem)

    def to_mend(self, problem: Problem) -> str:
        """What is wrong with it, said for whoever fills in a form."""
        told = "; ".join(self.numbers.told(one) for one in whereabouts.to_mend(problem))
        return whereabouts.without_brackets(told)

    def euros(self, amount: float) -> str:
        """A typical price of what the wiring takes, which is kept in EUR."""
        return replace(self.numbers, currency="EUR").money(amount)

    def facing(self, azimuth_deg: float) -> str:
        """A direction by name and in degrees: 'south (180°)'."""
        name = words.gettext(COMPASS[round(azimuth_deg / 45.0) % len(COMPASS)])
        return f"{name} ({self.numbers.number(azimuth_deg, '°')})"

    @property
    def here(self) -> str:
        """Address of the page itself, to come back to."""
        return self.request.url.path

    @property
    def languages(self) -> dict[str, str]:
        """Languages to choose from."""
        return words.LANGUAGES


def _said(value: Any) -> Any:
    """A phrase in the reader's language; anything else as it is."""
    return _numbers.get().told(value) if isinstance(value, Phrase) else value


def _told(text: str | None) -> str:
    """The same for a text that stands in the catalogue as it is."""
    return "" if text is None else _numbers.get().told(text)


@cache
def environment() -> Environment:
    """The one environment of all templates."""
    made = Environment(
        loader=PackageLoader("sunpantry.web", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        extensions=["jinja2.ext.i18n"],
        finalize=_said,
    )
    made.install_gettext_callables(  # type: ignore[attr-defined]
        words.gettext, words.ngettext, newstyle=True
    )
    made.globals["word"] = words.gettext
    made.filters["told"] = _told
    return made


def warm_up() -> None:
    """Read all templates and the words of all languages, so that the first reader need not wait."""
    for name in environment().list_templates():
        environment().get_template(name)
    for language in words.LANGUAGES:
        words.catalogue(language)


def frame_of(request: Request, *, timezone: str = "", currency: str = "EUR") -> Frame:
    """Find out how a reader wants to see things.

    Parameters
    ----------
    request : Request
        With the reader's choices in cookies.
    timezone : str
        Of the site; its people's way of writing numbers is used.
    currency : str
        ISO 4217 code.
    """
    chosen = request.cookies
    language = chosen.get("language", "")
    if language not in words.LANGUAGES:
        language = words.preferred(request.headers.get("accept-language", ""))
    words.speak(language)
    theme = chosen.get("theme", "auto")
    units = "us" if chosen.get("units") == "us" else "metric"
    entries.measure_in(units)
    locale = words.LOCALES.get(language) or locale_of(timezone)
    numbers = Numbers(locale, currency, "us" if units == "us" else "metric")
    _numbers.set(numbers)
    return Frame(
        request=request,
        language=language,
        theme=theme if theme in THEMES else "auto",
        units=units,
        numbers=numbers,
        may_write=unlocked(request.app.state.settings, chosen),
    )


def render(
    request: Request,
    context: DataclassInstance,
    status: int = 200,
    *,
    timezone: str = "",
    currency: str = "EUR",
) -> HTMLResponse:
    """Render the page of a context.

    Parameters
    ----------
    request : Request
        What is answered.
    context : dataclass
        One of :mod:`sunpantry.web.contexts`.
    status : int
        Of the reply.
    timezone, currency : str
        Of the site; see :func:`frame_of`.
    """
    frame = frame_of(request, timezone=timezone, currency=currency)
    template = environment().get_template(getattr(context, "template"))  # noqa: B009
    given = {one.name: getattr(context, one.name) for one in fields(context)}
    return HTMLResponse(template.render(frame=frame, **given), status)

"""Charts as a worker process draws them: for one reader's eyes and language."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from sunpantry.language import speaking
from sunpantry.web.tasks import ANEW, Bench, Drawable, Found, Refused, digest, plan_of, told


@dataclass(frozen=True)
class Look:
    """How a picture is to look.

    Parameters
    ----------
    theme : str
        'light' or 'dark'.
    locale : str or None
        How numbers are written; as at the site by default.
    winter : int or None
        A winter to add, and to look into.
    month, day : int or None
        Where the closer look begins; at the darkest days by default.
    days : int
        How many days it holds.
    language : str
        Of its words.
    narrow : bool
        For the width of a phone.
    """

    theme: Literal["light", "dark"] = "light"
    locale: str | None = None
    winter: int | None = None
    month: int | None = None
    day: int | None = None
    days: int = 7
    language: str = "en"
    narrow: bool = False


def charts(text: str, found: Found, look: Look) -> tuple[Drawable, ...] | Refused:
    """Name, title, words and specification of every chart."""
    from sunpantry.report.charts import charts_of, narrowed
    from sunpantry.web.span_chart import Span, span_chart

    key = f"{digest(text)}{found.key}{look}"

    def work() -> tuple[Drawable, ...] | Refused:
        plan = plan_of(text, found)
        if plan is None:
            return ANEW
        theme, locale = look.theme, look.locale
        with speaking(look.language):
            drawn = charts_of(plan, theme=theme, winter=look.winter, locale=locale, hover=True)
            if plan.proof.traces.size:
                span = Span(look.winter, look.month, look.day, look.days)
                near = span_chart(plan, span, theme=theme, locale=locale)
                drawn = (*drawn[:2], near, *drawn[2:])
        specs = (narrowed(one.spec) if look.narrow else one.spec for one in drawn)
        made = tuple(
            (one.name, one.title, one.alt, spec) for one, spec in zip(drawn, specs, strict=True)
        )
        Bench.charts.put(key, made)
        return made

    kept = Bench.charts.look(key)
    return told(work) if kept is None else kept


def picture(text: str, found: Found, look: Look, name: str, ending: str) -> bytes | Refused:
    """One chart as SVG or PNG."""
    from sunpantry.report.drawing import draw

    made = charts(text, found, look)
    if isinstance(made, Refused):
        return made
    for one, _, alt, spec in made:
        if one == name:
            key = f"{digest(text)}{found.key}{look}{name}.{ending}"
            return Bench.drawn.get(key, lambda: draw(spec, ending, words=alt))  # noqa: B023
    return Refused("there is no such picture")

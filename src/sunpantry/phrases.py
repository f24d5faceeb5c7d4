"""Sentences that remember what they are made of, so that another language can say them.

A :class:`Phrase` is the plain English sentence, usable wherever a ``str`` is: printed,
compared, written as JSON, sent to another process. It keeps its template and the values in
it. A face that speaks another language, or writes numbers in another way, says it anew
with :func:`told`; nothing else needs to know.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from numbers import Real
from string import Formatter
from typing import Any, NoReturn

Say = Callable[[str], str]
SayCount = Callable[[str, str, float], str]
WriteNumber = Callable[[float, str, str], str]

# Units that are written in another way in some countries. Behind a number in a template
# they belong to it: whoever writes the number writes its unit too.
_UNIT = re.compile(r"[ \u00a0](°C|km/h|L/min|m/s|cm²|m²|mm|cm|km|kg|m|L)(?![\w/²³·])")


class Phrase(str):
    """A sentence in English with the template and the values that it was made of.

    Made by :func:`phrase`, :func:`phrases` and :func:`joined`; it never changes.

    Parameters
    ----------
    text : str
        In English, complete.
    template, many : str
        Message to translate, and its plural; both empty for parts in a row.
    values : tuple of (str, object)
        Numbers, names and phrases by the name of their placeholder.
    parts : tuple of str
        Pieces in a row.
    """

    __slots__ = ("many", "parts", "template", "values")

    template: str
    many: str
    values: tuple[tuple[str, Any], ...]
    parts: tuple[str, ...]

    def __new__(
        cls,
        text: str,
        template: str = "",
        many: str = "",
        values: tuple[tuple[str, Any], ...] = (),
        parts: tuple[str, ...] = (),
    ) -> Phrase:
        made = super().__new__(cls, text)
        _SET_TEMPLATE(made, template)
        _SET_MANY(made, many)
        _SET_VALUES(made, values)
        _SET_PARTS(made, parts)
        return made

    def __setattr__(self, name: str, value: object) -> NoReturn:
        raise AttributeError(f"a phrase never changes: {name}")

    def __reduce__(self) -> tuple[type[Phrase], tuple[Any, ...]]:
        return Phrase, (str(self), self.template, self.many, self.values, self.parts)

    def __copy__(self) -> Phrase:
        return self

    def __deepcopy__(self, memo: dict[int, Any]) -> Phrase:
        return self

    def __add__(self, other: str) -> Phrase:
        return joined((self, other), "")

    def __radd__(self, other: str) -> Phrase:
        return joined((other, self), "")


# A rule makes many sentences that nobody reads: their fields are set the short way.
_SET_TEMPLATE, _SET_MANY, _SET_VALUES, _SET_PARTS = (
    Phrase.__dict__[name].__set__ for name in ("template", "many", "values", "parts")
)


def phrase(template: str, /, **values: Any) -> Phrase:
    """Make a sentence of a template and the values in it.

    Parameters
    ----------
    template : str
        English, with placeholders as of :meth:`str.format` ('{coldest_c:.0f} °C').
    **values
        Numbers; names, which are never translated; phrases, which are.

    Returns
    -------
    Phrase
        Equal to ``template.format(**values)``.

    Examples
    --------
    >>> phrase("{load} draws {power_w:.0f} W.", load="A lamp", power_w=8.0)
    'A lamp draws 8 W.'
    """
    return Phrase(template.format(**values), template, "", tuple(values.items()))


def phrases(one: str, many: str, /, *, count: float, **values: Any) -> Phrase:
    """Make a sentence that depends on a count.

    Parameters
    ----------
    one, many : str
        Templates for one and for any other count; ``{count}`` stands for it.
    count : float
        The count.
    **values
        See :func:`phrase`.

    Returns
    -------
    Phrase

    Examples
    --------
    >>> phrases("{count} winter", "{count} winters", count=3)
    '3 winters'
    """
    values["count"] = count
    chosen = one if count == 1 else many
    return Phrase(chosen.format(**values), one, many, tuple(values.items()))


def joined(parts: Iterable[str], separator: str = ", ", last: str | None = None) -> Phrase:
    """Put pieces in a row without losing what they are made of.

    Parameters
    ----------
    parts : iterable of str
        Phrases, and names, which are never translated.
    separator : str
        Between any two.
    last : str, optional
        Between the last two: usually a phrase (' and ').

    Returns
    -------
    Phrase

    Examples
    --------
    >>> joined(("panel", "battery", "lamp"), last=" and ")
    'panel, battery and lamp'
    """
    listed: list[str] = []
    rest = tuple(parts)
    for place, part in enumerate(rest):
        if place:
            ends = last is not None and place == len(rest) - 1
            listed.append(last if ends and last is not None else separator)
        listed += part.parts if isinstance(part, Phrase) and part.parts else (part,)
    kept = tuple(part for part in listed if part)
    return Phrase("".join(kept), parts=kept)


def told(text: str, say: Say, number: WriteNumber, several: SayCount | None = None) -> str:
    """Say a text in another language, with numbers as its readers write them.

    Parameters
    ----------
    text : str
        A phrase; or a plain text, which is looked up as a whole.
    say : callable
        Translates a template.
    number : callable
        Writes a number: value, format specification, and unit (empty where the unit is
        part of the template).
    several : callable, optional
        Translates a template that depends on a count: singular, plural, count.

    Returns
    -------
    str
        A plain text.
    """
    if not isinstance(text, Phrase):
        return say(text)
    if text.parts:
        return "".join(
            told(part, say, number, several) if isinstance(part, Phrase) else part
            for part in text.parts
        )
    values = dict(text.values)
    if not text.many:
        template = say(text.template)
    elif several is None:
        template = say(text.template if values["count"] == 1 else text.many)
    else:
        template = several(text.template, text.many, values["count"])

    def written(value: Any, spec: str, unit: str) -> str:
        if isinstance(value, Phrase):
            return told(value, say, number, several)
        if isinstance(value, Real) and not isinstance(value, bool):
            return number(value, spec, unit)  # type: ignore[arg-type]
        return format(value, spec) + (f" {unit}" if unit else "")

    return _filled(template, values, written)


def _filled(template: str, values: dict[str, Any], written: Callable[[Any, str, str], str]) -> str:
    """Fill a template; a unit or a currency right behind a number goes with the number."""
    pieces = list(Formatter().parse(template))
    out = []
    drop = 0
    paid = False
    for place, (literal, name, spec, _) in enumerate(pieces):
        if paid:  # this piece is the currency, and stands with its amount
            paid = False
            continue
        out.append(literal[drop:])
        drop = 0
        if name is None:
            continue
        after, following = pieces[place + 1][:2] if place + 1 < len(pieces) else ("", None)
        paid = after == " " and following == "currency" and isinstance(values[name], Real)
        if paid:
            out.append(written(values[name], spec or "", values["currency"]))
            continue
        unit = _UNIT.match(after)
        value = values[name]
        if unit is not None and isinstance(value, Real):
            drop = unit.end()
        out.append(written(value, spec or "", unit[1] if drop and unit else ""))
    return "".join(out)


def placeholders(template: str) -> frozenset[str]:
    """Names that a template has places for.

    Parameters
    ----------
    template : str
        As given to :func:`phrase`.
    """
    return frozenset(name for _, name, _, _ in Formatter().parse(template) if name is not None)

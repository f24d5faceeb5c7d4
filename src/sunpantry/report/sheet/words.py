"""Plain words for parts, directions, limits and workings, shared by the sections."""

from __future__ import annotations

from sunpantry.design.models import Design
from sunpantry.explain.limits import Limit
from sunpantry.figures import Figure, Given
from sunpantry.parts.system import Array
from sunpantry.phrases import joined, phrase
from sunpantry.report.numbers import Numbers
from sunpantry.report.written import said
from sunpantry.sky.best_tilts import compass_word

HOUSING = {
    "shed": phrase("in the shed"),
    "house": phrase("in the house"),
    "buried": phrase("in the ground"),
    "outdoors": phrase("outdoors"),
}
SECOND_SOURCES = {
    "mains": phrase("the mains"),
    "generator": phrase("a generator"),
    "carried_battery": phrase("a battery that is carried"),
}
# Flatter than this a panel looks up, whichever way it is turned.
FLAT_DEG = 3.0
# Smaller numbers are rounding, not findings.
_LEAST = 0.0001
IMPORTANCE = {
    "must": phrase("must run"),
    "should": phrase("should run"),
    "may": phrase("may wait"),
}


def is_carried(design: Design) -> bool:
    """Whether nothing is fixed anywhere: panels that are set out by hand."""
    return bool(design.arrays) and all(array.mounting == "carried" for array in design.arrays)


def counted(count: int, name: str) -> str:
    """'2 × 100 W panel', without the count for one."""
    return name if count == 1 else f"{count} × {name}"


def capital(words: str) -> str:
    """Words with a large first letter; said already, for languages differ in their letters."""
    return words[:1].upper() + words[1:]


def supply_words(supply: str) -> str:
    """What a load hangs on, in words."""
    return phrase("mains") if supply == "mains" else supply


def ways_joined(array: Array) -> str:
    """How the panels of an array are joined."""
    series, parallel = array.series, array.parallel
    if array.count == 1:
        return phrase("one panel")
    if series == 1:
        return phrase("{parallel} in parallel", parallel=parallel)
    if parallel == 1:
        return phrase("{series} in series", series=series)
    return phrase(
        "{series} in series, {parallel} such strings in parallel", series=series, parallel=parallel
    )


def tilt_words(array: Array, numbers: Numbers) -> str:
    """The tilt, or the two of winter and summer."""
    tilts = array.tilt_deg
    if len(set(tilts)) == 1:
        return numbers.fixed(tilts[0], "°", places=0)
    steep, flat = (numbers.fixed(one, "°", places=0) for one in (max(tilts), min(tilts)))
    return phrase("{steep} in winter, {flat} in summer", steep=steep, flat=flat)


def is_flat(array: Array) -> bool:
    """Whether panels lie so flat that it does not matter which way they face."""
    return max(array.tilt_deg) < FLAT_DEG


def facing(array: Array, numbers: Numbers, *, word_only: bool = False) -> str:
    """Which way panels face, from true north; empty where they lie flat."""
    if is_flat(array):
        return ""
    word = compass_word(array.azimuth_deg)
    if word_only:
        return word
    return joined((numbers.fixed(array.azimuth_deg, "°", places=0), word), " ")


def limit_words(limit: Limit, numbers: Numbers) -> str:
    """One limit as a person reads it on a label."""
    label = limit.label
    if isinstance(limit.value, str):
        return joined((label, said(limit.value, numbers)), ": ")
    value = numbers.number(limit.value, limit.unit)
    if limit.relation == "at least":
        return phrase("{label} at least {value}", label=label, value=value)
    if limit.relation == "at most":
        return phrase("{label} at most {value}", label=label, value=value)
    return joined((label, value), " ")


def given_words(given: Given, numbers: Numbers) -> str:
    """One input of a working."""
    name = said(given.name, numbers)
    if isinstance(given.value, str):
        return f"{name} {said(given.value, numbers)}"
    return joined((name, shown(given.value, given.unit, numbers)), " ")


def inputs_words(figure: Figure, numbers: Numbers) -> str:
    """All inputs of a working, in a line."""
    return joined((given_words(one, numbers) for one in figure.inputs), "; ")


def figure_value(figure: Figure, numbers: Numbers) -> str:
    """A headline number as printed everywhere."""
    return shown(figure.value, figure.unit, numbers)


def shown(value: float, unit: str, numbers: Numbers) -> str:
    """A number of a working; what is only left of rounding is not drawn out in zeros."""
    if 0.0 < abs(value) < _LEAST:
        return phrase("less than {value}", value=numbers.number(_LEAST, unit))
    return numbers.number(value, unit)

"""Plain words for parts, directions, limits and workings, shared by the sections."""

from __future__ import annotations

from sunpantry.design.models import Design
from sunpantry.explain.limits import Limit
from sunpantry.figures import Figure, Given
from sunpantry.parts.system import Array
from sunpantry.report.numbers import Numbers
from sunpantry.report.written import said
from sunpantry.sky.best_tilts import compass_word

HOUSING = {
    "shed": "in the shed",
    "house": "in the house",
    "buried": "in the ground",
    "outdoors": "outdoors",
}
SECOND_SOURCES = {
    "mains": "the mains",
    "generator": "a generator",
    "carried_battery": "a battery that is carried",
}
# Flatter than this a panel looks up, whichever way it is turned.
FLAT_DEG = 3.0
# Smaller numbers are rounding, not findings.
_LEAST = 0.0001
IMPORTANCE = {"must": "must run", "should": "should run", "may": "may wait"}


def is_carried(design: Design) -> bool:
    """Whether nothing is fixed anywhere: panels that are set out by hand."""
    return bool(design.arrays) and all(array.mounting == "carried" for array in design.arrays)


def counted(count: int, name: str) -> str:
    """'2 × 100 W panel', without the count for one."""
    return name if count == 1 else f"{count} × {name}"


def joined(array: Array) -> str:
    """How the panels of an array are joined."""
    if array.count == 1:
        return "one panel"
    if array.series == 1:
        return f"{array.parallel} in parallel"
    if array.parallel == 1:
        return f"{array.series} in series"
    return f"{array.series} in series, {array.parallel} such strings in parallel"


def tilt_words(array: Array, numbers: Numbers) -> str:
    """The tilt, or the two of winter and summer."""
    tilts = array.tilt_deg
    if len(set(tilts)) == 1:
        return numbers.fixed(tilts[0], "°", places=0)
    steep, flat = (numbers.fixed(one, "°", places=0) for one in (max(tilts), min(tilts)))
    return f"{steep} in winter, {flat} in summer"


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
    return f"{numbers.fixed(array.azimuth_deg, '°', places=0)} {word}"


def limit_words(limit: Limit, numbers: Numbers) -> str:
    """One limit as a person reads it on a label."""
    if isinstance(limit.value, str):
        return f"{limit.label}: {said(limit.value, numbers)}"
    value = numbers.number(limit.value, limit.unit)
    if limit.relation == "is":
        return f"{limit.label} {value}"
    return f"{limit.label} {limit.relation} {value}"


def given_words(given: Given, numbers: Numbers) -> str:
    """One input of a working."""
    name = said(given.name, numbers)
    if isinstance(given.value, str):
        return f"{name} {said(given.value, numbers)}"
    return f"{name} {shown(given.value, given.unit, numbers)}"


def inputs_words(figure: Figure, numbers: Numbers) -> str:
    """All inputs of a working, in a line."""
    return "; ".join(given_words(one, numbers) for one in figure.inputs)


def figure_value(figure: Figure, numbers: Numbers) -> str:
    """A headline number as printed everywhere."""
    return shown(figure.value, figure.unit, numbers)


def shown(value: float, unit: str, numbers: Numbers) -> str:
    """A number of a working; what is only left of rounding is not drawn out in zeros."""
    if 0.0 < abs(value) < _LEAST:
        return f"less than {numbers.number(_LEAST, unit)}"
    return numbers.number(value, unit)

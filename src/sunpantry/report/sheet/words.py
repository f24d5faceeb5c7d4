"""Plain words for parts, directions, limits and workings, shared by the sections."""

from __future__ import annotations

from sunpantry.design.models import Design
from sunpantry.explain.limits import Limit
from sunpantry.figures import Figure, Given
from sunpantry.parts.system import Array
from sunpantry.report.numbers import Numbers

HOUSING = {
    "shed": "in the shed",
    "house": "in the house",
    "buried": "in the ground",
    "outdoors": "outdoors",
}
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


def limit_words(limit: Limit, numbers: Numbers) -> str:
    """One limit as a person reads it on a label."""
    if isinstance(limit.value, str):
        return f"{limit.label}: {limit.value}"
    value = numbers.number(limit.value, limit.unit)
    if limit.relation == "is":
        return f"{limit.label} {value}"
    return f"{limit.label} {limit.relation} {value}"


def given_words(given: Given, numbers: Numbers) -> str:
    """One input of a working."""
    if isinstance(given.value, str):
        return f"{given.name} {given.value}"
    return f"{given.name} {numbers.number(given.value, given.unit)}"


def inputs_words(figure: Figure, numbers: Numbers) -> str:
    """All inputs of a working, in a line."""
    return "; ".join(given_words(one, numbers) for one in figure.inputs)


def figure_value(figure: Figure, numbers: Numbers) -> str:
    """A headline number as printed everywhere."""
    return numbers.number(figure.value, figure.unit)

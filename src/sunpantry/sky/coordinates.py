"""Latitude and longitude as people write them."""

from __future__ import annotations

import re

from sunpantry.errors import InputError
from sunpantry.phrases import phrase

_COORDINATE = re.compile(
    r"""\s*(?P<before>[NSEW])?\s*
        (?P<sign>[-+−])?(?P<deg>\d{1,3}(?:\.\d+)?)
        (?:(?:\s*[°º]\s*|\s+)(?P<min>\d{1,2}(?:\.\d+)?)
            (?:(?:\s*['′’]\s*|\s+)(?P<sec>\d{1,2}(?:\.\d+)?)\s*(?:["″”]|''|′′)?)?
        )?
        \s*[°º'′’]?\s*(?P<after>[NSEW])?\s*""",
    re.VERBOSE | re.IGNORECASE,
)


def read_coordinates(text: str) -> tuple[float, float] | None:
    """Read a latitude and longitude [°], or return None when the text is a name.

    Parameters
    ----------
    text : str
        Decimal degrees or degrees, minutes and seconds, with a sign or with N, S, E, W.

    Returns
    -------
    tuple of float or None
        Degrees north and east.

    Raises
    ------
    InputError
        When it reads like coordinates but they are off the globe, or both are the same way.
    """
    if _one_number_of_two(text):
        raise _bad_coordinates(text, "two numbers, latitude then longitude")
    if not re.fullmatch(r"[\d\s.,;°º'’′\"″”+\-−NSEWnsew]+", text) or not re.search(r"\d", text):
        return None
    halves = _halves(text.strip())
    matches = [_COORDINATE.fullmatch(half) for half in halves]
    first, second = [*matches, None, None][:2]
    if len(halves) != 2 or first is None or second is None:
        raise _bad_coordinates(text, "two numbers, latitude then longitude")
    (a, axis_a), (b, axis_b) = _degrees(first), _degrees(second)
    if axis_a and axis_a == axis_b:
        raise _bad_coordinates(text, "one of N or S and one of E or W")
    if axis_a == "EW" or axis_b == "NS":
        a, b = b, a
    if abs(a) > 90 or abs(b) > 180:
        raise _bad_coordinates(text, "latitude -90 to 90, longitude -180 to 180")
    return a, b


def in_words(latitude: float, longitude: float) -> str:
    """Write a latitude and longitude [°] for a person, to the fourth decimal (11 m)."""
    north = "N" if latitude >= 0 else "S"
    east = "E" if longitude >= 0 else "W"
    return f"{abs(latitude):.4f}° {north}, {abs(longitude):.4f}° {east}"


def _bad_coordinates(text: str, allowed: str) -> InputError:
    return InputError.one(
        "place", repr(text), allowed, phrase("write '53.80, -9.52' or '53°48'N, 9°31'W'")
    )


def _one_number_of_two(text: str) -> bool:
    """Tell whether one half is a number and the other is a word, such as nan."""
    halves = [half.strip() for half in re.split(r"[,;]", text)]
    numbers = [bool(re.fullmatch(r"[+\-−]?\d+(\.\d+)?", half)) for half in halves]
    words = [bool(re.fullmatch(r"[+\-−]?[^\W\d]{2,}", half)) for half in halves]
    return len(halves) == 2 and any(numbers) and any(words)


def _halves(text: str) -> list[str]:
    for pattern in (r"\s*;\s*", r"\s*,\s+|(?<![0-9]),|,(?=[+\-−])", r"\s*,\s*"):
        halves = re.split(pattern, text)
        if len(halves) == 2:
            return [half.replace(",", ".") for half in halves]
    split = re.match(r"(.*?[NSEW])\s*(?=[\d])(.*)", text, re.IGNORECASE)
    if split and re.search(r"\d", split[1]):
        return [split[1], split[2]]
    return text.replace(",", ".").split() if len(text.split()) == 2 else [text]


def _degrees(match: re.Match[str]) -> tuple[float, str]:
    minutes = float(match["min"] or 0)
    value = float(match["deg"]) + minutes / 60 + float(match["sec"] or 0) / 3600
    side = (match["before"] or match["after"] or "").upper()
    if match["sign"] in ("-", "−"):
        value = -value
    if side in ("S", "W"):
        value = -value
    return value, {"N": "NS", "S": "NS", "E": "EW", "W": "EW"}.get(side, "")

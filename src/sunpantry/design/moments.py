"""Moments of a day, and which days: ``"07:30"``, ``"dusk"``, ``"dawn+0:30"``, ``"Nov-Feb"``."""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass
from typing import Annotated, Literal

from sunpantry.design.keys import Reader
from sunpantry.phrases import phrase

HOURS_PER_DAY = 24.0
# Hours of the day that dawn and dusk stand for when no place and date is known.
_NOMINAL_H = {"clock": 0.0, "dawn": 6.0, "dusk": 18.0}
_CLOCK = re.compile(r"^(\d{1,2}):(\d{2})$")
_SUN = re.compile(r"^(dusk|dawn)(?:([+-])(\d{1,2}):(\d{2}))?$")
MONTHS: tuple[str, ...] = (
    *(phrase("January"), phrase("February"), phrase("March"), phrase("April"), phrase("May")),
    *(phrase("June"), phrase("July"), phrase("August"), phrase("September"), phrase("October")),
    *(phrase("November"), phrase("December")),
)
SHORT_MONTHS = tuple(name[:3] for name in MONTHS)
WEEKDAY_NAMES = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
_MONTHS_READ = tuple(name.lower() for name in SHORT_MONTHS)
_FULL_MONTHS_READ = tuple(name.lower() for name in MONTHS)
_FULL_WEEKDAYS = (
    *("monday", "tuesday", "wednesday", "thursday"),
    *("friday", "saturday", "sunday"),
)


@dataclass(frozen=True, slots=True)
class Moment:
    """A time of day.

    Parameters
    ----------
    base : {"clock", "dawn", "dusk"}
        What the time is counted from: civil midnight, sunrise or sunset.
    offset_h : float
        Hours after the base, negative before it [h].
    """

    base: Literal["clock", "dawn", "dusk"]
    offset_h: float

    @property
    def nominal_h(self) -> float:
        """Hour of the day at an equinox [h], to tell which of two moments comes first."""
        return _NOMINAL_H[self.base] + self.offset_h


def parse_moment(text: str) -> Moment:
    """Read a moment of the day.

    Parameters
    ----------
    text : str
        ``"07:30"``, ``"24:00"``, ``"dusk"``, ``"dawn+0:30"``, ``"dusk-1:00"``.

    Returns
    -------
    Moment
        The moment.

    Raises
    ------
    ValueError
        When the text is none of these.

    Examples
    --------
    >>> parse_moment("dawn-0:30")
    Moment(base='dawn', offset_h=-0.5)
    """
    plain = re.sub(r"\s+", "", text.lower())
    if clock := _CLOCK.match(plain):
        hours, minutes = int(clock[1]), int(clock[2])
        if minutes >= 60 or hours * 60 + minutes > 24 * 60:
            raise ValueError(f"no such time of day: {text}")
        return Moment("clock", hours + minutes / 60.0)
    sun = _SUN.match(plain)
    if sun is None or int(sun[4] or 0) >= 60 or int(sun[3] or 0) > 12:
        raise ValueError(f"no such time of day: {text}")
    offset_h = int(sun[3] or 0) + int(sun[4] or 0) / 60.0
    base: Literal["dusk", "dawn"] = "dusk" if sun[1] == "dusk" else "dawn"
    return Moment(base, -offset_h if sun[2] == "-" else offset_h)


def days_later(start: Moment, end: Moment) -> int:
    """Say whether a window ends on the day it began on (0) or on the next (1).

    Two moments with the same base are in plain order. Between the clock and the sun the
    order changes with the season: the window belongs to one day as long as the end,
    at an equinox, is less than six hours before the start ('06:30' until 'dawn' is a
    winter morning, and no window at all in June).
    """
    gap_h = end.nominal_h - start.nominal_h
    if start.base == end.base:
        return 0 if gap_h > 0 else 1
    return 0 if gap_h > -6.0 else 1


def never_opens(start: Moment, end: Moment) -> bool:
    """Say whether a window is empty on every day of the year, wherever it is."""
    return start == end


def _read_moment(raw: object) -> str:
    if isinstance(raw, dt.time):
        raw = raw.strftime("%H:%M")
    if not isinstance(raw, str):
        raise ValueError("not a text")  # noqa: TRY004  (the reader turns it into one sentence)
    parse_moment(raw)
    return re.sub(r"\s+", "", raw.lower())


def _position(word: object, short: tuple[str, ...], full: tuple[str, ...]) -> int:
    if not isinstance(word, str):
        raise ValueError("not a name")  # noqa: TRY004
    lower = word.strip().lower()
    return full.index(lower) if lower in full else short.index(lower)


def _month(raw: object) -> int:
    if isinstance(raw, str) and raw.strip().isdecimal():
        raw = int(raw)  # a form sends every field as text
    if isinstance(raw, int) and not isinstance(raw, bool):
        if not 1 <= raw <= 12:
            raise ValueError("no such month")
        return raw
    return _position(raw, _MONTHS_READ, _FULL_MONTHS_READ) + 1


def _span(raw: object) -> list[int]:
    """Months of a name, a number, or a span of them."""
    first, dash, last = raw.partition("-") if isinstance(raw, str) else (raw, "", "")
    start = _month(first)
    end = _month(last) if dash else start
    return [(start - 1 + k) % 12 + 1 for k in range((end - start) % 12 + 1)]


def _read_months(raw: object) -> tuple[int, ...]:
    if isinstance(raw, str):
        return tuple(sorted(_span(raw)))
    if not isinstance(raw, list | tuple) or not raw:
        raise ValueError("not a list")
    return tuple(sorted({month for one in raw for month in _span(one)}))


def _read_weekdays(raw: object) -> tuple[str, ...]:
    if not isinstance(raw, list | tuple) or not raw:
        raise ValueError("not a list")
    days = {_position(one, WEEKDAY_NAMES, _FULL_WEEKDAYS) for one in raw}
    return tuple(WEEKDAY_NAMES[day] for day in sorted(days))


MomentText = Annotated[
    str,
    Reader(
        _read_moment,
        'a clock time such as "07:30", "dusk", "dawn", or an offset to them such as "dusk+1:30"',
        {"type": "string"},
    ),
]
Months = Annotated[
    tuple[int, ...],
    Reader(
        _read_months,
        'months by number 1 to 12 or by name, [11, 12, "Jan"], or a span "Nov-Feb"',
        {"type": ["array", "string"], "items": {"type": ["integer", "string"]}},
    ),
]
Weekdays = Annotated[
    tuple[str, ...],
    Reader(
        _read_weekdays,
        'weekdays by name, ["mon", "tue"]',
        {"type": "array", "items": {"type": "string"}},
    ),
]

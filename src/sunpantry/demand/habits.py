"""Habits of one load turned into spans of time: by hours, by uses, in bursts.

A span is a start, an end and the power of one thing meanwhile. What a load is asked to
do over the year is exact: the part of a use or a burst that is left over at the end of
its season is made on the season's last day.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass

import numpy as np

from sunpantry.demand.civil import CivilYear
from sunpantry.design.keys import by_month
from sunpantry.design.load_checks import use_hours
from sunpantry.design.loads import Load
from sunpantry.design.moments import HOURS_PER_DAY, Moment, parse_moment
from sunpantry.timegrid import FloatArray, IntArray

DAYS_PER_WEEK = 7
# When a use begins that names no hour, and when a job that can wait arrives:
# common practice, no source.
USES_BEGIN = Moment("clock", 10.0)
JOBS_ARRIVE = Moment("clock", 8.0)


@dataclass(frozen=True, eq=False)
class Spans:
    """Times at which one thing works.

    Parameters
    ----------
    start_h, end_h : ndarray, shape (n,)
        Hours of the year, UTC [h].
    power_w : ndarray, shape (n,)
        Mean power of one thing in the span, duty included [W].
    """

    start_h: FloatArray
    end_h: FloatArray
    power_w: FloatArray

    @property
    def energy_wh(self) -> FloatArray:
        """Energy of each span [Wh]."""
        return (self.end_h - self.start_h) * self.power_w


def use_wh(load: Load) -> float:
    """Energy of one use of one thing [Wh]."""
    if load.energy_per_use_wh is not None:
        return load.energy_per_use_wh
    return (load.power_w or 0.0) * (use_hours(load) or 0.0)


def mean_use_w(load: Load) -> float:
    """Mean power of one thing during one use; its power where there are no uses [W]."""
    hours = use_hours(load)
    return use_wh(load) / hours if hours else load.power_w or 0.0


def counts_uses(load: Load) -> bool:
    """Whether the habit is told in uses."""
    return load.uses_per_week is not None


def uses_per_day(load: Load) -> float:
    """Uses on each day the habit is kept."""
    return (load.uses_per_week or 0.0) / len(load.weekdays or range(DAYS_PER_WEEK))


def spread(number_per_day: float, days: IntArray) -> tuple[IntArray, FloatArray]:
    """Spread a number of events a day evenly over some days.

    Parameters
    ----------
    number_per_day : float
        Mean number a day; need not be whole.
    days : ndarray of int
        Days in order.

    Returns
    -------
    at : ndarray of int
        Position in ``days`` of each event.
    share : ndarray
        1 for each, less for the last, so that the sum is ``number_per_day × days``.
    """
    total = number_per_day * days.size
    # A whole number of events must not gain or lose one through rounding.
    whole = int(np.floor(total + 1e-9))
    at = np.ceil(np.arange(1, whole + 1) / max(number_per_day, 1e-300) - 1e-9).astype(int) - 1
    share = np.ones(whole)
    if total - whole > 1e-9 and days.size:
        at, share = np.append(at, days.size - 1), np.append(share, total - whole)
    return np.minimum(at, max(days.size - 1, 0)).astype(np.int64), share


def spans_of(load: Load, civil: CivilYear, *, seed: int) -> Spans:
    """When one thing of a load works, and at what power.

    Parameters
    ----------
    load : Load
        Complete: what it takes from the library is filled in.
    civil : CivilYear
        The year at the place.
    seed : int
        Seed of the random moments of bursts.

    Returns
    -------
    Spans
        In the grid's order of days.
    """
    days = civil.days(load.months, load.weekdays)
    if load.bursts is not None:
        return _bursts(load, civil, days, seed=seed)
    if counts_uses(load):
        return _uses(load, civil, days)
    start_h, end_h = _hours(load, civil, days)
    duty = np.array(by_month(1.0 if load.duty is None else load.duty))
    return Spans(start_h, end_h, duty[civil.month[days]] * (load.power_w or 0.0))


def arrivals_of(load: Load, civil: CivilYear) -> tuple[FloatArray, FloatArray]:
    """When the jobs of a load that can wait arrive, and their energy for one thing.

    Parameters
    ----------
    load : Load
        Complete, with ``can_wait``.
    civil : CivilYear
        The year at the place.

    Returns
    -------
    at_h : ndarray
        Hours of the year, UTC [h].
    energy_wh : ndarray
        Energy of each job [Wh].
    """
    days = civil.days(load.months, load.weekdays)
    arrive = JOBS_ARRIVE if load.from_ is None else parse_moment(load.from_)
    if counts_uses(load):
        at, share = spread(uses_per_day(load), days)
        return civil.moment_h(arrive, days[at]), share * use_wh(load)
    duty = np.array(by_month(1.0 if load.duty is None else load.duty))
    hours = HOURS_PER_DAY if load.hours_per_day is None else load.hours_per_day
    energy_wh = duty[civil.month[days]] * (load.power_w or 0.0) * hours
    return civil.moment_h(arrive, days), energy_wh


def _window(load: Load, civil: CivilYear, days: IntArray) -> tuple[FloatArray, FloatArray] | None:
    if load.from_ is None or load.until is None:
        return None
    return civil.window(parse_moment(load.from_), parse_moment(load.until), days)


def _hours(load: Load, civil: CivilYear, days: IntArray) -> tuple[FloatArray, FloatArray]:
    """Hours a day: a window, so many hours from or until a moment, or the evening."""
    if (window := _window(load, civil, days)) is not None:
        return window
    hours = load.hours_per_day
    if hours is None or hours >= HOURS_PER_DAY:
        return civil.whole_days(days)
    if load.until is not None:
        end_h = civil.moment_h(parse_moment(load.until), days)
        return end_h - hours, end_h
    start_h = (
        civil.evening_h(days)
        if load.from_ is None
        else civil.moment_h(parse_moment(load.from_), days)
    )
    return start_h, start_h + hours


def _uses(load: Load, civil: CivilYear, days: IntArray) -> Spans:
    """Uses one after another from the start of the window, or spread through it."""
    hours = use_hours(load) or 0.0
    at, share = spread(uses_per_day(load), days)
    first = np.concatenate(([True], at[1:] != at[:-1]))[: at.size]
    order = np.arange(at.size) - np.maximum.accumulate(np.where(first, np.arange(at.size), 0))
    begin = USES_BEGIN if load.from_ is None else parse_moment(load.from_)
    start_h = civil.moment_h(begin, days[at])
    gap_h = np.full(at.size, hours)
    if (window := _window(load, civil, days[at])) is not None:
        # The first begins as the window opens, the last ends as it shuts.
        gaps = np.maximum(np.bincount(at, minlength=days.size)[at] - 1, 1)
        gap_h = np.maximum(gap_h, (window[1] - window[0] - hours) / gaps)
    start_h = start_h + order * gap_h
    return Spans(start_h, start_h + share * hours, np.full(at.size, mean_use_w(load)))


def _bursts(load: Load, civil: CivilYear, days: IntArray, *, seed: int) -> Spans:
    """Bursts at random moments that do not overlap; as many as the night has room for."""
    bursts = load.bursts
    if bursts is None:
        raise ValueError("a load without bursts")
    if (window := _window(load, civil, days)) is not None:
        open_h, shut_h = window
    elif bursts.per_night is not None:
        open_h, shut_h = civil.window(Moment("dusk", 0.0), Moment("dawn", 0.0), days)
    else:
        open_h, shut_h = civil.whole_days(days)
    number = bursts.per_day if bursts.per_day is not None else bursts.per_night
    length_h = bursts.minutes / 60.0
    at, share = spread(number or 0.0, days)
    rng = np.random.default_rng([seed, zlib.crc32(load.name.encode())])
    moments = rng.random(at.size)
    start_h = np.empty(at.size)
    kept = np.zeros(at.size, dtype=bool)
    for day in np.unique(at):
        mine = np.flatnonzero(at == day)
        room_h = shut_h[day] - open_h[day]
        mine = mine[: int(np.floor(room_h / length_h + 1e-9))]
        kept[mine] = True
        slack_h = max(room_h - mine.size * length_h, 0.0)
        start_h[mine] = open_h[day] + np.sort(moments[mine]) * slack_h
        start_h[mine] += np.arange(mine.size) * length_h
    start_h, share = start_h[kept], share[kept]
    return Spans(start_h, start_h + share * length_h, np.full(start_h.size, load.power_w or 0.0))

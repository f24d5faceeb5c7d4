"""Moments of the day, months and weekdays."""

from __future__ import annotations

import pytest

from sunpantry.design.moments import Moment, days_later, never_opens, parse_moment


@pytest.mark.regression
@pytest.mark.parametrize(
    ("text", "moment"),
    [
        ("07:30", Moment("clock", 7.5)),
        ("7:00", Moment("clock", 7.0)),
        ("24:00", Moment("clock", 24.0)),
        ("dusk", Moment("dusk", 0.0)),
        ("Dawn + 0:30", Moment("dawn", 0.5)),
        ("dusk-1:15", Moment("dusk", -1.25)),
    ],
)
def test_a_moment_is_read(text: str, moment: Moment) -> None:
    assert parse_moment(text) == moment


@pytest.mark.regression
@pytest.mark.parametrize(
    "text",
    ["24:01", "25:00", "07:60", "noon", "dusk+13:00", "dusk+0:60", "dusk 1", "", "7", "-1:00"],
)
def test_what_is_no_moment_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="no such time of day"):
        parse_moment(text)


@pytest.mark.regression
@pytest.mark.parametrize(
    ("start", "end", "days"),
    [
        ("07:00", "09:00", 0),
        ("22:00", "02:00", 1),
        ("dusk", "dawn", 1),
        ("dawn", "dusk", 0),
        ("dusk", "23:00", 0),
        ("dusk", "01:00", 1),
        ("06:30", "dawn", 0),
        ("22:00", "dawn", 1),
        ("dawn-1:00", "dawn+0:30", 0),
        ("dusk+2:00", "dusk+1:00", 1),
    ],
)
def test_a_window_ends_the_same_day_or_the_next(start: str, end: str, days: int) -> None:
    assert days_later(parse_moment(start), parse_moment(end)) == days


@pytest.mark.regression
def test_only_two_equal_moments_never_open_anywhere() -> None:
    assert never_opens(parse_moment("07:00"), parse_moment("7:00"))
    assert not never_opens(parse_moment("dusk"), parse_moment("07:00"))

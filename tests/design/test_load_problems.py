"""Every way a load can be wrong, and what the person is told."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from sunpantry.errors import Problem

# Lines added to the lamp of the shortest document, and the whole message.
LOAD_CASES = {
    "quantity = 0": (
        "load[1].quantity = 0: at least 1; change the value, or leave the key out for the default"
    ),
    "quantity = true": (
        "load[1].quantity = true: a whole number, without quotes or unit; "
        "change the value, or leave the key out for the default"
    ),
    'surge = "3 W"': (
        "load[1].surge = 3: the highest draw as it starts: at least its power, 8 W; "
        "raise it, or leave it out where there is no surge"
    ),
    'standby = "9 W"': (
        "load[1].standby = 9: what it draws while it does nothing: at most its power, 8 W; "
        "lower it, or raise power"
    ),
    "months = [0]": (
        "load[1].months = [0]: months by number 1 to 12 or by name, "
        '[11, 12, "Jan"], or a span "Nov-Feb"; change the value'
    ),
    "months = []": (
        "load[1].months = []: months by number 1 to 12 or by name, "
        '[11, 12, "Jan"], or a span "Nov-Feb"; change the value'
    ),
    'weekdays = ["someday"]': (
        'load[1].weekdays = ["someday"]: weekdays by name, ["mon", "tue"]; change the value'
    ),
    'duty = "120 %"': (
        'load[1].duty = "120 %": a number, at least 0 and at most 1; '
        "one for the year or a list of twelve, January first; change the value"
    ),
    "duty = [0.1, 0.2]": (
        "load[1].duty = [0.1, 0.2]: a number, at least 0 and at most 1; one for the year or "
        "a list of twelve, January first; this list holds 2"
    ),
    "duty = 0": "load[1].duty = 0: more than 0; a load with no energy: take it out",
    'from = "25:00"': (
        'load[1].from = "25:00": a clock time such as "07:30", "dusk", "dawn", '
        'or an offset to them such as "dusk+1:30"; change the value'
    ),
    'from = "07:00"\nuntil = "09:00"': (
        "load[1].hours_per_day = 4: either hours_per_day or a window from … until, not both; "
        "keep one; for part of a window give duty, the share of it that counts"
    ),
    'importance = "shuold"': (
        'load[1].importance = "shuold": "must", "should" or "may"; did you mean "should"?'
    ),
    "bursts = {}": (
        "load[1].bursts = {…}: either per_day or per_night; add per_night = 8\n"
        "load[1].hours_per_day = given: one way of saying how much it works, "
        "not bursts and hours_per_day; keep bursts or hours_per_day"
    ),
    "can_wait = 3": (
        "load[1].can_wait = 3: a table of its own; "
        "change the value, or leave the key out for the default"
    ),
    'can_wait = { days = 3, rule = "when it likes" }': (
        'load[1].can_wait.rule = "when it likes": "sun to spare" or "battery above 80 %"; '
        "change the value"
    ),
    "can_wait = { days = 0 }": (
        "load[1].can_wait.days = 0: a quantity in days, more than 0 and at most 60 days; "
        "change the value"
    ),
    "uses_per_week = 3\nenergy_per_use = 50": (
        "load[1].hours_per_day = given: one way of saying how much it works, "
        "not uses_per_week and hours_per_day; keep uses_per_week or hours_per_day"
    ),
    "powr = 3": 'load[1].powr = 3: no such key in load[1]; did you mean "power"?',
    "hours_per_dya = 3": (
        'load[1].hours_per_dya = 3: no such key in load[1]; did you mean "hours_per_day"?'
    ),
    "power_w = 3": "load[1].power_w = 3: power is given already; keep one of the two",
    'typical = "yes"': (
        'load[1].typical = "yes": true or false; '
        "change the value, or leave the key out for the default"
    ),
}


@pytest.mark.regression
@pytest.mark.parametrize(("lines", "message"), LOAD_CASES.items())
def test_a_load_that_is_wrong(
    lines: str,
    message: str,
    document: Callable[..., str],
    problems_of: Callable[..., tuple[Problem, ...]],
) -> None:
    found = problems_of(document(load=lines))
    assert sorted(str(problem) for problem in found) == sorted(message.split("\n"))


# A whole load in place of the lamp, and the key, allowed and remedy of its one problem.
WHOLE_LOADS = {
    'power = "-8 W"\nsupply = "12 V"\nhours_per_day = 4': (
        *("load[1].power", '"-8 W"', "a quantity in W, at least 0 W", "change the value"),
    ),
    'power = "8 V"\nsupply = "12 V"\nhours_per_day = 4': (
        "load[1].power",
        '"8 V"',
        "a quantity in W, at least 0 W",
        "'V' does not measure the same thing as W; write it like \"5 W\"",
    ),
    'power = "8 wats"\nsupply = "12 V"\nhours_per_day = 4': (
        "load[1].power",
        '"8 wats"',
        "a quantity in W, at least 0 W",
        "the unit 'wats' is not known here; use W; write it like \"5 W\"",
    ),
    'power = "eight"\nsupply = "12 V"\nhours_per_day = 4': (
        "load[1].power",
        '"eight"',
        "a quantity in W, at least 0 W",
        "expected a number with a unit such as '5 W'",
    ),
    'supply = "12 V"\nhours_per_day = 4': (
        *("load[1].power", "(missing)", "what it draws in W", 'add power = "8 W"'),
    ),
    'power = 0\nsupply = "12 V"\nhours_per_day = 4': (
        "load[1].power",
        "0",
        "more than 0 W",
        "a load with no energy: give what it draws",
    ),
    'power = 8\nsupply = "12 V"\nhours_per_day = 0': (
        "load[1].hours_per_day",
        "0",
        "more than 0",
        "a load with no energy: take it out",
    ),
    'power = 8\nsupply = "12 V"': (
        "load[1].hours_per_day",
        "(missing)",
        "how long it works: hours_per_day, from and until, duty, uses_per_week or bursts",
        "a load with no energy: add hours_per_day = 4, or 24 for around the clock",
    ),
    'power = 8\nstandby = 1\nsupply = "12 V"': (
        "load[1].hours_per_day",
        "(missing)",
        "how long it works: hours_per_day, from and until, duty, uses_per_week or bursts",
        "a load with no energy: add hours_per_day = 4, or 24 for around the clock",
    ),
    "power = 8\nhours_per_day = 4": (
        "load[1].supply",
        "(missing)",
        '"5 V", "12 V", "24 V", "48 V" or "mains"',
        'say what it plugs into: add supply = "12 V"',
    ),
    'power = 8\nsupply = "230 V"\nhours_per_day = 4': (
        "load[1].supply",
        '"230 V"',
        '"5 V", "12 V", "24 V", "48 V" or "mains"',
        "choose one of these",
    ),
    'power = 8\nsupply = "12 V"\nfrom = "07:00"\nuntil = "07:00"': (
        "load[1].until",
        '"07:00"',
        "a moment other than from (07:00): this window never opens",
        "for around the clock write hours_per_day = 24 instead of from and until",
    ),
    'power = 8\nsupply = "12 V"\nfrom = "07:00"': (
        *("load[1].until", "(missing)", "the end of the window", "add until or hours_per_day"),
    ),
    'power = 8\nsupply = "12 V"\nuntil = "07:00"': (
        *("load[1].from", "(missing)", "the start of the window", "add from or hours_per_day"),
    ),
    'power = 8\nsupply = "12 V"\nhours_per_day = 25': (
        "load[1].hours_per_day",
        "25",
        "a quantity in h, at least 0 and at most 24 h",
        "change the value",
    ),
    'power = 8\nsupply = "12 V"\nuses_per_week = 3': (
        "load[1].energy_per_use",
        "(missing)",
        "energy of one use in Wh",
        'add energy_per_use = "500 Wh", or power with minutes_per_use',
    ),
    'power = 8\nsupply = "12 V"\nenergy_per_use = 100': (
        "load[1].uses_per_week",
        "(missing)",
        "how often it is used",
        "add uses_per_week = 3",
    ),
    'supply = "12 V"\nenergy_per_use = 100\nuses_per_week = 3': (
        "load[1].minutes_per_use",
        "(missing)",
        "how long one use takes",
        "add it, or power",
    ),
    'power = 8\nsupply = "12 V"\nenergy_per_use = 200\nuses_per_week = 3': (
        "load[1].energy_per_use",
        "200.0",
        "one use takes 25 h at this power; at most 24 h",
        "raise power, or lower energy_per_use",
    ),
    'power = 8\nsupply = "12 V"\nenergy_per_use = 160\nuses_per_week = 10': (
        "load[1].uses_per_week",
        "10",
        "at most 8.4: one use takes 20 h",
        "lower it, or raise power",
    ),
    'power = 8\nsupply = "12 V"\nenergy_per_use = 160\nuses_per_week = 3\nweekdays = ["sat"]': (
        "load[1].uses_per_week",
        "3",
        "at most 1.2: one use takes 20 h",
        "lower it, or raise power",
    ),
    'power = 8\nsupply = "12 V"\nenergy_per_use = 16\nuses_per_week = 3\nminutes_per_use = 60': (
        "load[1].power",
        "8",
        "at least 16 W, or the energy of a use does not fit in its minutes",
        "raise power or minutes_per_use, or lower energy_per_use",
    ),
    'power = 8\nsupply = "12 V"\nbursts = { per_day = 1, per_night = 2 }': (
        *("load[1].bursts", "{…}", "either per_day or per_night", "keep one of the two"),
    ),
    'power = 8\nsupply = "12 V"\nbursts = { per_day = 0 }': (
        *("load[1].bursts", "0", "more than 0 a day", "a load with no energy: take it out"),
    ),
    'power = 8\nsupply = "12 V"\nbursts = { per_day = 100, minutes = 20 }': (
        "load[1].bursts.minutes",
        "20",
        "bursts that fit in a day",
        "lower the number or the minutes",
    ),
    'power = 8\nsupply = "12 V"\nbursts = { per_day = 3 }\ncan_wait = {}': (
        *("load[1].can_wait", "{…}", "a load that is not in bursts", "take out one of the two"),
    ),
    'power = 8\nsupply = "12 V"\nfrom = "07:00"\nuntil = "08:00"\ncan_wait = {}': (
        "load[1].until",
        '"08:00"',
        "hours_per_day or uses_per_week for a load that can wait: it has no window",
        "say how much it needs with hours_per_day, and take out until",
    ),
    'power = 8\nsupply = "12 V"\nuses_per_week = 3\nminutes_per_use = 5\nduty = 0.5': (
        "load[1].duty",
        "given",
        "one way of saying how much it works, not uses_per_week and duty",
        "keep uses_per_week or duty",
    ),
}


@pytest.mark.regression
@pytest.mark.parametrize(("lines", "expected"), WHOLE_LOADS.items())
def test_a_whole_load_that_is_wrong(
    lines: str, expected: tuple[str, str, str, str], only: Callable[..., Problem]
) -> None:
    text = "[site]\nlatitude = 54.1\nlongitude = -9.2\n" + f'[[load]]\nname = "Lamp"\n{lines}\n'
    assert only(text) == Problem(*expected)

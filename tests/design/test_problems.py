"""Every way a document can be wrong, and what the person is told."""

from __future__ import annotations

import pytest

from sunpantry.design import parse_design
from sunpantry.errors import InputError, Problem

HEAD = "schema = 1\n{top}\n[site]\nlatitude = 54.1\nlongitude = -9.2\n{site}\n"
LAMP = '[[load]]\nname = "Lamp"\npower = "8 W"\nsupply = "12 V"\nhours_per_day = 4\n'
BATTERY = '[battery]\nchemistry = "agm"\ncapacity = "100 Ah"\n'


def problems_of(text: str, **names: object) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as caught:
        parse_design(text, **names)  # type: ignore[arg-type]
    assert caught.value.exit_status == 2
    return caught.value.problems


def document(*, top: str = "", site: str = "", load: str = "", more: str = "") -> str:
    """The shortest document with lines added to its tables."""
    return HEAD.format(top=top, site=site) + LAMP + load + "\n" + more


def only(text: str, **names: object) -> Problem:
    found = problems_of(text, **names)
    assert len(found) == 1, [str(problem) for problem in found]
    return found[0]


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
def test_a_load_that_is_wrong(lines: str, message: str) -> None:
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
def test_a_whole_load_that_is_wrong(lines: str, expected: tuple[str, str, str, str]) -> None:
    text = HEAD.format(top="", site="") + f'[[load]]\nname = "Lamp"\n{lines}\n'
    assert only(text) == Problem(*expected)


# Keys at the top, keys of the site, tables after the loads; and the one message.
OTHER_CASES = {
    ("schema_version = 1", "", ""): (
        'schema_version = 1: no such key in (document); did you mean "schema"?'
    ),
    ("winters = 0", "", ""): (
        "winters = 0: at least 1; change the value, or leave the key out for the default"
    ),
    ('step = "7 min"', "", ""): (
        'step = "7 min": a step that divides the day into equal parts, '
        '5 min to 1 h, such as "15 min"; change the value'
    ),
    ('bank_voltage = "36 V"', "", ""): (
        'bank_voltage = "36 V": "5 V", "12 V", "24 V" or "48 V"; change the value'
    ),
    ("", "albedo = 2", ""): (
        "site.albedo = 2: a number, at least 0 and at most 1; "
        "one for the year or a list of twelve, January first; change the value"
    ),
    ("", "monthly_sun = [1, 2]", ""): (
        "site.monthly_sun = [1, 2]: a list of twelve, January first, each a quantity in "
        "kWh/m²/day, more than 0 and at most 12 kWh/m²/day; this list holds 2"
    ),
    ("", "horizon = [[400, 3]]", ""): (
        "site.horizon = [[400, 3]]: a list of pairs "
        "[compass bearing 0 to 360°, height of the skyline 0 to 90°]; change the value"
    ),
    (
        "",
        "",
        '[inverter]\npart = "none"\n[[load]]\nname = "TV"\npower = 30\nsupply = "mains"\n'
        "hours_per_day = 2",
    ): (
        'load[2].supply = "mains": a supply there is; inverter.part = "none" leaves no mains '
        "voltage; take out [inverter] so that one is chosen, or run this load from 12 V"
    ),
    (
        'bank_voltage = "12 V"',
        "",
        '[[load]]\nname = "TV"\npower = 30\nsupply = "24 V"\nhours_per_day = 2',
    ): (
        'load[2].supply = "24 V": at most the 12 V of the bank, or a [[converter]] that gives '
        'it; set bank_voltage = "24 V", or add a [[converter]] with output = "24 V"'
    ),
    (
        "",
        "",
        BATTERY + 'nominal = "12 V"\nseries = 1\n[[load]]\nname = "TV"\npower = 30\n'
        'supply = "24 V"\nhours_per_day = 2',
    ): (
        'load[2].supply = "24 V": at most the 12 V of the bank, or a [[converter]] that gives '
        'it; set bank_voltage = "24 V", or add a [[converter]] with output = "24 V"'
    ),
    ('bank_voltage = "24 V"', "", BATTERY + 'nominal = "12 V"\nseries = 1'): (
        "bank_voltage = 24 V: what the battery makes: 1 × 12 V in series; "
        "change bank_voltage, or the battery's series"
    ),
    ("", "", BATTERY): (
        "battery.nominal = (missing): a quantity in V, more than 0 and at most 1500 V; "
        "add a line nominal = …"
    ),
    ("", "", BATTERY + 'nominal = "12 V"\npart = "x"'): (
        'battery.part = "x": a name from the list or figures from a label, not both; '
        "take out part, or the figures"
    ),
    ("", "", "[battery]\nseries = 2\nparallel = 2\ncount = 3"): (
        "battery.count = 3: series × parallel, which is 4; leave out one of the three"
    ),
    ("", "", "[battery]\nseries = 2\ncount = 3"): (
        "battery.count = 3: a multiple of 2; change count, or the wiring"
    ),
    ("", "", "[[array]]\ncount = 2\nowned = 3"): (
        "array[1].owned = 3: at most as many as there are, 2; lower owned, or raise count"
    ),
    ("", "", '[[array]]\ntilt = "besst"'): (
        'array[1].tilt = "besst": "best", or a quantity in °, at least 0 and at most 90 °; '
        "expected a number with a unit such as '5 °'"
    ),
    ("", "", "[[array]]\ntilt_winter = 70"): (
        "array[1].tilt_summer = (missing): tilt_winter and tilt_summer together; add tilt_summer"
    ),
    ("", "", "[[array]]\ntilt = 50\ntilt_winter = 70\ntilt_summer = 20"): (
        "array[1].tilt = 50: either tilt, or tilt_winter and tilt_summer; take out tilt"
    ),
    ("", "", '[controller]\nkind = "pmw"\nrated = 10\nmax_pv_voc = 50'): (
        'controller.kind = "pmw": "pwm" or "mppt"; did you mean "pwm"?'
    ),
    ("", "", '[inverter]\nfrom = "07:00"'): (
        "inverter.until = (missing): both ends of the window; add until"
    ),
    ("", "", '[backup]\nkind = "generator"'): (
        'backup.power = (missing): needed for a generator; add power = "800 W"'
    ),
    ("", "", '[backup]\nkind = "mains"\npower = 500\nfuel_price = 2'): (
        "backup.fuel_price = 2.0: only for kind generator, this is mains; "
        "take it out, or change kind"
    ),
    ("", "", '[backup]\nkind = "mains"\npower = 500\nstop_above = "20 %"'): (
        "backup.stop_above = 20 %: more than start_below, 35 %; raise stop_above"
    ),
    ("", "", '[backup]\nkind = "windmill"'): (
        'backup.kind = "windmill": "generator", "mains" or "carried_battery"; choose one of these'
    ),
    ("", "", "[backup]\npower = 500"): (
        'backup.kind = (missing): one of "generator", "mains", "carried_battery"; '
        "add a line kind = …"
    ),
    ("", "", "[[tank]]\nvolume = 100"): (
        "tank[1].litres_per_day = 0: water drawn, here or in [[tank.drinker]]; "
        "add litres_per_day, or drinkers"
    ),
    (
        "",
        "",
        "[[pump]]\nstatic_head = 3\npipe_length = 10\nrated_flow = 5\nrated_head = 5\n"
        "rated_power = 40",
    ): ("pump[1].into = (missing): a [[tank]] to pump into; add a [[tank]] with its volume"),
    (
        "",
        "",
        '[[tank]]\nname = "top"\nvolume = 100\nlitres_per_day = 9\n[[pump]]\ninto = "topp"\n'
        "static_head = 3\npipe_length = 10\nrated_flow = 5\nrated_head = 5\nrated_power = 40",
    ): ('pump[1].into = "topp": a name from the tanks of this document; did you mean "top"?'),
    (
        "",
        "",
        "[[tank]]\nvolume = 100\nlitres_per_day = 9\n[[pump]]\nstatic_head = 3\n"
        "pipe_length = 10\nrated_flow = 5\nrated_head = 5",
    ): (
        "pump[1].rated_power = (missing): a rated point (rated_flow, rated_head, rated_power) "
        "or a curve; add rated_power"
    ),
    ("", "", '[promise]\nmust = "-1 h"'): (
        'promise.must = "-1 h": a quantity in h, at least 0 and at most 8760 h; change the value'
    ),
    ("", "", '[money]\ncurrency = "euro"'): (
        'money.currency = "euro": three capital letters such as "EUR"; '
        "change the value, or leave the key out for the default"
    ),
    ("", "", '[search]\nchemistries = ["amg"]'): (
        'search.chemistries[1] = "amg": "flooded", "agm", "gel", "lifepo4" or "power_bank"; '
        'did you mean "agm"?'
    ),
    ('bank_voltage = "12 V"', "", '[search]\nbank_voltages = ["24 V"]'): (
        'search.bank_voltages = ["24 V"]: a list with the bank_voltage that is set, 12 V; '
        "take out one of the two"
    ),
    ("", "", '[wiring.runs]\naray = "3 m"'): (
        'wiring.runs.aray = "aray": a name from the runs (array, battery, inverter, converter, '
        'loads, backup, earth) and the loads; did you mean "array"?'
    ),
    ("", "", '[wiring.runs]\narray = "0 m"'): (
        'wiring.runs.array = "0 m": a quantity in m, more than 0 m; change the value'
    ),
    ("", "", '[[load]]\nname = "LAMP "\npower = 8\nsupply = "12 V"\nhours_per_day = 4'): (
        'load[2].name = "LAMP ": a name of its own; load[1] has this one; '
        "give it another name, or use quantity for several equal ones"
    ),
    ("", "", '[load2]\nname = "x"'): (
        'load2 = {…}: no such key in (document); did you mean "load"?'
    ),
}


@pytest.mark.regression
@pytest.mark.parametrize(("lines", "message"), OTHER_CASES.items())
def test_another_table_that_is_wrong(lines: tuple[str, str, str], message: str) -> None:
    top, site, more = lines
    assert str(only(document(top=top, site=site, more=more))) == message


SITES = {
    "latitude = 95\nlongitude = 0": (
        "site.latitude = 95: a quantity in °, at least -90 and at most 90 °; change the value"
    ),
    "latitude = 9": ("site.longitude = (missing): latitude and longitude together; add longitude"),
    "": (
        "site.latitude = (missing): coordinates in degrees, or place with a name to look up; "
        "add latitude = 54.1 and longitude = -9.2, or place"
    ),
    'place = "Westprt"': (
        'site.place = "Westprt": a name from the gazetteer; did you mean "Westport"?'
    ),
    'place = "Qqqq"': (
        'site.place = "Qqqq": a name from the gazetteer; give latitude and longitude'
    ),
}


@pytest.mark.regression
@pytest.mark.parametrize(("site", "message"), SITES.items())
def test_a_site_that_is_nowhere(site: str, message: str) -> None:
    text = f"[site]\n{site}\n{LAMP}"
    assert str(only(text, place_names=["Westport", "Galway"])) == message


@pytest.mark.regression
def test_a_named_place_with_coordinates_is_not_looked_up() -> None:
    design = parse_design(document(site='place = "Carrowmoor"'), place_names=["Galway"])
    assert design.site.place == "Carrowmoor"


PARTS = {"panel": ["100 W panel", "50 W panel"], "battery": ["AGM 100 Ah"]}


@pytest.mark.regression
def test_names_are_checked_against_the_lists() -> None:
    more = (
        '[[array]]\npart = "100 W panle"\n[battery]\npart = "none"\n[money.prices]\n'
        '"AGM 10 Ah" = 90\n[controller]\npart = "PWM 10 A"\n'
    )
    like = '[[load]]\nname = "Freezer"\nlike = "chest frezer"\n'
    found = problems_of(
        document(more=like + more), part_names=PARTS, load_names=["chest freezer", "radio"]
    )
    assert [str(problem) for problem in found] == [
        'load[2].like = "chest frezer": a name from the library of loads; '
        'did you mean "chest freezer"?',
        'array[1].part = "100 W panle": a name from the parts list (panel); '
        'did you mean "100 W panel"?',
        'money.prices."AGM 10 Ah" = "AGM 10 Ah": a name from the parts list; '
        'did you mean "AGM 100 Ah"?',
        'controller.part = "PWM 10 A": a name from the parts list (controller); '
        "`sunpantry parts` lists them; or give the figures on its label",
    ]


@pytest.mark.regression
def test_nothing_to_run_is_a_problem() -> None:
    assert str(only("[site]\nlatitude = 1\nlongitude = 2")) == (
        "load = (missing): at least one [[load]] or [[pump]]; "
        "add a [[load]] with name, power, supply and hours_per_day"
    )


@pytest.mark.regression
def test_all_problems_are_told_at_once_in_the_order_of_the_document() -> None:
    text = """
    naem = "x"
    bank_voltage = "12 V"
    [site]
    latitude = 95
    longitude = 3
    [[load]]
    name = "A"
    power = "-8 W"
    supply = "24 V"
    from = "07:00"
    until = "07:00"
    [[load]]
    name = "a"
    power = "8 W"
    hours_per_dya = 4
    months = [13]
    supply = "12 V"
    hours_per_day = 3
    [battery]
    chemistry = "agm"
    capacity = "100 V"
    cuont = 2
    [promise]
    may = "x"
    """
    assert [problem.where for problem in problems_of(text)] == [
        "naem",
        "site.latitude",
        "load[1].power",
        "load[1].until",
        "load[1].supply",
        "load[2].months",
        "load[2].hours_per_dya",
        "load[2].name",
        "battery.nominal",
        "battery.capacity",
        "battery.cuont",
        "promise.may",
    ]


SYNTAX = {
    "a = 1\nfrom = dusk": (
        "design.toml, line 2, column 8 = from = dusk: not readable as TOML: Invalid value; "
        "texts, times and quantities go in quotes"
    ),
    "[site]\nlatitude = 1\nlatitude = 2\n": (
        "design.toml, line 3, column 13 = latitude = 2: not readable as TOML: "
        "Cannot overwrite a value; keep one of the two"
    ),
    "[site": (
        "design.toml, line 1 (end) = [site: not readable as TOML: "
        "Expected ']' at the end of a table declaration; texts, times and quantities go in quotes"
    ),
}


@pytest.mark.regression
@pytest.mark.parametrize(("text", "message"), SYNTAX.items())
def test_syntax_is_told_with_its_line(text: str, message: str) -> None:
    assert str(only(text)) == message


@pytest.mark.regression
@pytest.mark.parametrize(
    ("text", "where"),
    [
        ("load = 3\n[site]\nlatitude = 1\nlongitude = 2", "load"),
        ("site = 3\n" + LAMP, "site"),
        ("[site]\nlatitude = 1\nlongitude = 2\n[load]\nname = 1", "load"),
        ("[site]\nlatitude = 1\nlongitude = 2\n[[load]]\nname = 1\npower=1", "load[1].name"),
        ("battery = [1]\n[site]\nlatitude = 1\nlongitude = 2\n" + LAMP, "battery"),
        ("x = " + "[" * 500 + "]" * 500, "design.toml"),
        ("a" * 2_000_001, "design.toml"),
    ],
)
def test_a_document_of_another_shape_is_told_too(text: str, where: str) -> None:
    assert problems_of(text)[0].where == where

"""Every way a table can be wrong, and what the person is told."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from sunpantry.design import parse_design
from sunpantry.errors import Problem

LAMP = '[[load]]\nname = "Lamp"\npower = "8 W"\nsupply = "12 V"\nhours_per_day = 4\n'
BATTERY = '[battery]\nchemistry = "agm"\ncapacity = "100 Ah"\n'


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
        'array[1].tilt = "besst": "best", "best for the promise", "best for the year", '
        '"best for the darkest month", or a quantity in °, at least 0 and at most 90 °; '
        "expected a number with a unit such as '5 °'"
    ),
    ("", "", '[[array]]\nazimuth = "best for the summer"'): (
        'array[1].azimuth = "best for the summer": "best", "best for the promise", '
        '"best for the year", "best for the darkest month", "north", "north-east", "east", '
        '"south-east", "south", "south-west", "west", "north-west", or a quantity in °, at least 0 '
        "and at most 360 °; expected a number with a unit such as '5 °'"
    ),
    ("", "", '[[array]]\ntilt = "best for the year"\ntilt_winter = 70\ntilt_summer = 20'): (
        'array[1].tilt = "best for the year": either tilt, or tilt_winter and tilt_summer; '
        "take out tilt"
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
def test_another_table_that_is_wrong(
    lines: tuple[str, str, str],
    message: str,
    document: Callable[..., str],
    only: Callable[..., Problem],
) -> None:
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
def test_a_site_that_is_nowhere(site: str, message: str, only: Callable[..., Problem]) -> None:
    text = f"[site]\n{site}\n{LAMP}"
    assert str(only(text, place_names=["Westport", "Galway"])) == message


@pytest.mark.regression
def test_a_named_place_with_coordinates_is_not_looked_up(document: Callable[..., str]) -> None:
    design = parse_design(document(site='place = "Carrowmoor"'), place_names=["Galway"])
    assert design.site.place == "Carrowmoor"


PARTS = {"panel": ["100 W panel", "50 W panel"], "battery": ["AGM 100 Ah"]}


@pytest.mark.regression
def test_names_are_checked_against_the_lists(
    document: Callable[..., str], problems_of: Callable[..., tuple[Problem, ...]]
) -> None:
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
def test_nothing_to_run_is_a_problem(only: Callable[..., Problem]) -> None:
    assert str(only("[site]\nlatitude = 1\nlongitude = 2")) == (
        "load = (missing): at least one [[load]] or [[pump]]; "
        "add a [[load]] with name, power, supply and hours_per_day"
    )


@pytest.mark.regression
def test_all_problems_are_told_at_once_in_the_order_of_the_document(
    problems_of: Callable[..., tuple[Problem, ...]],
) -> None:
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
def test_syntax_is_told_with_its_line(
    text: str, message: str, only: Callable[..., Problem]
) -> None:
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
        ("winters = " + "9" * 5000, "design.toml"),
        ("winters = 0x" + "f" * 5000 + "\n[site]\nlatitude = 1\nlongitude = 2\n" + LAMP, "winters"),
        ("[site]\nlatitude = " + "9" * 400 + "\nlongitude = 2\n" + LAMP, "site.latitude"),
    ],
)
def test_a_document_of_another_shape_is_told_too(
    text: str, where: str, problems_of: Callable[..., tuple[Problem, ...]]
) -> None:
    assert problems_of(text)[0].where == where


@pytest.mark.regression
def test_a_power_is_looked_for_where_the_label_writes_it(only: Callable[..., Problem]) -> None:
    """`power` of an inverter is called `rated` here, and is not like `owned`."""
    text = "[site]\nlatitude = 1\nlongitude = 2\n" + LAMP + '[inverter]\npower = "300 W"\n'
    problem = only(text)
    assert problem.where == "inverter.power"
    assert problem.remedy == 'did you mean "rated"?'


@pytest.mark.regression
def test_one_pair_of_brackets_for_a_list_of_tables_is_told(only: Callable[..., Problem]) -> None:
    """[array] is [[array]]: there may be several."""
    problem = only("[site]\nlatitude = 1\nlongitude = 2\n" + LAMP + "[array]\ntilt = 30\n")
    assert problem.where == "array"
    assert problem.remedy == "write it in two pairs of brackets: [[array]]"

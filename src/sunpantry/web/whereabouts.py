"""What is wrong and where, in the words that stand on the page.

The rooms below speak of the keys of the design file and of what to write there; whoever
fills in a form has never seen it. Keys that are not listed here keep their own name.
"""

from __future__ import annotations

import re

from sunpantry.design.problems import MISSING
from sunpantry.errors import Problem
from sunpantry.language import gettext, mark
from sunpantry.phrases import Phrase, phrase
from sunpantry.web.labels import LABELS
from sunpantry.web.more_fields import FORMS

_CALLED = {
    "file": mark("Open a design file"),
    "place": mark("Where"),
    "name": mark("Name"),
    "power": mark("Power of one"),
    "supply": mark("Runs on"),
    "hours_per_day": mark("Hours a day"),
    "quantity": mark("How many"),
    "importance": mark("How much it matters"),
    "from": mark("From"),
    "until": mark("Until"),
    "months": mark("Months"),
    "weekdays": mark("Days of the week"),
    "duty": mark("Share of the time it draws"),
    "surge": mark("At the start"),
    "energy_per_use": mark("Energy a use"),
    "uses_per_week": mark("Uses a week"),
}
_TABLES = {
    "load": mark("What must run"),
    "pump": mark("Water"),
    "tank": mark("Water"),
    "site": mark("Where"),
    "array": mark("Panels"),
    "battery": mark("Battery"),
    "controller": mark("Charge controller"),
    "inverter": mark("Inverter"),
    "converter": mark("Converter"),
    "backup": mark("second source"),
    "promise": mark("What is promised"),
    "search": mark("What may be chosen"),
    "money": mark("What it costs"),
    "notes": mark("Notes"),
}
_THINGS = {
    "load": mark("load"),
    "pump": mark("pump"),
    "tank": mark("tank"),
    "converter": mark("converter"),
    "inverter": mark("inverter"),
}
# What the forms call what stands in these tables; the rest is told by the forms kept as data.
_FIELDS = {
    "promise.must": mark("for what must run"),
    "promise.should": mark("for what should run"),
    "promise.may": mark("for what may run"),
    "money.currency": mark("Currency"),
    "money.years": mark("Looking ahead"),
    "money.discount_rate": mark("Discount rate"),
    "array.part": mark("Which"),
    "array.count": mark("How many"),
    "array.series": mark("in a row"),
    "array.tilt": mark("Leaning"),
    "array.azimuth": mark("Facing"),
    "array.mounting": mark("Mounted"),
    "battery.part": mark("Which"),
    "battery.count": mark("How many"),
    "battery.housing": mark("Where it stands"),
    "controller.part": mark("Which"),
    "inverter.part": mark("Which"),
    "site.altitude": mark("Height above the sea"),
    "site.timezone": mark("Time zone"),
    "site.mains": mark("Mains voltage"),
    "site.soiling": mark("Light lost to dirt"),
    "site.snow": mark("Light lost to snow"),
    "site.monthly_sun": mark("Sun on level ground, twelve months"),
    "site.monthly_temperature": mark("Mean temperature, twelve months"),
    "site.horizon": mark("Skyline"),
    "site.obstacle.name": mark("Name"),
    "site.obstacle.height": mark("Height above the panels"),
    "site.obstacle.distance": mark("Distance"),
    "site.obstacle.from": mark("From bearing"),
    "site.obstacle.until": mark("to bearing"),
    "site.obstacle.lets_through": mark("Lets through"),
    "site.obstacle.bare_months": mark("Bare in"),
    "site.obstacle.bare_lets_through": mark("Lets through when bare"),
    "pump.name": mark("Name"),
    "pump.into": mark("Into"),
    "pump.static_head": mark("Height it lifts"),
    "pump.pipe_length": mark("Length of pipe"),
    "pump.rated_power": mark("Power on its label"),
    "pump.rated_flow": mark("Flow on its label"),
    "pump.rated_head": mark("at a height of"),
    "pump.suction": mark("Suction"),
    "pump.pipe_bore": mark("Pipe, inside"),
    "pump.elbows": mark("Elbows"),
    "pump.valves": mark("Valves"),
    "pump.check_valves": mark("Check valves"),
    "pump.start_power": mark("Does not turn below"),
    "pump.surge": mark("At the start"),
    "pump.well_yield_per_day": mark("What the well gives a day"),
    "pump.rule": mark("Runs when"),
    "tank.name": mark("Name of the tank"),
    "tank.volume": mark("The tank holds"),
    "tank.litres_per_day": mark("Drawn from it a day"),
    "tank.full_at_start": mark("How full at the start"),
    "backup.kind": mark("Which"),
    "backup.power": mark("It can give"),
    "backup.start_below": mark("Comes in below"),
    "backup.stop_above": mark("Stops above"),
    "backup.price": mark("Costs"),
    "backup.fuel_per_kwh": mark("Fuel for a kilowatt-hour"),
    "backup.fuel_price": mark("A litre of fuel costs"),
    "backup.energy_price": mark("A kilowatt-hour costs"),
    "backup.charger_efficiency": mark("Charger passes on"),
    "backup.quiet_from": mark("Quiet from"),
    "backup.quiet_until": mark("Quiet until"),
    "backup.transfer": mark("The mains feeds"),
    "backup.carried": mark("One carried battery holds"),
    "backup.trip_cost": mark("A trip costs"),
    "backup.max_per_winter": mark("Trips in a winter, at most"),
}
_OF_A_NAME = {"money.prices.": mark("What it costs"), "wiring.runs.": mark("Your cable lengths")}
_PLACE = re.compile(r"\[\d+\]")
_TABLE = re.compile(r"\[\[?(\w+)\]?\]")
_OF_A_LOAD = re.compile(r"(?:load\[\d+\]\.)?(\w+)")
_NOTHING = (MISSING, '""')
_TO_FILL_IN = {
    "power": phrase("how many watts one of them draws: it stands on its label"),
    "supply": phrase("what it plugs into"),
    "hours_per_day": phrase("how many hours a day it runs: 24 for around the clock"),
}
# What is said of the design file, said of a form.
_IN_A_FORM = {
    "a whole number, without quotes or unit": phrase("a whole number, such as 2"),
    "a text in quotes": phrase("some words"),
    "change the value, or leave the key out for the default": phrase(
        "change it, or leave the field empty for what is usual"
    ),
}


def called(where: str) -> str:
    """What a field is called on the page.

    Parameters
    ----------
    where : str
        Key of the document: ``load[2].power``.
    """
    field = _key(where)
    if field in _CALLED:
        return gettext(_CALLED[field])
    return where.replace("_", " ") if where == field else where


def named(where: str) -> str:
    """The field that has to be mended, with its chapter: 'Panels: Leaning'.

    Parameters
    ----------
    where : str
        Key of the document: ``array[1].tilt``.
    """
    for table, title in _OF_A_NAME.items():
        if where.startswith(table):
            return f"{gettext(title)}: {where.removeprefix(table)}"
    key = _PLACE.sub("", where)
    table, _, rest = key.partition(".")
    role = {"array": "panel"}.get(table, table)
    forms = (table, f"part-{role}", "reckoning" if not rest else "")
    entries = {one.key: one.label for label in LABELS if label.role == role for one in label.fields}
    entries |= {one.key: one.label for form in forms for one in FORMS.get(form, ())}
    label = _FIELDS.get(key) or entries.get(rest or key)
    if label is None:
        return called(where)
    return ": ".join(gettext(one) for one in (_TABLES.get(table, ""), label) if one)


def called_in_full(where: str) -> str:
    """The same with the chapter before it: 'What must run: Lamp: Hours a day'.

    Parameters
    ----------
    where : str
        Key of the document with names for places in lists: ``load.Lamp.hours_per_day``.
    """
    table, *inner = where.split(".")
    first = gettext(_TABLES[table]) if table in _TABLES else called(table)
    return ": ".join([first, *map(called, inner)])


def to_mend(problem: Problem) -> tuple[str | Phrase, ...]:
    """What would be right, and what to do, as far as a form needs it.

    Parameters
    ----------
    problem : Problem
        As a room below tells it.
    """
    remedy: str | Phrase = problem.remedy
    if problem.value in _NOTHING:
        if wanted := _TO_FILL_IN.get(_key(problem.where)):
            return (wanted,)
        remedy = phrase("fill this in")
    return tuple(_IN_A_FORM.get(one, one) for one in (problem.allowed, remedy) if one)


def typed(problem: Problem) -> str:
    """What stands in the field; empty where nothing does.

    Parameters
    ----------
    problem : Problem
        As a room below tells it.
    """
    return "" if problem.value in (*_NOTHING, "''") else problem.value


def without_brackets(sentence: str) -> str:
    """Tables of the design file by the names of things: '[[converter]]' is a converter.

    Parameters
    ----------
    sentence : str
        In the reader's language.
    """
    return _TABLE.sub(lambda found: gettext(_THINGS.get(found[1], found[1])), sentence)


def _key(where: str) -> str:
    found = _OF_A_LOAD.fullmatch(where)
    return found[1] if found else ""

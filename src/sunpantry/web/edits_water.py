"""Changes to pumps and tanks."""

from __future__ import annotations

from sunpantry.language import gettext as _
from sunpantry.web.entries import (
    Document,
    Form,
    fill,
    fresh_name,
    put,
    quantities,
    row_of,
    rows_of,
    taken_out,
)
from sunpantry.web.fields import fill_in
from sunpantry.web.more_fields import PUMP_MORE

PUMP_UNITS = {
    "static_head": "m",
    "suction": "m",
    "pipe_length": "m",
    "pipe_bore": "mm",
    "rated_flow": "L/min",
    "rated_head": "m",
    "rated_power": "W",
    "start_power": "W",
    "surge": "W",
    "well_yield_per_day": "L",
}
PUMP_TEXTS = ("name", "into", "supply", "pipe", "rule", "importance")
PUMP_NUMBERS = ("elbows", "valves", "check_valves")


def _named(document: Document, table: str, word: str) -> str:
    return fresh_name(word, [str(one.get("name", "")) for one in document.get(table) or []])


def add_pump(document: Document, form: Form) -> str:
    """Add a pump; the first one brings a tank with it."""
    row: Document = {}
    _fill_pump(row, form)
    row.setdefault("name", _named(document, "pump", _("Pump")))
    rows_of(document, "pump").append(row)
    if not document.get("tank"):
        tank: Document = {"name": _("Tank")}
        fill(tank, form, units={"volume": "L"})
        put(tank, "litres_per_day", quantities(form.get("litres_per_day", ""), "L"))
        document["tank"] = [tank]
    return _("added %(name)s") % {"name": row["name"]}


def _fill_pump(row: Document, form: Form) -> None:
    fill(row, form, texts=PUMP_TEXTS, numbers=PUMP_NUMBERS, units=PUMP_UNITS)
    fill_in(row, form, PUMP_MORE)


def change_pump(document: Document, form: Form) -> str:
    """Change what a pump and its pipe are."""
    rows = rows_of(document, "pump")
    row = row_of(form, rows, "pump")
    _fill_pump(row, form)
    return _("changed %(name)s") % {"name": row.get("name", "")}


def remove_pump(document: Document, form: Form) -> str:
    """Take a pump out; with the last one, the tanks go too."""
    rows = rows_of(document, "pump")
    gone = taken_out(form, rows, "pump")
    if not rows:
        document.pop("pump")
        document.pop("tank", None)
    return _("took out %(name)s") % {"name": gone.get("name", "")}


def add_tank(document: Document, form: Form) -> str:
    """Add a tank."""
    row: Document = {}
    _fill_tank(row, form)
    row.setdefault("name", _named(document, "tank", _("Tank")))
    rows_of(document, "tank").append(row)
    return _("added %(name)s") % {"name": row["name"]}


def _fill_tank(row: Document, form: Form) -> None:
    fill(row, form, texts=("name", "importance"), numbers=("full_at_start",), units={"volume": "L"})
    if "litres_per_day" in form:
        before = row.get("litres_per_day")
        put(row, "litres_per_day", quantities(form["litres_per_day"], "L", before))


def change_tank(document: Document, form: Form) -> str:
    """Change a tank, and who drinks from it: the fields of each drinker carry its number."""
    rows = rows_of(document, "tank")
    row = row_of(form, rows, "tank")
    _fill_tank(row, form)
    drinkers = [dict(one) for one in row.get("drinker") or []]
    kept = []
    for place, one in enumerate([*drinkers, {}], start=1):
        mine = {
            key.removesuffix(f"-{place}"): value
            for key, value in form.items()
            if key.endswith(f"-{place}")
        }
        fill(one, {"name": mine.get("drinker", one.get("name", ""))}, texts=("name",))
        fill(one, mine, numbers=("number",), words=("months",))
        if "litres_each" in mine:
            put(one, "litres_each", quantities(mine["litres_each"], "L", one.get("litres_each")))
        if one.get("name"):
            kept.append(one)
    put(row, "drinker", kept)
    return _("changed %(name)s") % {"name": row.get("name", "")}


def remove_tank(document: Document, form: Form) -> str:
    """Take a tank out."""
    rows = rows_of(document, "tank")
    gone = taken_out(form, rows, "tank")
    if not rows:
        document.pop("tank")
    return _("took out %(name)s") % {"name": gone.get("name", "")}

"""Changes a form can make to a document: each takes the keys and values, and says what it did."""

from __future__ import annotations

from collections.abc import Callable

from sunpantry.language import gettext as _
from sunpantry.web import edits_labels, edits_site, edits_source, edits_water
from sunpantry.web.edits_labels import ROLE_WORDS
from sunpantry.web.edits_source import choose_part, keep, no_such_part, own_panels
from sunpantry.web.entries import (
    Document,
    Form,
    fill,
    fresh_name,
    number,
    put,
    quantity,
    row_of,
    rows_of,
    taken_out,
)
from sunpantry.web.fields import fill_in
from sunpantry.web.more_fields import LOAD_MORE, MONEY_MORE, RECKONING, SEARCH

Edit = Callable[[Document, Form], str]

# Units that a form's fields are labelled with; a person may write another one.
LOAD_UNITS = {
    "power": "W",
    "hours_per_day": "h",
    "surge": "W",
    "energy_per_use": "Wh",
}
LOAD_TEXTS = ("name", "like", "supply", "from", "until", "importance")
LOAD_NUMBERS = ("quantity", "uses_per_week")
LOAD_LISTS = ("months", "weekdays")
PART_ROLES = ("battery", "controller", "inverter")


def add_load(document: Document, form: Form) -> str:
    """Add a load from the library, or one that is typed in."""
    from sunpantry.demand.library import find_load, load_library

    name = form.get("name", "").strip()
    known = find_load(name, load_library())
    row: Document = {"name": name}
    if known is not None:
        row["like"] = known.name
    for key, unit in (("power", "W"), ("hours_per_day", "h")):
        if form.get(key, "").strip():
            row[key] = quantity(form[key], unit)
    for key in ("supply", "importance"):
        put(row, key, form.get(key, ""))
    if form.get("quantity", "").strip():
        row["quantity"] = number(form["quantity"])
    rows = rows_of(document, "load")
    row["name"] = fresh_name(name, [str(one.get("name", "")) for one in rows])
    rows.append(row)
    return _("added %(name)s") % {"name": row["name"]}


def change_load(document: Document, form: Form) -> str:
    """Change what a load says of itself; fields that are not in the form stay."""
    rows = rows_of(document, "load")
    row = row_of(form, rows, "load")
    fill(row, form, texts=LOAD_TEXTS, numbers=LOAD_NUMBERS, units=LOAD_UNITS, words=LOAD_LISTS)
    fill_in(row, form, LOAD_MORE)
    return _("changed %(name)s") % {"name": row.get("name", "")}


def remove_load(document: Document, form: Form) -> str:
    """Take a load out."""
    rows = rows_of(document, "load")
    gone = taken_out(form, rows, "load")
    return _("took out %(name)s") % {"name": gone.get("name", "")}


def change_part(role: str) -> Edit:
    """Fix or free the battery, the controller or the inverter."""

    def change(document: Document, form: Form) -> str:
        row = dict(document.get(role) or {})
        choose_part(row, form, role)
        if role == "battery" and "housing" in form:
            put(row, "housing", form["housing"])
        if row:
            document[role] = row
        else:
            document.pop(role, None)
        return _("changed the %(part)s") % {"part": _(ROLE_WORDS[role])}

    return change


def own_part(document: Document, form: Form) -> str:
    """Mark one of the chosen parts as already there: it is fixed, and costs nothing."""
    role, name = form.get("role", ""), form.get("part", "")
    owned = form.get("owned") == "yes"
    count = number(form.get("count", "1") or "1")
    if role == "panel":
        own_panels(document, form)
    elif role == "converter":
        rows = [dict(one) for one in document.get("converter") or []]
        mine = [one for one in rows if name in (one.get("part"), one.get("name"))]
        if not mine:
            mine = [{"count": count}] if count != 1 else [{}]
            rows += mine
        for row in mine:
            keep(row, name, role, count=None, owned=owned)
        document["converter"] = rows
    elif role in PART_ROLES:
        row = dict(document.get(role) or {})
        keep(row, name, role, count=count if role == "battery" else None, owned=owned)
        document[role] = row
    else:
        raise no_such_part(role)
    return _("keep the %(name)s") % {"name": name}


def change_promise(document: Document, form: Form) -> str:
    """Say how many hours without power are acceptable."""
    promise = dict(document.get("promise", {}))
    for key in ("must", "should", "may"):
        if key in form:
            put(promise, key, quantity(form[key], "h"))
    put(document, "promise", promise)
    return _("changed the promise")


def change_search(document: Document, form: Form) -> str:
    """Say what may be chosen from."""
    search = dict(document.get("search", {}))
    fill_in(search, form, SEARCH)
    put(document, "search", search or "")
    return _("changed what may be chosen")


def change_reckoning(document: Document, form: Form) -> str:
    """Say how it is worked out: voltage of the battery, winters, length of a step."""
    fill_in(document, form, RECKONING)
    return _("changed how it is worked out")


def change_money(document: Document, form: Form) -> str:
    """Currency, years, discount rate, what power from the mains costs."""
    money = dict(document.get("money", {}))
    if "currency" in form:
        put(money, "currency", form["currency"].strip().upper())
    for key, unit in (("years", "years"), ("discount_rate", "%")):
        if key in form:
            put(money, key, quantity(form[key], unit))
    fill_in(money, form, MONEY_MORE)
    put(document, "money", money)
    return _("changed the money side")


def change_price(document: Document, form: Form) -> str:
    """Set the price of a part as it is where the person buys it."""
    money = dict(document.get("money", {}))
    prices = dict(money.get("prices", {}))
    put(prices, form.get("part", ""), number(form.get("price", "")))
    put(money, "prices", prices)
    document["money"] = money
    return _("changed a price")


def change_name(document: Document, form: Form) -> str:
    """Name and notes of the design."""
    document["name"] = form.get("name", "").strip()
    put(document, "notes", form.get("notes", "").strip())
    return _("renamed")


EDITS: dict[str, Edit] = {
    "add-load": add_load,
    "load": change_load,
    "remove-load": remove_load,
    "add-pump": edits_water.add_pump,
    "pump": edits_water.change_pump,
    "remove-pump": edits_water.remove_pump,
    "add-tank": edits_water.add_tank,
    "tank": edits_water.change_tank,
    "remove-tank": edits_water.remove_tank,
    "place": edits_site.change_place,
    "site": edits_site.change_site,
    "weather": edits_site.change_weather,
    "horizon": edits_site.change_horizon,
    "add-obstacle": edits_site.add_obstacle,
    "obstacle": edits_site.change_obstacle,
    "remove-obstacle": edits_site.remove_obstacle,
    "array": edits_source.change_array,
    "add-array": edits_source.add_array,
    "remove-array": edits_source.remove_array,
    "backup": edits_source.change_backup,
    "battery": change_part("battery"),
    "controller": change_part("controller"),
    "inverter": change_part("inverter"),
    "own": own_part,
    "free": edits_labels.free_part,
    "label": edits_labels.change_label,
    "converter": edits_labels.change_converter,
    "remove-converter": edits_labels.remove_converter,
    "search": change_search,
    "reckoning": change_reckoning,
    "promise": change_promise,
    "money": change_money,
    "price": change_price,
    "name": change_name,
    "run": edits_site.change_run,
    "laying": edits_site.change_laying,
}

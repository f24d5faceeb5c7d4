"""Changes a form can make to a document: each takes the keys and values, and says what it did."""

from __future__ import annotations

from collections.abc import Callable

from sunpantry.language import gettext as _
from sunpantry.language import mark
from sunpantry.web import edits_site, edits_source, edits_water
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

Edit = Callable[[Document, Form], str]

# Units that a form's fields are labelled with; a person may write another one.
LOAD_UNITS = {
    "power": "W",
    "hours_per_day": "h",
    "surge": "W",
    "standby": "W",
    "energy_per_use": "Wh",
    "own_battery": "Wh",
    "minutes_per_use": "min",
}
LOAD_TEXTS = ("name", "like", "supply", "from", "until", "importance", "kind", "note")
LOAD_NUMBERS = ("quantity", "uses_per_week", "duty")
LOAD_LISTS = ("months", "weekdays")
PART_ROLES = ("battery", "controller", "inverter")
ROLE_WORDS = {
    "panel": mark("panel"),
    "battery": mark("battery"),
    "controller": mark("charge controller"),
    "inverter": mark("inverter"),
    "converter": mark("converter"),
}


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
        choose_part(row, form)
        if "owned" in form:
            put(row, "owned", True if form["owned"] == "yes" else "")
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
        rows = [dict(one) for one in document.get("converter") or [] if one.get("part") != name]
        document["converter"] = [*rows, {"part": name, **({"owned": True} if owned else {})}]
    elif role in PART_ROLES:
        row = dict(document.get(role) or {})
        keep(row, name, count=count if role == "battery" else None, owned=owned)
        document[role] = row
    else:
        raise no_such_part(role)
    return _("keep the %(name)s") % {"name": name}


def free_part(document: Document, form: Form) -> str:
    """Let Sunpantry choose a part again."""
    role = form.get("role", "")
    if role == "panel":
        rows = [dict(one) for one in document.get("array") or []]
        facing = ("tilt", "azimuth", "mounting", "tilt_winter", "tilt_summer")
        kept = [{key: row[key] for key in facing if key in row} for row in rows]
        put(document, "array", [row for row in kept if row] or "")
    elif role in (*PART_ROLES, "converter"):
        document.pop(role, None)
    else:
        raise no_such_part(role)
    return _("let Sunpantry choose the %(part)s") % {"part": _(ROLE_WORDS[role])}


def change_promise(document: Document, form: Form) -> str:
    """Say how many hours without power are acceptable."""
    promise = dict(document.get("promise", {}))
    for key in ("must", "should", "may"):
        if key in form:
            put(promise, key, quantity(form[key], "h"))
    put(document, "promise", promise)
    return _("changed the promise")


def change_money(document: Document, form: Form) -> str:
    """Currency, years, discount rate, what power from the mains costs."""
    money = dict(document.get("money", {}))
    put(money, "currency", form.get("currency", "").strip().upper())
    for key, unit in (("years", "years"), ("discount_rate", "%")):
        if key in form:
            put(money, key, quantity(form[key], unit))
    if "electricity_price" in form:
        put(money, "electricity_price", number(form["electricity_price"]))
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
    "free": free_part,
    "promise": change_promise,
    "money": change_money,
    "price": change_price,
    "name": change_name,
    "run": edits_site.change_run,
    "laying": edits_site.change_laying,
}

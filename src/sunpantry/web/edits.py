"""Changes a form can make to a document: each takes the keys and values, and says what it did."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from sunpantry.errors import InputError
from sunpantry.language import gettext as _
from sunpantry.language import mark

Document = dict[str, Any]
Form = Mapping[str, str]
Edit = Callable[[Document, Form], str]

_NUMBER = re.compile(r"^[+-]?(\d+([.,]\d*)?|[.,]\d+)$")
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


def quantity(value: str, unit: str) -> str:
    """Give a bare number its unit; leave everything else as it was written.

    Parameters
    ----------
    value : str
        As typed.
    unit : str
        Of the field.
    """
    text = value.strip()
    if _NUMBER.match(text):
        return f"{text.replace(',', '.')} {unit}".strip()
    return text


def number(value: str) -> float | int | str:
    """Read a bare number, with a point or a comma; leave everything else for the checks."""
    text = value.strip()
    if not _NUMBER.match(text):
        return text
    whole = float(text.replace(",", "."))
    return int(whole) if whole.is_integer() else whole


def _put(table: Document, key: str, value: Any) -> None:
    """Set a key; nothing takes it out."""
    if value in ("", None):
        table.pop(key, None)
    else:
        table[key] = value


def _row(document: Document, form: Form) -> tuple[list[Document], int]:
    rows = document.setdefault("load", [])
    at = form.get("row", "")
    if not at.isdecimal() or not 1 <= int(at) <= len(rows):
        raise InputError.one("load", at, "a load that is there", "load the page again")
    return rows, int(at) - 1


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
        _put(row, key, form.get(key, ""))
    if form.get("quantity", "").strip():
        row["quantity"] = number(form["quantity"])
    rows = document.setdefault("load", [])
    row["name"] = _fresh_name(name, [str(one.get("name", "")) for one in rows])
    rows.append(row)
    return _("added %(name)s") % {"name": row["name"]}


def _fresh_name(name: str, taken: list[str]) -> str:
    fresh, count = name, 2
    while fresh and fresh.casefold() in (one.casefold() for one in taken):
        fresh, count = f"{name} {count}", count + 1
    return fresh


def change_load(document: Document, form: Form) -> str:
    """Change what a load says of itself; fields that are not in the form stay."""
    rows, at = _row(document, form)
    row = dict(rows[at])
    for key in LOAD_TEXTS:
        if key in form:
            _put(row, key, form[key].strip())
    for key, unit in LOAD_UNITS.items():
        if key in form:
            _put(row, key, quantity(form[key], unit))
    for key in LOAD_NUMBERS:
        if key in form:
            _put(row, key, number(form[key]))
    for key in LOAD_LISTS:
        if key in form:
            words = [word.strip().lower() for word in form[key].split(",") if word.strip()]
            _put(row, key, words or "")
    rows[at] = row
    return _("changed %(name)s") % {"name": row.get("name", "")}


def remove_load(document: Document, form: Form) -> str:
    """Take a load out."""
    rows, at = _row(document, form)
    gone = rows.pop(at)
    return _("took out %(name)s") % {"name": gone.get("name", "")}


def change_place(document: Document, form: Form) -> str:
    """Move the system; what belonged to the old place goes with it."""
    from sunpantry.sky.gazetteer import find_place

    where = form.get("place", "").strip()
    found = find_place(where)
    site = dict(document.get("site", {}))
    for key in ("altitude", "timezone", "monthly_sun", "monthly_temperature"):
        site.pop(key, None)
    site |= {
        "place": found.label,
        "latitude": round(found.latitude, 4),
        "longitude": round(found.longitude, 4),
    }
    document["site"] = site
    return _("moved to %(place)s") % {"place": found.label}


def change_array(document: Document, form: Form) -> str:
    """Fix or free the panels and how they face."""
    rows = [dict(one) for one in document.get("array") or [{}]]
    row = rows[0]
    _choose_part(row, form)
    for key in ("tilt", "azimuth"):
        if key in form:
            text = form[key].strip()
            _put(row, key, "" if text == "best" else quantity(text, "°"))
    if "mounting" in form:
        _put(row, "mounting", form["mounting"])
    if any(row.values()):
        document["array"] = [row, *rows[1:]]
    elif len(rows) == 1:
        document.pop("array", None)
    return _("changed the panels")


def _choose_part(row: Document, form: Form) -> None:
    if "part" in form:
        if form["part"] == "":
            for key in ("part", "count", "series", "parallel", "owned"):
                row.pop(key, None)
        else:
            row["part"] = form["part"]
    for key in ("count", "series", "parallel"):
        if key in form:
            _put(row, key, number(form[key]))
    if "series" in row and "parallel" in row:
        row.pop("count", None)


def change_part(role: str) -> Edit:
    """Fix or free the battery, the controller or the inverter."""

    def change(document: Document, form: Form) -> str:
        row = dict(document.get(role) or {})
        _choose_part(row, form)
        if "owned" in form:
            _put(row, "owned", True if form["owned"] == "yes" else "")
        if role == "battery" and "housing" in form:
            _put(row, "housing", form["housing"])
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
        rows = [dict(one) for one in document.get("array") or [{}]]
        _own(rows[0], name, count=count, owned=owned)
        document["array"] = rows
    elif role == "converter":
        rows = [dict(one) for one in document.get("converter") or [] if one.get("part") != name]
        document["converter"] = [*rows, {"part": name, **({"owned": True} if owned else {})}]
    elif role in PART_ROLES:
        row = dict(document.get(role) or {})
        _own(row, name, count=count if role == "battery" else None, owned=owned)
        document[role] = row
    else:
        raise InputError.one("role", role, "a kind of part", "load the page again")
    return _("keep the %(name)s") % {"name": name}


def _own(row: Document, name: str, *, count: Any, owned: bool) -> None:
    """Fix a part by name; one that is described by its label stays so."""
    if "part" in row or not any(key in row for key in ("power", "capacity", "rated", "chemistry")):
        row["part"] = name
    if count is not None and "series" not in row and "parallel" not in row:
        row["count"] = count
    if owned:
        row["owned"] = True
    else:
        row.pop("owned", None)


def free_part(document: Document, form: Form) -> str:
    """Let Sunpantry choose a part again."""
    role = form.get("role", "")
    if role == "panel":
        rows = [dict(one) for one in document.get("array") or []]
        facing = ("tilt", "azimuth", "mounting", "tilt_winter", "tilt_summer")
        kept = [{key: row[key] for key in facing if key in row} for row in rows[:1]]
        _put(document, "array", [row for row in kept if row] or "")
    elif role in (*PART_ROLES, "converter"):
        document.pop(role, None)
    else:
        raise InputError.one("role", role, "a kind of part", "load the page again")
    return _("let Sunpantry choose the %(part)s") % {"part": _(ROLE_WORDS[role])}


def change_promise(document: Document, form: Form) -> str:
    """Say how many hours without power are acceptable."""
    promise = dict(document.get("promise", {}))
    for key in ("must", "should", "may"):
        if key in form:
            _put(promise, key, quantity(form[key], "h"))
    _put(document, "promise", promise)
    return _("changed the promise")


def change_money(document: Document, form: Form) -> str:
    """Currency, years, discount rate, what power from the mains costs."""
    money = dict(document.get("money", {}))
    _put(money, "currency", form.get("currency", "").strip().upper())
    for key, unit in (("years", "years"), ("discount_rate", "%")):
        if key in form:
            _put(money, key, quantity(form[key], unit))
    if "electricity_price" in form:
        _put(money, "electricity_price", number(form["electricity_price"]))
    _put(document, "money", money)
    return _("changed the money side")


def change_price(document: Document, form: Form) -> str:
    """Set the price of a part as it is where the person buys it."""
    money = dict(document.get("money", {}))
    prices = dict(money.get("prices", {}))
    _put(prices, form.get("part", ""), number(form.get("price", "")))
    _put(money, "prices", prices)
    document["money"] = money
    return _("changed a price")


def change_name(document: Document, form: Form) -> str:
    """Name and notes of the design."""
    document["name"] = form.get("name", "").strip()
    _put(document, "notes", form.get("notes", "").strip())
    return _("renamed")


def change_run(document: Document, form: Form) -> str:
    """Length of a cable run."""
    wiring = dict(document.get("wiring", {}))
    runs = dict(wiring.get("runs", {}))
    _put(runs, form.get("run", "").strip(), quantity(form.get("length", ""), "m"))
    _put(wiring, "runs", runs)
    _put(document, "wiring", wiring)
    return _("changed a cable length")


EDITS: dict[str, Edit] = {
    "add-load": add_load,
    "load": change_load,
    "remove-load": remove_load,
    "place": change_place,
    "array": change_array,
    "battery": change_part("battery"),
    "controller": change_part("controller"),
    "inverter": change_part("inverter"),
    "own": own_part,
    "free": free_part,
    "promise": change_promise,
    "money": change_money,
    "price": change_price,
    "name": change_name,
    "run": change_run,
}

"""Changes to the panels and to a second source."""

from __future__ import annotations

from typing import Any

from sunpantry.errors import InputError
from sunpantry.language import gettext as _
from sunpantry.phrases import phrase
from sunpantry.web.described import is_described, without_label
from sunpantry.web.entries import (
    Document,
    Form,
    fill,
    number,
    put,
    quantity,
    row_of,
    rows_of,
    taken_out,
)
from sunpantry.web.fields import fill_in
from sunpantry.web.more_fields import PART_MORE

BACKUP_UNITS = {
    "power": "W",
    "start_below": "%",
    "stop_above": "%",
    "charger_efficiency": "%",
    "fuel_per_kwh": "L/kWh",
    "carried": "Wh",
}
BACKUP_TEXTS = ("quiet_from", "quiet_until")
BACKUP_NUMBERS = ("price", "fuel_price", "energy_price", "trip_cost", "max_per_winter")
BEST = "best"
BY_LABEL = "by its label"


def choose_part(row: Document, form: Form, role: str) -> None:
    """Fix a part by its name, or leave it open; and how many there are.

    One that is described by its label stays so until another is chosen.
    """
    if form.get("part", BY_LABEL) != BY_LABEL:
        kept = without_label(role, row)
        row.clear()
        row.update(kept)
        if form["part"] == "":
            for key in ("part", "count", "series", "parallel", "owned"):
                row.pop(key, None)
        else:
            row["part"] = form["part"]
    fill(row, form, numbers=("count", "series", "parallel"))
    fixed = "part" in row or is_described(role, row)
    fill_in(row, form, [one for one in PART_MORE[role] if fixed or one.key != "owned"])
    if "series" in row and "parallel" in row:
        row.pop("count", None)


def change_array(document: Document, form: Form) -> str:
    """Fix or free the panels and how they face."""
    rows: list[Document] = [dict(one) for one in document.get("array") or [{}]]
    _fill_array(row_of(form, rows, "array") if "row" in form else rows[0], form)
    put(document, "array", rows if any(rows) else "")
    return _("changed the panels")


def _fill_array(row: Document, form: Form) -> None:
    choose_part(row, form, "panel")
    for key in ("tilt", "azimuth"):
        if key in form:
            text = form[key].strip()
            put(row, key, "" if text == BEST else quantity(text, "°", row.get(key)))
    fill(row, form, texts=("mounting",))


def add_array(document: Document, form: Form) -> str:
    """Add panels that face another way; what is there already is the first array."""
    rows: list[Document] = [dict(one) for one in document.get("array") or [{}]]
    row: Document = {}
    _fill_array(row, form)
    rows.append(row)
    document["array"] = rows
    return _("added panels that face another way")


def remove_array(document: Document, form: Form) -> str:
    """Take an array out."""
    rows = rows_of(document, "array")
    taken_out(form, rows, "array")
    if not any(rows):
        document.pop("array")
    return _("took out an array")


# Keys that one kind of second source has, and the others have not.
ONLY_OF = {
    "generator": ("fuel_per_kwh", "fuel_price", "quiet_from", "quiet_until"),
    "mains": ("transfer", "energy_price"),
    "carried_battery": ("carried", "trip_cost", "max_per_winter"),
}


def change_backup(document: Document, form: Form) -> str:
    """Give the system a second source, change it, or do without; 'none' takes it out."""
    kind = form.get("kind", "")
    if kind == "none":
        document.pop("backup", None)
        return _("took out the second source")
    before: dict[str, Any] = dict(document.get("backup") or {})
    row = dict(before)
    put(row, "kind", kind)
    fill(
        row,
        form,
        texts=BACKUP_TEXTS,
        numbers=BACKUP_NUMBERS,
        units=BACKUP_UNITS,
        flags=("owned", "transfer"),
    )
    if kind != before.get("kind"):
        of_others = {key for other, keys in ONLY_OF.items() if other != kind for key in keys}
        for key in of_others:
            if row.get(key) == before.get(key):
                row.pop(key, None)  # it told of the source before, and says nothing now
    document["backup"] = row
    return _("changed the second source")


def own_panels(document: Document, form: Form) -> None:
    """Mark panels as already there; see :func:`sunpantry.web.edits.own_part`."""
    rows: list[Document] = [dict(one) for one in document.get("array") or [{}]]
    name = form.get("part", "")
    mine = [row for row in rows if row.get("part", row.get("name")) in (None, name)] or rows[:1]
    count = number(form.get("count", "1") or "1")
    for row in mine:
        many = count if len(mine) == 1 else None
        keep(row, name, "panel", count=many, owned=form.get("owned") == "yes")
    document["array"] = rows


def keep(row: Document, name: str, role: str, *, count: Any, owned: bool) -> None:
    """Fix a part by name; one that is described by its label stays so."""
    if not is_described(role, row):
        row["part"] = name
    if count is not None and "series" not in row and "parallel" not in row:
        row["count"] = count
    if owned:
        row["owned"] = True
    else:
        row.pop("owned", None)


def no_such_part(role: str) -> InputError:
    """Tell that there is no such kind of part."""
    return InputError.one("role", role, phrase("a kind of part"), phrase("load the page again"))

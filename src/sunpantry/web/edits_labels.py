"""Changes to parts that are on no list: described by their labels, freed again; converters."""

from __future__ import annotations

from sunpantry.errors import InputError
from sunpantry.language import gettext as _
from sunpantry.language import mark
from sunpantry.phrases import phrase
from sunpantry.web.described import ROWS, is_described, without_label
from sunpantry.web.edits_source import no_such_part
from sunpantry.web.entries import Document, Form, fresh_name, put, row_of, rows_of, taken_out
from sunpantry.web.fields import fill_in
from sunpantry.web.labels import LABEL_OF, Label
from sunpantry.web.more_fields import COUNTED, WIRED

# What of a row belongs to the place and stays when its part is free again.
STAYS = {
    "panel": ("tilt", "azimuth", "mounting", "tilt_winter", "tilt_summer", "shaded_groups"),
    "battery": ("housing", "vent_opening"),
    "controller": ("loads_fed_from",),
    "inverter": ("fed_from", "off_when_idle", "from", "until"),
}
BESIDE = "beside"
ROLE_WORDS = {
    "panel": mark("panel"),
    "battery": mark("battery"),
    "controller": mark("charge controller"),
    "inverter": mark("inverter"),
    "converter": mark("converter"),
}


def change_label(document: Document, form: Form) -> str:
    """Describe a part by the figures on its label, or change them.

    What was fixed by name before is described now; how it stands and faces stays.
    """
    label = LABEL_OF.get(form.get("label", ""))
    if label is None:
        raise no_such_part(form.get("label", ""))
    row = _row(document, form, label)
    if not is_described(label.role, row):
        row.pop("part", None)
        if "count" in form:
            for key in ("count", "series", "parallel", "owned"):
                row.pop(key, None)
    for key, value in label.fixed:
        row[key] = value
    fill_in(row, form, (*label.fields, *COUNTED[label.role], *WIRED.get(label.role, ())))
    if "series" in row and "parallel" in row:
        row.pop("count", None)
    _name(row, form, label, document)
    return _("described the %(part)s") % {"part": row["name"]}


def _row(document: Document, form: Form, label: Label) -> Document:
    """The row that is described: the one named, a new one, or the only one."""
    if label.role not in ROWS:
        row = dict(document.get(label.role) or {})
        document[label.role] = row
        return row
    table = ROWS[label.role]
    rows = rows_of(document, table)
    if form.get("row", BESIDE) != BESIDE:
        return row_of(form, rows, table)
    rows.append({})
    return rows[-1]


def _name(row: Document, form: Form, label: Label, document: Document) -> None:
    """A name that neither the list nor another row has: prices are found by it."""
    from sunpantry.web.documents import part_names

    name = form.get("name", str(row.get("name", ""))).strip() or _("My own")
    others = document.get(ROWS[label.role]) or [] if label.role in ROWS else []
    taken = [str(one.get("name", "")) for one in others if one is not row]
    row["name"] = fresh_name(name, [*taken, *part_names()[label.role]])


def free_part(document: Document, form: Form) -> str:
    """Let Sunpantry choose a part again."""
    role = form.get("role", "")
    if role == "converter":
        document.pop("converter", None)
    elif role == "panel":
        rows = [dict(one) for one in document.get("array") or []]
        at = form.get("row", "")
        freed = [
            _bare(role, row) if at in ("", str(place)) else row
            for place, row in enumerate(rows, start=1)
        ]
        put(document, "array", freed if any(freed) else "")
    elif role in STAYS:
        put(document, role, _bare(role, document.get(role) or {}) or "")
    else:
        raise no_such_part(role)
    return _("let Sunpantry choose the %(part)s") % {"part": _(ROLE_WORDS[role])}


def _bare(role: str, row: Document) -> Document:
    return {key: row[key] for key in STAYS[role] if key in row}


def change_converter(document: Document, form: Form) -> str:
    """Add a converter of the list, or change one."""
    rows = rows_of(document, "converter")
    row = row_of(form, rows, "converter")
    if form.get("part", ""):
        fresh = without_label("converter", row)
        row.clear()
        row.update(fresh, part=form["part"])
    fill_in(row, form, COUNTED["converter"])
    if not row:
        rows.remove(row)
        raise InputError.one(
            f"converter[{len(rows) + 1}].part",
            "",
            phrase("a converter of the list"),
            phrase("choose one, or describe yours by its label"),
        )
    return _("changed the converters")


def remove_converter(document: Document, form: Form) -> str:
    """Take a converter out."""
    rows = rows_of(document, "converter")
    gone = taken_out(form, rows, "converter")
    if not rows:
        document.pop("converter")
    return _("took out %(name)s") % {"name": gone.get("part", gone.get("name", ""))}

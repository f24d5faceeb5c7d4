"""Changes to the place: what stands in the sun, how high it lies, where its weather is from."""

from __future__ import annotations

from typing import Any

from sunpantry.errors import InputError
from sunpantry.language import gettext as _
from sunpantry.web.entries import (
    Document,
    Form,
    fill,
    number,
    put,
    quantities,
    quantity,
    row_of,
    taken_out,
)
from sunpantry.web.fields import fill_in
from sunpantry.web.more_fields import SITE_MORE, WIRING_MORE

MOST_HORIZON = 40
OBSTACLE_UNITS = {
    "height": "m",
    "distance": "m",
    "from": "°",
    "until": "°",
    "lets_through": "%",
    "bare_lets_through": "%",
}


def change_place(document: Document, form: Form) -> str:
    """Move the system; what belonged to the old place goes with it."""
    from sunpantry.sky.gazetteer import find_place

    site = dict(document.get("site", {}))
    typed = form.get("place", "").strip()
    try:
        found = find_place(typed)
    except InputError:
        document["site"] = site | {"place": typed}  # it stays in its field, to be mended
        raise
    for key in ("altitude", "timezone", "monthly_sun", "monthly_temperature", "weather_file"):
        site.pop(key, None)
    site |= {
        "place": found.label,
        "latitude": round(found.latitude, 4),
        "longitude": round(found.longitude, 4),
    }
    document["site"] = site
    return _("moved to %(place)s") % {"place": found.label}


def change_site(document: Document, form: Form) -> str:
    """Height, clock, mains, dirt, and monthly figures of one's own."""
    site = dict(document.get("site", {}))
    fill(site, form, texts=("timezone",), units={"altitude": "m", "mains": "V"})
    for key, unit in (
        ("monthly_sun", "kWh/m²/day"),
        ("monthly_temperature", "°C"),
        ("soiling", "%"),
        ("snow", "%"),
    ):
        if key in form:
            put(site, key, quantities(form[key], unit, site.get(key)))
    fill_in(site, form, SITE_MORE)
    document["site"] = site
    return _("changed the place")


def change_weather(document: Document, form: Form) -> str:
    """Take the weather from a file that is there, or from the table again."""
    site = dict(document.get("site", {}))
    put(site, "weather_file", form.get("weather_file", "").strip())
    document["site"] = site
    return _("changed where the weather is from")


def change_horizon(document: Document, form: Form) -> str:
    """Set the skyline: pairs of fields, a bearing and a height; empty pairs are left out."""
    pairs: list[list[Any]] = []
    for place in range(1, MOST_HORIZON + 1):
        bearing, height = (form.get(f"{key}-{place}", "").strip() for key in ("bearing", "height"))
        if bearing or height:
            pairs.append([number(bearing.removesuffix("°")), number(height.removesuffix("°"))])
    site = dict(document.get("site", {}))
    put(site, "horizon", pairs)
    document["site"] = site
    return _("changed the skyline")


def _obstacles(document: Document) -> list[Document]:
    site = dict(document.get("site", {}))
    rows = [dict(one) for one in site.get("obstacle") or []]
    site["obstacle"] = rows
    document["site"] = site
    return rows


def _fill_obstacle(row: Document, form: Form) -> None:
    fill(row, form, texts=("name",), units=OBSTACLE_UNITS, words=("bare_months",))


def add_obstacle(document: Document, form: Form) -> str:
    """Add a house, a hedge, a tree."""
    row: Document = {}
    _fill_obstacle(row, form)
    _obstacles(document).append(row)
    return _("added %(name)s") % {"name": row.get("name", "")}


def change_obstacle(document: Document, form: Form) -> str:
    """Change one of them."""
    rows = _obstacles(document)
    row = row_of(form, rows, "site.obstacle")
    _fill_obstacle(row, form)
    return _("changed %(name)s") % {"name": row.get("name", "")}


def remove_obstacle(document: Document, form: Form) -> str:
    """Take one of them out."""
    rows = _obstacles(document)
    gone = taken_out(form, rows, "site.obstacle")
    if not rows:
        document["site"].pop("obstacle")
    return _("took out %(name)s") % {"name": gone.get("name", "")}


def change_run(document: Document, form: Form) -> str:
    """Length of a cable run."""
    wiring = dict(document.get("wiring", {}))
    runs = dict(wiring.get("runs", {}))
    name = form.get("run", "").strip()
    put(runs, name, quantity(form.get("length", ""), "m", runs.get(name)))
    put(wiring, "runs", runs or "")
    put(document, "wiring", wiring or "")
    return _("changed a cable length")


def change_laying(document: Document, form: Form) -> str:
    """How the cables lie, and in which sizes they are sold."""
    wiring = dict(document.get("wiring", {}))
    fill(wiring, form, texts=("installation", "sizes"), units={"ambient": "°C"})
    fill_in(wiring, form, WIRING_MORE)
    put(document, "wiring", wiring or "")
    return _("changed how the cables lie")

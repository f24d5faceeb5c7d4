"""Parts of one's own by the figures on their labels, and every key of a design by some form."""

from __future__ import annotations

import re
from collections.abc import Callable
from html.parser import HTMLParser
from typing import Any

import httpx
import pytest
from pydantic import BaseModel

from sunpantry.design import models
from sunpantry.design.keys import human_key
from sunpantry.design.kit import PartChoice, own_keys
from sunpantry.examples import example
from sunpantry.language import gettext, speaking
from sunpantry.store import Store
from sunpantry.web.described import described, label_keys
from sunpantry.web.documents import accept, taken_apart
from sunpantry.web.edits import EDITS
from sunpantry.web.entries import measure_in, shown
from sunpantry.web.fields import Entry, fill_in
from sunpantry.web.labels import LABELS
from sunpantry.web.settings import Settings

pytestmark = pytest.mark.regression

CHOICES: dict[str, type[PartChoice]] = {
    "panel": models.ArrayChoice,
    "battery": models.BatteryChoice,
    "controller": models.ControllerChoice,
    "inverter": models.InverterChoice,
    "converter": models.ConverterChoice,
}
# Labels as they are printed; made up, with figures that a real one could have.
TYPED: dict[str, dict[str, str]] = {
    "panel": {
        "row": "1", "name": "Barn panel", "power": "100", "voc": "22,5", "isc": "5.86",
        "vmp": "18.9", "imp": "5.29", "cells": "36", "count": "2", "owned": "all",
        "temp_coeff_voc": "-0.3", "length": "1,02", "weight": "6.5",
    },
    "battery": {
        "name": "Cart battery", "chemistry": "agm", "nominal": "12", "capacity": "95",
        "other_capacities.10": "88", "count": "1", "owned": "1", "price": "150",
    },
    "power-bank": {
        "name": "Pocket bank", "nominal": "3.7", "capacity": "20000", "usb_output": "3",
        "input_efficiency": "90", "output_efficiency": "88",
    },
    "controller": {
        "name": "Shed controller", "kind": "mppt", "rated": "20", "max_pv_voc": "100",
        "bank_voltages": "several", "bank_voltages-12": "yes", "bank_voltages-24": "yes",
        "chemistries": "several", "chemistries-agm": "yes", "chemistries-gel": "yes",
        "load_output": "15", "adjustable": "yes", "owned": "yes",
    },
    "inverter": {
        "name": "Loft inverter", "rated": "600", "surge": "1200", "idle": "7",
        "waveform": "sine", "input": "12", "output": "230", "owned": "",
    },
    "converter": {
        "name": "Bench adaptor", "input_min": "10", "input_max": "30", "output": "5",
        "rated": "15", "plug": "vehicle_socket", "count": "2",
    },
}  # fmt: skip


@pytest.fixture(autouse=True)
def _metric() -> None:
    """Every test begins with metres."""
    measure_in("metric")


def send(client: httpx.Client, design: str, edit: str, **data: str) -> httpx.Response:
    """Send one form."""
    return client.post(f"/designs/{design}/change/{edit}", data=data)


def told(store: Store, design: str) -> dict[str, Any]:
    """The document as it stands now."""
    return taken_apart(store.head(design).version.document)


def spelt(model: type[BaseModel]) -> set[str]:
    """Keys of a model as a person writes them."""
    return {
        str(field.validation_alias or human_key(name)) for name, field in model.model_fields.items()
    }


@pytest.mark.parametrize("role", CHOICES)
def test_every_figure_of_a_label_has_its_field(role: str) -> None:
    """And no field is of something that no label has; what must be there is marked so."""
    nameplate = CHOICES[role].label_type()
    assert label_keys(role) == spelt(nameplate)
    assert not label_keys(role) & set(own_keys(CHOICES[role]))
    wanted = {
        str(field.validation_alias)
        for name, field in nameplate.model_fields.items()
        if field.is_required() and name != "name"
    }
    for label in LABELS:
        if label.role == role:
            marked = {one.key for one in label.needed if one.needed} | dict(label.fixed).keys()
            assert wanted <= marked, label.kind


@pytest.mark.parametrize("kind", TYPED)
def test_each_kind_is_described_and_freed(
    client: httpx.Client, store: Store, new_design: Callable[..., str], kind: str
) -> None:
    """The document holds the figures with their units; freed, it is as before."""
    usb = example("phone-by-night").text  # a power bank feeds nothing else
    design = new_design(usb) if kind == "power-bank" else new_design()
    before = told(store, design)
    reply = send(client, design, "label", base="1", label=kind, **TYPED[kind])
    assert reply.status_code == 303, re.findall(r'class="trouble"[^<]*<', reply.text)
    after = told(store, design)
    (mine,) = described(after)
    assert mine.label.kind == kind
    assert mine.row["name"] == TYPED[kind]["name"]
    assert "part" not in mine.row
    page = client.get(f"/designs/{design}").text
    assert f'id="label-{kind}{"-" + str(mine.place) if mine.place else ""}-title"' in page
    if kind == "converter":
        gone = send(client, design, "remove-converter", base="2", row=str(mine.place))
    else:
        role = mine.label.role
        gone = send(client, design, "free", base="2", role=role, row=str(mine.place or ""))
    assert gone.status_code == 303
    assert described(told(store, design)) == ()
    assert told(store, design).get("load") == before.get("load")


def test_what_was_typed_is_what_stands_there() -> None:
    """Numbers with their units, either decimal sign, ticks as lists, all as true."""
    document = taken_apart(example("apiary-hut").text)
    for kind, fields in TYPED.items():
        if kind != "power-bank":
            EDITS["label"](document, {"label": kind, **fields})
    (array,) = document["array"]
    assert (array["voc"], array["cells"], array["owned"]) == ("22.5 V", 36, True)
    assert (array["length"], array["temp_coeff_voc"]) == ("1.02 m", "-0.3 %/K")
    assert document["battery"]["other_capacities"] == {"10": "88 Ah"}
    assert document["battery"]["owned"] == 1
    assert document["controller"]["bank_voltages"] == [12.0, 24.0]
    assert document["controller"]["chemistries"] == ["agm", "gel"]
    assert "owned" not in document["inverter"]
    assert document["converter"][-1]["count"] == 2
    bank: dict[str, Any] = {}
    EDITS["label"](bank, {"label": "power-bank", **TYPED["power-bank"]})
    assert bank["battery"]["chemistry"] == "power_bank"
    assert bank["battery"]["capacity"] == "20000 mAh"


@pytest.mark.parametrize(
    "case",
    [
        ("panel", {"row": "1", "power": "100", "voc": "lots", "cells": "36"},
         {"label-panel-1-voc": "lots", "label-panel-1-vmp": ""}),
        ("battery", {"nominal": "12", "capacity": "-5"},
         {"label-battery-capacity": "-5 Ah", "label-battery-chemistry": None}),
        ("controller", {"kind": "", "rated": "20 V"},
         {"label-controller-kind": None, "label-controller-rated": "20 V"}),
        ("inverter", {"rated": "600", "surge": "1200", "idle": "7", "cutoff": "low"},
         {"label-inverter-cutoff": "low"}),
        ("converter", {"output": "5", "rated": "ten"},
         {"label-converter-1-input-min": "", "label-converter-1-rated": "ten"}),
    ],
)  # fmt: skip
def test_what_must_be_mended_stands_beside_its_field(
    client: httpx.Client,
    store: Store,
    new_design: Callable[..., str],
    case: tuple[str, dict[str, str], dict[str, str | None]],
) -> None:
    """Nothing is saved, nothing typed is lost, the fold is open, and mending it is enough."""
    (kind, fields, wrong), design = case, new_design()
    reply = send(client, design, "label", base="1", label=kind, name="Mine", **fields)
    assert reply.status_code == 400
    assert store.head(design).version.number == 1
    assert re.search(r'<details class="own-choice" id="by-label"[^>]* open>', reply.text)
    for id_, value in wrong.items():
        found = re.search(rf'<(?:input|select)[^>]*id="{id_}"[^>]*>', reply.text)
        assert found is not None, id_
        assert 'aria-invalid="true"' in found[0], found[0]
        assert f'id="{id_}-trouble"' in reply.text
        if value is not None:
            assert f'value="{value}"' in found[0]
    assert 'value="Mine"' in reply.text
    again = send(client, design, "label", base="1", **{**TYPED[kind], "kind": kind})
    if kind == "controller":
        again = send(client, design, "label", base="1", **{"label": kind, **TYPED[kind]})
    assert again.status_code in (303, 400)


def test_figures_that_cannot_be_true_together_are_refused(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """Before they are saved: Voc below Vmp, as when the two are swapped."""
    design = new_design()
    fields = {**TYPED["panel"], "voc": "18.9", "vmp": "22.5"}
    reply = send(client, design, "label", base="1", label="panel", **fields)
    assert reply.status_code == 400
    assert store.head(design).version.number == 1
    assert re.search(r'id="label-panel-1-v[om][cp]-trouble"', reply.text)


def test_a_part_of_the_list_takes_the_place_of_a_label_and_back(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """Choosing by name forgets the figures; saving the form beside it untouched keeps them."""
    design = new_design()
    send(client, design, "label", base="1", label="battery", **TYPED["battery"])
    kept = send(client, design, "battery", base="2", part="by its label", housing="house")
    assert kept.status_code == 303
    assert told(store, design)["battery"]["capacity"] == "95 Ah"
    assert told(store, design)["battery"]["housing"] == "house"
    named = send(client, design, "battery", base="3", part="12 V 100 Ah AGM")
    assert named.status_code == 303
    row = told(store, design)["battery"]
    assert (row["part"], row["housing"]) == ("12 V 100 Ah AGM", "house")
    assert described(told(store, design)) == ()


def test_panels_beside_others_and_the_place_of_one() -> None:
    """A second array by its label; freeing it leaves the first alone."""
    document: dict[str, Any] = {"array": [{"part": "50 W rigid, 36 cells", "tilt": "60 °"}]}
    EDITS["label"](document, {"label": "panel", **TYPED["panel"], "row": "beside"})
    assert [one.place for one in described(document)] == [2]
    EDITS["label"](document, {"label": "panel", "row": "2", "power": "110"})
    assert document["array"][1]["power"] == "110 W"
    EDITS["label"](document, {"label": "panel", **TYPED["panel"], "row": "1"})
    assert document["array"][0]["tilt"] == "60 °"
    assert "part" not in document["array"][0]
    assert document["array"][0]["name"] == "Barn panel 2"
    EDITS["free"](document, {"role": "panel", "row": "1"})
    assert document["array"][0] == {"tilt": "60 °"}
    assert document["array"][1]["name"] == "Barn panel"


def test_labels_in_pounds_and_feet() -> None:
    """Weights and lengths as they are written in the United States (1 lb = 0.45359237 kg,
    1 ft = 0.3048 m exactly; NIST Handbook 44, appendix C)."""
    measure_in("us")
    document = taken_apart(example("apiary-hut").text)
    typed = {**TYPED["panel"], "weight": "10", "length": "4", "noct": "113"}
    EDITS["label"](document, {"label": "panel", **typed})
    design, text = accept(document, Settings())
    label = design.arrays[0].label
    assert label is not None
    assert label.weight_kg == pytest.approx(4.5359237, rel=1e-9)
    assert label.length_m == pytest.approx(1.2192, rel=1e-9)
    assert label.noct_c == pytest.approx(45.0, rel=1e-9)
    row = taken_apart(text)["array"][0]
    assert shown(row["weight"], "kg") == "10 lb"
    assert shown("1020 mm", "m") == "3.346 ft"
    again = taken_apart(text)
    EDITS["label"](again, {"label": "panel", "row": "1", "weight": "10 lb"})
    assert again == taken_apart(text), "saved untouched, every digit stays"


def test_words_for_all_in_either_language() -> None:
    """A count, all in English, all in the reader's language."""
    field = Entry("owned", "of these, yours already", "owned")
    with speaking("de"):
        word = gettext("all")
        row: dict[str, Any] = {}
        fill_in(row, {"owned": word}, [field])
        assert row == {"owned": True}
        assert field.typed(row) == word
    fill_in(row, {"owned": "ALL"}, [field])
    assert row == {"owned": True}
    fill_in(row, {"owned": "2"}, [field])
    assert row == {"owned": 2}


class Forms(HTMLParser):
    """Names of the fields of every form, by what the form changes."""

    def __init__(self) -> None:
        super().__init__()
        self.names: dict[str, set[str]] = {}
        self.edit = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        if tag == "form":
            found = re.search(r"/change/([\w-]+)$", given.get("action") or "")
            self.edit = found[1] if found else ""
        elif tag in {"input", "select", "textarea"} and self.edit:
            self.names.setdefault(self.edit, set()).add(given.get("name") or "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self.edit = ""


# Tables of a design, the forms that change each, and the keys that a form asks for by another
# name or on another page.
TABLES: dict[type[BaseModel], tuple[tuple[str, ...], set[str]]] = {
    models.Design: (
        ("reckoning", "name"),
        {"schema", "site", "load", "array", "battery", "controller", "inverter", "converter",
         "backup", "tank", "pump", "promise", "money", "search", "wiring"},
    ),
    models.Site: (
        ("place", "site"),
        {"latitude", "longitude", "weather_file", "horizon", "obstacle"},
    ),
    models.Load: (("load",), {"can_wait", "bursts"}),
    models.ArrayChoice: (("array",), {"label"}),
    models.BatteryChoice: (("battery",), {"label"}),
    models.ControllerChoice: (("controller",), {"label"}),
    models.InverterChoice: (("inverter",), {"label"}),
    models.ConverterChoice: (("converter",), {"label"}),
    models.Backup: (("backup",), set()),
    models.Promise: (("promise",), set()),
    models.Money: (("money",), {"prices"}),
    models.Search: (("search",), set()),
    models.Wiring: (("laying",), {"runs"}),
    models.Obstacle: (("obstacle",), set()),
    models.Pump: (("pump",), {"into"}),
    models.Tank: (("tank",), {"drinker"}),
}  # fmt: skip


def test_every_key_of_a_design_is_in_some_form(
    client: httpx.Client, new_design: Callable[..., str]
) -> None:
    """Whatever the text allows a person can say without ever seeing it."""
    document = taken_apart(example("whole-house").text)
    document["winters"] = 2
    if not document.get("pump"):
        water = taken_apart(example("water-by-battery").text)
        document |= {"pump": water["pump"], "tank": water["tank"]}
    EDITS["add-obstacle"](document, {"name": "Wall", "height": "2", "distance": "9",
                                     "from": "90", "until": "120"})  # fmt: skip
    _, text = accept(document, Settings())
    forms = Forms()
    forms.feed(client.get(f"/designs/{new_design(text)}").text)
    lacking = {}
    for model, (edits, otherwise) in TABLES.items():
        names = {name.split(".")[0] for edit in edits for name in forms.names.get(edit, ())}
        rest = spelt(model) - names - otherwise
        if rest:
            lacking[model.__name__] = rest
    assert lacking == {}
    nested = forms.names["load"]
    assert {f"bursts.{key}" for key in spelt(models.Bursts)} <= nested
    assert {f"can_wait.{key}" for key in spelt(models.CanWait)} <= nested
    assert {"bearing-1", "height-1"} <= forms.names["horizon"]
    assert {"run", "length"} <= forms.names["run"]
    assert {"part", "price"} <= forms.names["price"]
    drinker = {re.sub(r"-\d+$", "", name) for name in forms.names["tank"]}
    assert {"drinker", "number", "litres_each", "months"} <= drinker


def test_what_may_be_chosen_and_how_it_is_worked_out() -> None:
    """Ticks become lists; nothing said leaves no table behind."""
    document = taken_apart(example("apiary-hut").text)
    EDITS["search"](
        document,
        {"chemistries": "several", "chemistries-lifepo4": "yes", "bank_voltages": "several",
         "bank_voltages-12": "yes", "max_panels": "6", "max_weight": "40", "weigh": "yes"},
    )  # fmt: skip
    EDITS["reckoning"](document, {"bank_voltage": "12 V", "winters": "5", "step": "30"})
    design, _ = accept(document, Settings())
    assert design.search.chemistries == ("lifepo4",)
    assert design.search.bank_voltages == (12.0,)
    assert (design.search.max_panels, design.search.max_weight_kg) == (6, 40.0)
    assert design.search.weigh
    assert (design.bank_voltage_v, design.winters, design.step_h) == (12.0, 5, 0.5)
    EDITS["search"](
        document,
        {"chemistries": "several", "bank_voltages": "several", "max_panels": "",
         "max_weight": "", "weigh": ""},
    )  # fmt: skip
    assert "search" not in document


def test_converters_of_the_list_come_and_go(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """Added, counted, owned, taken out; choosing none at all is told beside the field."""
    design = new_design()
    name = "12/24 V to 5 V USB, 15 W"
    empty = send(client, design, "converter", base="1", row="1", part="")
    assert empty.status_code == 400
    assert 'id="converter-1-part-trouble"' in empty.text
    assert send(client, design, "converter", base="1", row="1", part=name).status_code == 303
    send(client, design, "converter", base="2", row="1", part=name, count="2", owned="yes")
    assert told(store, design)["converter"] == [{"part": name, "count": 2, "owned": True}]
    send(client, design, "remove-converter", base="3", row="1")
    assert "converter" not in told(store, design)


def test_a_load_says_when_it_can_wait(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """Months, days, patience, bursts, guesses: every habit, and away again."""
    design = new_design()
    fields = {"months": "may, june", "weekdays": "sat, sun", "can_wait.days": "2",
              "can_wait.rule": "battery above 80 %", "typical": "yes", "kind": "motor",
              "duty": "0,5"}  # fmt: skip
    assert send(client, design, "load", base="1", row="1", **fields).status_code == 303
    load = told(store, design)["load"][0]
    assert load["can_wait"] == {"days": "2 days", "rule": "battery above 80 %"}
    assert (load["typical"], load["kind"]) == (True, "motor")
    wrong = send(client, design, "load", base="2", row="1", **{"can_wait.days": "long"})
    assert wrong.status_code == 400
    assert 'id="load-1-can-wait-days-trouble"' in wrong.text
    away = {"can_wait.days": "", "can_wait.rule": "", "typical": "", "duty": ""}
    assert send(client, design, "load", base="2", row="1", **away).status_code == 303
    assert "can_wait" not in told(store, design)["load"][0]

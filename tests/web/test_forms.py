"""Changing a design by its forms: what is saved, what is refused, what is merged."""

from __future__ import annotations

import re
import time
import tomllib
from collections.abc import Callable
from typing import Any

import httpx
import pytest
from tests.report.reading import Read

from sunpantry.demand.library import load_library
from sunpantry.errors import InputError
from sunpantry.examples import example
from sunpantry.store import Step, Store
from sunpantry.web.documents import accept, taken_apart
from sunpantry.web.edits import EDITS
from sunpantry.web.entries import quantity
from sunpantry.web.settings import Settings

pytestmark = pytest.mark.regression


def current(store: Store, design: str) -> dict[str, Any]:
    """Document of the current version."""
    return tomllib.loads(store.head(design).version.document)


def change(client: httpx.Client, design: str, edit: str, **fields: str) -> httpx.Response:
    """Send one form, as a browser without scripts does."""
    return client.post(f"/designs/{design}/change/{edit}", data=fields)


def refused(client: httpx.Client, design: str, edit: str, fields: dict[str, str]) -> str:
    """Page that tells what has to be mended in a form."""
    reply = change(client, design, edit, base="1", **fields)
    assert reply.status_code == 400
    return reply.text


def settled(client: httpx.Client, address: str) -> str:
    """Page of a design once it is answered; on a busy machine that takes a while."""
    text = ""
    for _ in range(90):
        text = client.get(address).text
        if re.search(r'data-state="(fresh|kept)"', text):
            return text
        time.sleep(1.0)
    raise AssertionError(f"still not answered: {text[:500]}")


def test_add_a_load_in_two_actions(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """Choose a name, press Add: its typical figures come with it, and the verdict is there."""
    design = new_design()
    reply = change(client, design, "add-load", base="1", name="LED lamp")
    assert reply.status_code == 303
    added = current(store, design)["load"][-1]
    assert (added["name"], added["like"]) == ("LED lamp", "LED lamp")
    assert "verdict-words" in settled(client, reply.headers["location"])


@pytest.mark.parametrize("months", ["8", "8, 9", "aug, 9", "jul-sep"])
def test_months_may_be_typed_as_numbers(months: str, hut: str) -> None:
    """A form sends every field as text: the page itself shows months by number."""
    document = taken_apart(hut)
    EDITS["load"](document, {"row": "1", "months": months})
    design, text = accept(document, Settings())
    assert design.loads[0].months in {(8,), (8, 9), (7, 8, 9)}
    assert taken_apart(text)["load"][0]["months"]


@pytest.mark.parametrize("entry", load_library(), ids=lambda one: one.name)
def test_every_ordinary_load_can_be_added(entry: Any) -> None:
    """Each entry of the library makes a valid design by its name alone."""
    document: dict[str, Any] = {"schema": 1, "site": {"latitude": 54.0, "longitude": -9.0}}
    EDITS["add-load"](document, {"name": entry.name})
    design, _ = accept(document, Settings())
    assert design.loads[0].like == entry.name


def test_what_must_be_mended_is_told_beside_its_field(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """Status 400, the field marked and described, what was typed still there, nothing saved."""
    design = new_design()
    reply = change(client, design, "load", base="1", row="1", power="minus three")
    assert reply.status_code == 400
    field = re.search(r'<input[^>]*id="load-1-power"[^>]*>', reply.text)
    assert field is not None
    assert 'aria-invalid="true"' in field[0]
    assert 'value="minus three"' in field[0]
    described = re.search(r'aria-describedby="([^"]+)"', field[0])
    assert described is not None
    assert f'id="{described[1]}"' in reply.text
    assert store.head(design).version.number == 1


def test_a_place_that_is_not_known_stays_in_its_field(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """One letter is to be mended, not the whole name written again."""
    design = new_design()
    reply = change(client, design, "place", base="1", place="Ballygobackwards")
    assert reply.status_code == 400
    field = re.search(r'<input[^>]*id="place"[^>]*>', reply.text)
    assert field is not None
    assert 'value="Ballygobackwards"' in field[0]
    assert store.head(design).version.number == 1


@pytest.mark.parametrize(
    ("edit", "fields", "told"),
    [
        ("battery", {"count": "one"}, "a whole number, such as 2; change it, or leave the field"),
        ("load", {"row": "1", "quantity": "1.5"}, "a whole number, such as 2"),
        ("load", {"row": "1", "name": ""}, "fill this in"),
    ],
)
def test_mistakes_are_told_in_the_words_of_a_form(
    client: httpx.Client,
    new_design: Callable[..., str],
    edit: str,
    fields: dict[str, str],
    told: str,
) -> None:
    """Whoever fills in a form has seen no keys, no quotes and no default."""
    text = refused(client, new_design(), edit, fields)
    assert told in text
    assert not re.search("the key|quotes|the default", text)


@pytest.mark.parametrize(
    ("edit", "fields", "told"),
    [
        ("array", {"row": "1", "tilt": "120"}, "Panels: Leaning"),
        ("promise", {"should": "-3"}, "What is promised: for what should run"),
        ("price", {"part": "a panel", "price": "-5"}, "What it costs: a panel"),
        ("run", {"run": "W1", "length": "-3"}, "Your cable lengths: W1"),
        ("search", {"max_panel_power": "much"}, "What may be chosen: Power of one panel, at most"),
        ("reckoning", {"winters": "1000"}, "Winters it is run through"),
        ("add-tank", {"name": "T"}, "Water: The tank holds"),
        ("add-obstacle", {"name": "Barn", "distance": "10"}, "Where: Height above the panels"),
    ],
)
def test_what_is_to_be_mended_has_the_name_that_its_field_has(
    client: httpx.Client,
    new_design: Callable[..., str],
    edit: str,
    fields: dict[str, str],
    told: str,
) -> None:
    """No key of the design file stands in the list at the top."""
    assert f"<strong>{told}</strong>" in refused(client, new_design(), edit, fields)


def test_another_kind_of_second_source_needs_no_clearing_away(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """What told of the one before goes with it; what is typed for the new one stays."""
    design = new_design()
    form = {"kind": "carried_battery", "carried": "360", "trip_cost": "4"}
    assert change(client, design, "backup", base="1", **form).status_code == 303
    form |= {"kind": "generator", "power": "800", "fuel_price": "1.8"}
    form["carried"] = "360 Wh"  # as the form shows it
    assert change(client, design, "backup", base="2", **form).status_code == 303
    backup = current(store, design)["backup"]
    assert backup["kind"] == "generator"
    assert backup["fuel_price"] == 1.8
    assert not {"carried", "trip_cost"} & set(backup)


def test_the_first_question_says_why_it_asks_for_more(client: httpx.Client) -> None:
    """A word that is not on the list is told to be so, beside what to do."""
    reply = client.post("/start", data={"name": "lihgt", "place": "53.8, -9.5"})
    assert reply.status_code == 400
    assert "“lihgt” is not on the list of ordinary things" in reply.text


def test_the_price_says_what_is_not_in_it(
    client: httpx.Client, new_design: Callable[..., str]
) -> None:
    """Cables and fuses are in the build sheet; the page names about what they come to."""
    text = settled(client, f"/designs/{new_design()}")
    assert re.search(r"Without cables, fuses and small things: .* about €\d+ more", text)


def test_a_copy_keeps_its_name_through_changes(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """The document tells the name too: two designs of one name cannot be told apart."""
    reply = client.post(f"/designs/{new_design()}/duplicate")
    copy = reply.headers["location"].rpartition("/")[2]
    name = store.head(copy).version.name
    assert name.endswith(", copy")
    assert current(store, copy)["name"] == name
    change(client, copy, "load", base="1", row="1", power="7")
    assert store.head(copy).version.name == name


def test_the_answer_before_is_marked_where_there_is_none_now(
    client: httpx.Client, new_design: Callable[..., str]
) -> None:
    """Two verdicts stand above each other: it is said which is of before."""
    design = new_design()
    address = f"/designs/{design}"
    settled(client, address)
    change(client, design, "load", base="1", row="1", power="9999999", supply="mains")
    text = ""
    for _ in range(60):
        text = client.get(address).text
        if 'data-state="refused"' in text:
            break
        time.sleep(1.0)
    assert "No answer:" in text
    assert "This was the answer before your last change." in text


def test_bare_numbers_take_the_unit_of_their_field() -> None:
    """Commas too; what has a unit of its own keeps it."""
    assert quantity("8", "W") == "8 W"
    assert quantity("0,5", "h") == "0.5 h"
    assert quantity("1.2 kW", "W") == "1.2 kW"
    assert quantity("", "W") == ""
    assert quantity("2 kw", "W") == "2 kW"
    assert quantity("220v", "V") == "220 V"
    assert quantity("1,5 KWH", "Wh") == "1.5 kWh"
    assert quantity("5 mW", "W") == "5 mW"


def test_each_form_changes_its_part(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """One after the other, and the document holds all of it."""
    design = new_design()
    steps: list[tuple[str, dict[str, str]]] = [
        ("load", {"row": "1", "power": "9", "quantity": "2", "importance": "must"}),
        ("place", {"place": "53.8, -9.5"}),
        ("array", {"part": "", "tilt": "70", "azimuth": "170"}),
        ("battery", {"part": "12 V 100 Ah AGM", "count": "2", "housing": "house"}),
        ("controller", {"part": ""}),
        ("promise", {"must": "1", "should": "50", "may": ""}),
        ("money", {"currency": "gbp", "years": "20", "discount_rate": "2,5"}),
        ("price", {"part": "12 V 100 Ah AGM", "price": "99,5"}),
        ("run", {"run": "array", "length": "14"}),
        ("name", {"name": "Top hut", "notes": "by the gate"}),
        ("own", {"role": "battery", "part": "12 V 100 Ah AGM", "count": "2", "owned": "yes"}),
        ("remove-load", {"row": "2"}),
    ]
    for number, (edit, fields) in enumerate(steps, start=1):
        reply = change(client, design, edit, base=str(number), **fields)
        assert reply.status_code == 303, (edit, reply.text[-2000:])
    told = current(store, design)
    assert told["load"] == [
        {
            "name": "Lamp",
            "power": "9 W",
            "supply": "12 V",
            "hours_per_day": "4 h",
            "quantity": 2,
            "importance": "must",
        }
    ]
    assert (told["site"]["latitude"], told["site"]["longitude"]) == (53.8, -9.5)
    assert told["array"][0] == {"tilt": "70 °", "azimuth": "170 °"}
    assert told["battery"]["count"] == 2
    assert told["battery"]["owned"] in (True, "all")
    assert "controller" not in told
    assert told["promise"] == {"must": "1 h", "should": "50 h"}
    assert told["money"]["currency"] == "GBP"
    assert told["money"]["prices"] == {"12 V 100 Ah AGM": 99.5}
    assert told["wiring"]["runs"] == {"array": "14 m"}
    assert (told["name"], told["notes"]) == ("Top hut", "by the gate")


def test_two_tabs_lose_nothing(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """The second is asked; both together is one press away; both versions stay."""
    design = new_design()
    change(client, design, "load", base="1", row="1", power="9")
    clash = change(client, design, "load", base="1", row="2", power="6")
    assert clash.status_code == 409
    fields = dict(re.findall(r'<textarea[^>]*name="(\w+)"[^>]*>([^<]*)</textarea>', clash.text))
    import html

    data = {key: html.unescape(value) for key, value in fields.items()}
    reply = client.post(f"/designs/{design}/merge", data={**data, "choice": "merged", "base": "2"})
    assert reply.status_code == 303
    powers = [load["power"] for load in current(store, design)["load"]]
    assert powers == ["9 W", "6 W"]
    assert store.head(design).version.step is Step.MERGED


def test_undo_redo_and_an_older_version(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """The buttons lead where the store leads."""
    design = new_design()
    change(client, design, "load", base="1", row="1", power="9")
    client.post(f"/designs/{design}/undo", data={"base": "2"})
    assert current(store, design)["load"][0]["power"] == "8 W"
    client.post(f"/designs/{design}/redo", data={"base": "3"})
    assert current(store, design)["load"][0]["power"] == "9 W"
    client.post(f"/designs/{design}/return", data={"number": "1"})
    assert current(store, design)["load"][0]["power"] == "8 W"
    assert "taken up again" in client.get(f"/designs/{design}/history").text


def test_quick_answer_changes_nothing(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """While typing: a verdict for what is typed, nothing saved."""
    design = new_design()
    settled(client, f"/designs/{design}")
    fields = {"base": "1", "row": "1", "power": "60"}
    headers = {"accept": "application/json"}
    reply = client.post(f"/designs/{design}/glance/load", data=fields, headers=headers)
    told = reply.json()
    assert reply.status_code == 200, told
    assert "No:" in told["verdict"]
    assert len(told["shares"]) == 2
    assert store.head(design).version.number == 1
    wrong = client.post(
        f"/designs/{design}/glance/load", data={**fields, "power": "x"}, headers=headers
    )
    assert wrong.status_code == 400
    assert wrong.json()["error"]["problems"][0]["where"] == "load[1].power"


def test_files_to_take_away(client: httpx.Client, new_design: Callable[..., str]) -> None:
    """Document, document with all parts, parts list, sheet, pictures, drawings."""
    design = new_design()
    at = f"/designs/{design}"
    settled(client, at)
    text = client.get(f"{at}/design.toml")
    assert text.headers["content-disposition"] == 'attachment; filename="lamp-in-the-hut.toml"'
    assert tomllib.loads(text.text)["name"] == "Lamp in the hut"
    written = tomllib.loads(client.get(f"{at}/design.toml?parts=written").text)
    assert written["battery"]["part"] == "12 V 100 Ah AGM"
    rows = client.get(f"{at}/parts.csv").text.splitlines()
    assert rows[0].lstrip("\ufeff").startswith("role,name,count")
    assert any("12 V 100 Ah AGM" in row for row in rows)
    sheet = client.get(f"{at}/sheet.pdf", headers={"cookie": "language=de"})
    assert sheet.status_code == 200, sheet.text[:300]
    assert sheet.content.startswith(b"%PDF")
    read = Read(sheet.content)
    assert read.file.metadata["title"] == "Lamp in the hut: Bauplan"
    assert "Reihenfolge der Arbeit" in read.text
    names = re.findall(r'download="([\w-]+)\.svg"', client.get(f"{at}/pictures").text)
    assert len(names) >= 4
    assert client.get(f"{at}/chart/{names[0]}.svg").text.startswith("<svg")
    assert client.get(f"{at}/chart/{names[0]}.png").content.startswith(b"\x89PNG")
    assert client.get(f"{at}/chart/{names[0]}.json?theme=dark").json()["spec"]
    assert client.get(f"{at}/drawing/diagram.svg").text.startswith("<svg")
    assert client.get(f"{at}/drawing/narrow.svg").text.startswith("<svg")
    assert client.get(f"{at}/drawing/nothing.svg").status_code == 404


def test_uploads_are_data_only(client: httpx.Client, store: Store) -> None:
    """A good file begins a design; a broken one is told; one that reaches out is refused."""
    good = b'schema = 1\nname = "Sent"\n[site]\nlatitude = 54\nlongitude = -9\n'
    good += b'[[load]]\nname = "Lamp"\nlike = "LED lamp"\n'
    head, _, tail = good.partition(b"[[load]]")

    def send(content: bytes) -> httpx.Response:
        return client.post("/upload", files={"file": ("hut.toml", content)})

    assert send(good).status_code == 303
    assert store.designs()[0].name == "Sent"
    unread = send(b"role,name,count\npanel,one,1\n")
    assert unread.status_code == 400
    assert "a design file; take one that was downloaded here" in unread.text
    assert send(b"not = [toml").status_code == 400
    assert send(b"deep = " + b"[" * 50_000).status_code == 400
    assert send(b"\xff\xfe\x00").status_code == 400
    assert send(b"winters = " + b"9" * 5000).status_code == 400
    outside = head + b'weather_file = "/etc/passwd"\n[[load]]' + tail
    reply = send(outside)
    assert reply.status_code == 400
    assert "the name of a file in" in reply.text
    many = good + b'[[load]]\nname = "a"\nlike = "LED lamp"\n' * 61
    assert send(many).status_code == 400


@pytest.mark.parametrize(
    ("file", "fine"),
    [("hut.epw", True), ("../secret", False), ("a/b.csv", False), (".hidden", False)],
)
def test_weather_files_stay_in_their_folder(file: str, fine: bool) -> None:
    """A bare name and nothing else."""
    raw = {"schema": 1, "site": {"latitude": 54, "longitude": -9, "weather_file": file}}
    if fine:
        accept(raw, Settings())
        return
    with pytest.raises(InputError, match="weather_file"):
        accept(raw, Settings())


def test_a_situation_is_begun_in_the_readers_language(client: httpx.Client, store: Store) -> None:
    """Its name is translated where it stands, and the rest of the document is as it was."""
    shipped = example("apiary-hut")
    address = re.findall(r'action="(/[^"]*apiary-hut[^"]*)"', client.get("/").text)[0]
    reply = client.post(address, headers={"accept-language": "de"})
    head = store.head(reply.headers["location"].split("#")[0].rsplit("/", 1)[-1]).version
    assert head.name == "Die Imkerhütte in Carrowmoor"
    assert head.document == shipped.text.replace(f'"{shipped.title}"', f'"{head.name}"', 1)


def test_starting_with_nothing(client: httpx.Client, store: Store) -> None:
    """An empty design can be begun, and says what it waits for; the last load can go."""
    reply = client.post("/start", data={"name": "", "place": "54.1, -9.2"})
    assert reply.status_code == 303
    text = client.get(reply.headers["location"]).text
    assert "Say what must run: the answer appears here" in text
    design = reply.headers["location"].rsplit("/", 1)[1].split("#")[0]
    change(client, design, "add-load", base="1", name="LED lamp")
    assert change(client, design, "remove-load", base="2", row="1").status_code == 303
    assert not current(store, design).get("load")


def test_taking_apart_and_writing_is_lossless(new_design: Callable[..., str], store: Store) -> None:
    """What the forms work on leads back to the same design."""
    version = store.head(new_design()).version
    raw = taken_apart(version.document)
    design, text = accept(raw, Settings())
    assert accept(taken_apart(text), Settings())[0] == design


def test_a_link_shows_and_ends(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """Made on the page, read-only, and over when it is ended."""
    design = new_design()
    made = client.post(f"/designs/{design}/share", data={"base": "1"}).text
    link = re.search(r"/shared/([\w-]+)", made)
    assert link is not None
    assert "read-only link" in client.get(link[0]).text
    client.post(f"/designs/{design}/unshare", data={"base": "1"})
    assert client.get(link[0]).status_code == 404

"""Forms for water, a second source, further panels, the skyline, the weather; and their units."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx
import pytest

from sunpantry.examples import example
from sunpantry.store import Store
from sunpantry.web.documents import accept, taken_apart
from sunpantry.web.edits import EDITS
from sunpantry.web.entries import measure_in, quantities, quantity, shown
from sunpantry.web.settings import Settings

pytestmark = pytest.mark.regression


YEAR = "; ".join(["60", "50"] * 6)


def send(client: httpx.Client, design: str, edit: str, **data: str) -> httpx.Response:
    """Send one form."""
    return client.post(f"/designs/{design}/change/{edit}", data=data)


def told(store: Store, design: str) -> dict[str, Any]:
    """The document as it stands now."""
    return taken_apart(store.head(design).version.document)


@pytest.fixture(autouse=True)
def _metric() -> None:
    """Every test begins with metres."""
    measure_in("metric")


def test_each_form_changes_its_part(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """One after the other, as a person would, and the document holds all of it."""
    design = new_design()
    pump = {"name": "Spring", "supply": "12 V", "static_head": "12", "pipe_length": "80"}
    pump |= {"rated_power": "60", "rated_flow": "8", "rated_head": "20"}
    hedge = {"name": "Hedge", "height": "2,5", "distance": "6", "from": "120", "until": "170"}
    steps: list[tuple[str, dict[str, str]]] = [
        ("add-pump", {**pump, "volume": "1500", "litres_per_day": "100"}),
        ("pump", {"row": "1", "elbows": "2", "pipe_bore": "20", "rule": "battery above 50 %"}),
        ("tank", {"row": "1", "drinker-1": "Calves", "number-1": "6", "litres_each-1": "20"}),
        ("tank", {"row": "1", "drinker-2": "Cows", "number-2": "2", "litres_each-2": YEAR}),
        ("backup", {"kind": "generator", "power": "800", "fuel_price": "1,9", "owned": "yes"}),
        ("add-array", {"part": "", "tilt": "80", "azimuth": "90"}),
        ("array", {"row": "2", "mounting": "wall"}),
        ("horizon", {"bearing-1": "90", "height-1": "4", "bearing-3": "200", "height-3": "8,5"}),
        ("add-obstacle", hedge),
        ("obstacle", {"row": "1", "lets_through": "20", "bare_months": "december, january"}),
        ("site", {"altitude": "75", "soiling": "3"}),
        ("laying", {"installation": "buried", "sizes": "awg"}),
    ]
    for edit, fields in steps:
        base = str(store.head(design).version.number)
        reply = send(client, design, edit, base=base, **fields)
        assert reply.status_code == 303, (edit, re.findall(r'class="trouble"[^<]*<', reply.text))
    now = told(store, design)
    assert now["pump"][0]["static_head"] == "12 m"
    assert now["pump"][0]["elbows"] == 2
    assert now["pump"][0]["pipe_bore"] == "20 mm"
    assert now["tank"][0]["volume"] == "1500 L"
    drinkers = now["tank"][0]["drinker"]
    assert [(one["name"], one["number"]) for one in drinkers] == [("Calves", 6.0), ("Cows", 2.0)]
    assert drinkers[1]["litres_each"][:2] == ["60 L", "50 L"]
    assert now["backup"]["fuel_price"] == 1.9
    assert now["backup"]["owned"] is True
    assert now["array"][1] == {"tilt": "80 °", "azimuth": "90 °", "mounting": "wall"}
    assert now["site"]["horizon"] == [[90.0, 4.0], [200.0, 8.5]]
    assert now["site"]["obstacle"][0]["height"] == "2.5 m"
    assert now["site"]["obstacle"][0]["lets_through"] == "20 %"
    assert now["site"]["altitude"] == "75 m"
    assert now["wiring"] == {"installation": "buried", "sizes": "awg"}
    for edit, fields in (
        ("backup", {"kind": "none"}),
        ("remove-array", {"row": "2"}),
        ("remove-obstacle", {"row": "1"}),
        ("horizon", {"bearing-1": "", "height-1": ""}),
        ("remove-pump", {"row": "1"}),
    ):
        base = str(store.head(design).version.number)
        assert send(client, design, edit, base=base, **fields).status_code == 303, edit
    now = told(store, design)
    assert not {"backup", "pump", "tank"} & set(now)
    assert len(now["array"]) == 1
    assert not {"horizon", "obstacle"} & set(now["site"])


@pytest.mark.parametrize(
    ("edit", "fields", "field"),
    [
        ("add-pump", {"static_head": "x", "pipe_length": "9", "volume": "100"}, "pump-2-head"),
        ("pump", {"row": "1", "pipe_bore": "-1"}, "pump-1-bore"),
        ("tank", {"row": "1", "drinker-1": "Ewes", "number-1": "many"}, "tank-1-number-1"),
        ("backup", {"kind": "generator", "power": "much"}, "backup-power"),
        ("add-array", {"tilt": "120"}, "array-2-tilt"),
        ("add-obstacle", {"name": "Wall", "height": "tall", "distance": "3"}, "obstacle-1-height"),
        ("site", {"altitude": "9000"}, "site-altitude"),
    ],
)
def test_what_must_be_mended_is_told_beside_its_field(
    client: httpx.Client,
    new_design: Callable[..., str],
    edit: str,
    fields: dict[str, str],
    field: str,
) -> None:
    """The field is marked, described by the words beside it, and holds what was typed."""
    text = example("water-by-battery").text.replace("schema = 1", "schema = 1\nwinters = 2", 1)
    reply = send(client, new_design(text), edit, base="1", **fields)
    assert reply.status_code == 400
    found = re.search(rf'<(?:input|select)[^>]*id="{field}"[^>]*>', reply.text)
    assert found is not None
    assert 'aria-invalid="true"' in found[0], found[0]
    assert f'id="{field}-trouble"' in reply.text


def test_what_could_not_be_added_is_mended_where_it_is_shown(
    client: httpx.Client, store: Store, new_design: Callable[..., str]
) -> None:
    """A new row with a mistake in it is shown as one, and saved or given up from there."""
    design = new_design()
    reply = send(client, design, "add-load", base="1", name="LED lamp", power="much")
    assert reply.status_code == 400
    assert re.search(r'id="load-3-power"[^>]*value="much"', reply.text)
    fields = {"row": "3", "name": "LED lamp", "like": "LED lamp", "power": "7"}
    assert send(client, design, "load", base="1", **fields).status_code == 303
    assert told(store, design)["load"][2]["power"] == "7 W"
    assert told(store, design)["load"][2]["like"] == "LED lamp"
    gone = send(client, design, "remove-load", base="2", row="4")
    assert gone.status_code == 303
    assert len(told(store, design)["load"]) == 3
    assert send(client, design, "remove-load", base="2", row="9").status_code == 400


def test_tanks_come_and_go() -> None:
    """A second tank, the pump told which one to fill, and the first one taken out."""
    document = taken_apart(example("water-by-battery").text)
    EDITS["add-tank"](document, {"name": "Low tank", "volume": "300", "litres_per_day": "9"})
    EDITS["pump"](document, {"row": "1", "into": "Low tank"})
    EDITS["remove-tank"](document, {"row": "1"})
    assert [one["name"] for one in document["tank"]] == ["Low tank"]
    design, _ = accept(document, Settings())
    assert design.pumps[0].into == "Low tank"


@pytest.mark.parametrize("name", ["water-by-battery", "whole-house", "water-from-the-sun"])
def test_saving_a_form_untouched_changes_nothing(name: str) -> None:
    """Also in feet and gallons: what was not touched keeps its every digit."""
    before = taken_apart(example(name).text)
    for units in ("metric", "us"):
        measure_in(units)
        after = taken_apart(example(name).text)
        for row, pump in enumerate(before.get("pump", []), start=1):
            fields = {"static_head": "m", "pipe_length": "m", "rated_flow": "L/min"}
            form = {key: shown(pump[key], unit) for key, unit in fields.items()}
            EDITS["pump"](after, {"row": str(row), **form})
        for row, tank in enumerate(before.get("tank", []), start=1):
            form = {"volume": shown(tank["volume"], "L")}
            for place, one in enumerate(tank.get("drinker", []), start=1):
                form[f"drinker-{place}"] = one["name"]
                form[f"litres_each-{place}"] = shown(one["litres_each"], "L")
            EDITS["tank"](after, {"row": str(row), **form})
        EDITS["site"](after, {"altitude": shown(before["site"].get("altitude"), "m")})
        assert after == before, units
        accept(after, Settings())


def test_feet_gallons_and_fahrenheit() -> None:
    """Shown and taken in the units of the United States (exact by definition: 1 ft = 0.3048 m,
    1 US gal = 3.785411784 L; NIST Handbook 44, appendix C)."""
    assert shown("3.048 m", "m") == "3.048 m"
    measure_in("us")
    assert shown("3.048 m", "m") == "10 ft"
    assert shown("378.5411784 L", "L") == "100 gal"
    assert shown("25 °C", "°C") == "77 °F"
    assert shown(["3.785411784 L", "0 L"], "L") == "1 gal; 0 gal"
    assert quantity("10", "m") == "10 ft"
    assert quantity("10", "W") == "10 W"
    assert quantity("10 m", "m") == "10 m"
    assert quantities("1; 2", "L") == ["1 gal", "2 gal"]
    document: dict[str, Any] = {
        "schema": 1,
        "site": {"latitude": 44.0, "longitude": -72.0},
        "load": [{"name": "Lamp", "power": "8 W", "supply": "12 V", "hours_per_day": 4}],
    }
    pump = {"static_head": "40", "pipe_length": "200", "rated_flow": "4", "rated_head": "60"}
    pump |= {"rated_power": "60", "volume": "500", "litres_per_day": "50"}
    EDITS["add-pump"](document, pump)
    EDITS["run"](document, {"run": "array", "length": "30"})
    EDITS["laying"](document, {"ambient": "104"})
    design, _ = accept(document, Settings())
    assert design.pumps[0].static_head_m == pytest.approx(12.192, rel=1e-9)
    assert design.pumps[0].rated_flow_l_min == pytest.approx(15.141647136, rel=1e-9)
    assert design.tanks[0].volume_l == pytest.approx(1892.705892, rel=1e-9)
    assert design.wiring.runs["array"] == pytest.approx(9.144, rel=1e-9)
    assert design.wiring.ambient_c == pytest.approx(40.0, rel=1e-9)


def test_the_page_speaks_feet_when_asked(
    client: httpx.Client, new_design: Callable[..., str]
) -> None:
    """Labels, fields and figures alike."""
    design = new_design()
    client.get(f"/designs/{design}")
    text = client.get(f"/designs/{design}", headers={"cookie": "units=us"}).text
    assert re.search(r'class="unit">ft<', text)
    assert "\N{NO-BREAK SPACE}ft" in text
    assert not re.search(r"\d\N{NO-BREAK SPACE}m\b(?![²/])", text)
    assert not re.search(r"\d\N{NO-BREAK SPACE}°C", text)


WEATHER = "time,ghi_w_m2,temperature_c\n"


def test_weather_files_are_sent_and_chosen(
    client: httpx.Client, store: Store, new_design: Callable[..., str], folder: Path
) -> None:
    """A file that can be read is kept under its own name and used; another is refused; one
    that is there is never written over."""
    design = new_design()
    at = f"/designs/{design}/weather"
    assert "table of climates" in client.get(at).text
    bad = client.post(f"{at}/upload", files={"file": ("../../bad.csv", b"nonsense")})
    assert bad.status_code == 400
    assert store.head(design).version.number == 1
    assert not list((folder / "weather").glob("*bad*"))
    assert client.post(f"{at}/upload", files={"file": ("x.exe", b"MZ")}).status_code == 400
    rows = [WEATHER]
    for day in range(365):
        date = f"2021-{_month_day(day)}"
        rows += [
            f"{date}T{hour:02d}:00Z,{max(0, 90 - 25 * abs(hour - 13))},10\n" for hour in range(24)
        ]
    good = "".join(rows).encode()
    for expected in ("hut.csv", "hut-2.csv"):
        reply = client.post(f"{at}/upload", files={"file": ("hut.csv", good)})
        assert reply.status_code == 303, re.findall(r'role="alert">(.*?)</div>', reply.text, re.S)
        site = tomllib.loads(store.head(design).version.document)["site"]
        assert site["weather_file"] == expected
    base = str(store.head(design).version.number)
    assert send(client, design, "weather", base=base, weather_file="").status_code == 303
    assert "weather_file" not in tomllib.loads(store.head(design).version.document)["site"]


def _month_day(day: int) -> str:
    from datetime import date, timedelta

    return (date(2021, 1, 1) + timedelta(days=day)).strftime("%m-%d")


def test_weather_files_are_for_whoever_has_the_token(
    locked_page: str, new_design: Callable[..., str]
) -> None:
    """Neither their names nor their folder are shown to readers, and nothing is taken."""
    at = f"{locked_page}/designs/{new_design()}/weather"
    assert httpx.get(at, timeout=60).status_code == 401
    sent = httpx.post(f"{at}/upload", files={"file": ("a.csv", b"x")}, timeout=60)
    assert sent.status_code == 401
    assert httpx.get(at, cookies={"sunpantry_token": "open-sesame"}, timeout=60).status_code == 200


def test_nothing_goes_online_without_a_yes(
    client: httpx.Client, new_design: Callable[..., str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The service is asked only with the box ticked; what comes of it is told on the page."""
    import time

    from sunpantry.errors import WeatherError
    from sunpantry.sky import fetch

    asked: list[int] = []

    def no_answer(*_: Any, years: int, **__: Any) -> Path:
        asked.append(years)
        raise WeatherError("the service cannot be reached")

    monkeypatch.setattr(fetch, "fetch_weather", no_answer)
    at = f"/designs/{new_design()}/weather"
    assert client.post(f"{at}/fetch", data={"years": "5"}).status_code == 400
    assert client.post(f"{at}/fetch", data={"years": "99", "agreed": "yes"}).status_code == 400
    assert asked == []
    assert client.post(f"{at}/fetch", data={"years": "5", "agreed": "yes"}).status_code == 303
    deadline = time.monotonic() + 30
    while "cannot be reached" not in client.get(at).text:
        assert time.monotonic() < deadline
        time.sleep(0.1)
    assert asked == [5]

"""Whatever is sent: forms change the document or tell what to mend, addresses never break."""

from __future__ import annotations

import copy
import re
from collections.abc import Callable
from typing import Any

import httpx
import pytest

from sunpantry.errors import InputError
from sunpantry.web.documents import accept, read_document, taken_apart, within_limits
from sunpantry.web.edits import EDITS
from sunpantry.web.entries import measure_in
from sunpantry.web.settings import Settings

pytestmark = pytest.mark.regression

ODD = (
    *("", "-1", "1e400", "NaN", "²", "9" * 5000, "\x00", "a\nb", "[<b>"),
    *("none", "2", "50; 60", "12 wat", "1,5"),
)
FORM = re.compile(r'<form method="post" action="[^"]*/change/([\w-]+)".*?</form>', re.S)
HELD = re.compile(r'name="([^"]+)"(?:[^>]*?value="([^"]*)")?')


WATER = """
[[tank]]
name = "Trough"
volume = "500 L"
litres_per_day = 60

[[pump]]
name = "Spring"
into = "Trough"
supply = "12 V"
rule = "battery above 50 %"
static_head = "8 m"
pipe_length = "40 m"
rated_flow = "8 L/min"
rated_head = "12 m"
rated_power = "60 W"
"""


@pytest.fixture(scope="module")
def filled(hut: str, page: str) -> tuple[str, dict[str, dict[str, str]]]:
    """A design with water too, and the forms of its page as a browser would send them."""
    text = hut + WATER
    with httpx.Client(base_url=page, timeout=60.0) as client:
        design = client.post("/api/designs", json={"text": text}).json()["id"]
        shown = client.get(f"/designs/{design}").text
    forms: dict[str, dict[str, str]] = {}
    for found in FORM.finditer(shown):
        fields = {key: value for key, value in HELD.findall(found[0]) if key != "base"}
        forms.setdefault(found[1], {}).update(fields)
    return text, forms


@pytest.fixture(scope="module")
def design(new_design: Callable[..., str]) -> str:
    """A design that is asked about."""
    return new_design()


def sent(document: dict[str, Any], edit: str, form: dict[str, str]) -> None:
    """Do what the page does with a form; anything but a fault that is told breaks the test."""
    changed = copy.deepcopy(document)
    try:
        EDITS[edit](changed, form)
        accept(changed, Settings())
    except InputError as error:
        told = error.problems
    else:
        return
    assert all(one.where and one.allowed for one in told), (edit, form)


def test_every_field_of_every_form_takes_anything(
    filled: tuple[str, dict[str, dict[str, str]]],
) -> None:
    """Each field in turn with each odd word, the others as they stand."""
    text, forms = filled
    assert len(forms) > 20
    measure_in("metric")
    document = taken_apart(text)
    for edit, fields in forms.items():
        sent(document, edit, {})
        sent(document, edit, dict.fromkeys(fields, ""))
        for field in fields:
            for word in ODD:
                sent(document, edit, {**fields, field: word})


@pytest.mark.parametrize(
    "query",
    [
        *("version=" + "9" * 25, "version=²", "version=" + "9" * 5000, "version=0"),
        *("winter=²&month=99&day=-5", "winter=" + "9" * 5000, "wait_s=nan", "language=xx&theme=q"),
    ],
)
@pytest.mark.parametrize("path", ["", "/pictures", "/sheet.pdf", "/parts.csv", "/history"])
def test_no_number_in_an_address_breaks_it(
    client: httpx.Client, design: str, path: str, query: str
) -> None:
    """It is left aside, or told to be none."""
    assert client.get(f"/designs/{design}{path}?{query}").status_code < 500


@pytest.mark.parametrize("base", ["9" * 25, "²", "-1", "", "9" * 5000])
def test_no_version_in_a_form_breaks_it(client: httpx.Client, design: str, base: str) -> None:
    """What is no version of a design is taken for the one that stands."""
    data = {"row": "1", "power": "8 W", "base": base}
    assert client.post(f"/designs/{design}/glance/load", data=data).status_code < 500


@pytest.mark.parametrize(
    ("where", "rows"),
    [
        ("load", '\n[[load]]\nlike = "LED lamp"\nname = "L{row}"\n' * 61),
        ("array", '\n[[array]]\npart = "100 W panel, 36 cells"\ncount = 1\n' * 13),
        ("tank", '\n[[tank]]\nname = "T{row}"\nvolume = "9 L"\nlitres_per_day = 1\n' * 41),
        (
            "site.obstacle",
            '\n[[site.obstacle]]\nfrom = 120\nuntil = 130\nheight = "3 m"\ndistance = "9 m"\n' * 41,
        ),
        ("site.horizon", "\n"),
        ("winters", "\n"),
    ],
)
def test_a_design_on_the_page_has_its_limits(hut: str, where: str, rows: str) -> None:
    """Told with what is allowed, and where more is possible."""
    text = hut
    for place, row in enumerate(re.split(r"(?<=\n)(?=\n)", rows)):
        text += row.replace("{row}", str(place))
    if where == "winters":
        text = text.replace("winters = 4", "winters = 61")
    if where == "site.horizon":
        line = ", ".join(f"[{bearing / 2}, 1]" for bearing in range(362))
        text = text.replace("[site]", f"[site]\nhorizon = [{line}]")
    with pytest.raises(InputError) as told:
        within_limits(read_document(text), Settings())
    assert [one.where for one in told.value.problems] == [where]
    assert "at most" in told.value.problems[0].allowed


@pytest.mark.parametrize(
    ("language", "said"),
    [("en", "Power of one: a quantity in W"), ("de", "Leistung von einem: ")],
)
def test_what_stands_in_the_way_is_said_in_the_words_of_the_form(
    client: httpx.Client, new_design: Callable[..., str], language: str, said: str
) -> None:
    """Not by the key of the design file, and in the reader's language."""
    told = client.post(
        f"/designs/{new_design()}/glance/load",
        data={"row": "1", "power": "lots"},
        headers={"accept": "application/json", "accept-language": language},
    )
    assert told.status_code == 400
    assert told.json()["error"]["problems"][0]["where"] == "load[1].power"
    assert told.json()["said"].startswith(said)
    assert "load[" not in told.json()["said"]

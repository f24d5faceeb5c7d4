"""Who may ask what: the rules of the front door."""

from __future__ import annotations

import time
from collections.abc import Callable
from html.parser import HTMLParser

import httpx
import pytest

from sunpantry.store import Store
from sunpantry.web.guard import Meter
from sunpantry.web.settings import is_loopback

pytestmark = pytest.mark.regression

SAME = {"sec-fetch-site": "same-origin"}


def _shape(reply: httpx.Response) -> str:
    """The one shape of an error; returns its code."""
    error = reply.json()["error"]
    assert set(error) >= {"code", "message", "problems"}
    return str(error["code"])


def test_every_reply_carries_the_strict_policy(client: httpx.Client) -> None:
    """No unsafe word, nothing from elsewhere, not even on an error."""
    for path in ("/", "/glossary", "/nowhere", "/api/designs/unknown"):
        policy = client.get(path).headers["content-security-policy"]
        assert "unsafe" not in policy
        assert "default-src 'none'" in policy
        assert "http" not in policy
        assert "*" not in policy


class _Addresses(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []
        self.inline: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = dict(attrs)
        for key in ("src", "href", "action", "srcset", "data-load", "data-spec"):
            if names.get(key):
                self.found.append(str(names[key]))
        self.inline += [key for key in names if key == "style" or key.startswith("on")]
        if tag == "style" or (tag == "script" and not names.get("src")):
            self.inline.append(tag)


def test_pages_ask_for_nothing_outside_and_hold_no_inline_code(
    client: httpx.Client, new_design: Callable[..., str]
) -> None:
    """Every address on a page is its own; no inline script, style or handler."""
    for path in ("/", f"/designs/{new_design()}", "/glossary", "/unlock"):
        seen = _Addresses()
        seen.feed(client.get(path).text)
        assert seen.found
        assert [one for one in seen.found if not one.startswith(("/", "#"))] == []
        assert seen.inline == []


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1.evil.example", "", "10.0.0.1:80"])
def test_foreign_host_names_are_refused(client: httpx.Client, host: str) -> None:
    """A name that rebinds to this machine gets nothing."""
    reply = client.get("/api/designs", headers={"host": host})
    assert reply.status_code == 421
    assert _shape(reply) == "unknown_host"


@pytest.mark.parametrize(
    "headers",
    [
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"origin": "https://evil.example"},
        {"origin": "null"},
    ],
)
def test_posts_from_other_sites_are_refused(
    client: httpx.Client, store: Store, headers: dict[str, str]
) -> None:
    """Another page in the same browser cannot change anything."""
    before = len(store.designs())
    reply = client.post("/start/apiary-hut", headers=headers)
    assert reply.status_code == 403
    assert len(store.designs()) == before


def test_large_bodies_are_refused_declared_or_not(client: httpx.Client) -> None:
    """By the length that is told, and by the length that comes."""
    big = b"x" * 700_000
    assert client.post("/api/check", content=big).status_code == 413
    chunks = (big[at : at + 50_000] for at in range(0, len(big), 50_000))
    reply = client.post("/api/check", content=chunks)
    assert reply.status_code == 413
    assert _shape(reply) == "too_large"


def test_other_addresses_need_the_token_to_write(
    locked_page: str, new_design: Callable[..., str], store: Store
) -> None:
    """The list is hidden, a link opens its design, the token opens everything."""
    design = new_design(name="Kept from strangers")
    with httpx.Client(base_url=locked_page, timeout=60.0) as stranger:
        assert "Kept from strangers" not in stranger.get("/").text
        assert stranger.get(f"/designs/{design}").status_code == 401
        reply = stranger.post(f"/designs/{design}/change/name", data={"name": "Mine now"})
        assert reply.status_code == 401
        link = store.share(design)
        shared = stranger.get(f"/shared/{link}")
        assert shared.status_code == 200
        assert "/change/" not in shared.text, "no form that changes anything"
        address = f"/designs/{design}/parts.csv?link={link}"
        reply = stranger.get(address)
        for _ in range(60):  # on a busy machine the parts are not chosen yet
            if reply.status_code != 422:
                break
            time.sleep(1.0)
            reply = stranger.get(address)
        assert reply.status_code == 200
        assert stranger.get(f"/designs/{design}/parts.csv?link=guess").status_code == 404
        assert stranger.post("/unlock", data={"token": "guess"}).status_code == 401
        assert stranger.post("/unlock", data={"token": "open-sesame"}).status_code == 303
        assert "Kept from strangers" in stranger.get("/").text
    assert store.head(design).version.name == "Kept from strangers"


def test_bearer_token_and_given_names(locked_page: str) -> None:
    """Programs send the token in a header; the name given at the start is known."""
    with httpx.Client(base_url=locked_page) as program:
        body = {"text": "schema = 1"}
        assert program.post("/api/check", json=body).status_code == 401
        headers = {"authorization": "Bearer open-sesame"}
        assert program.post("/api/check", json=body, headers=headers).status_code != 401
        assert program.get("/glossary", headers={"host": "pantry.example"}).status_code == 200
        assert program.get("/glossary", headers={"host": "other.example"}).status_code == 421


def test_meter_lets_a_burst_through_and_then_the_rate() -> None:
    """Sixty a minute: sixty at once, then one a second."""
    meter = Meter(60)
    assert sum(meter.allows("a", 0.0) for _ in range(100)) == 60
    assert meter.allows("b", 0.0), "another address has its own count"
    assert not meter.allows("a", 0.5)
    assert meter.allows("a", 1.6)
    assert not meter.allows("a", 1.7)


def test_many_addresses_do_not_fill_the_memory() -> None:
    """Only the last few thousand are remembered."""
    meter = Meter(1)
    for number in range(10_000):
        meter.allows(str(number), 0.0)
    assert len(meter._left) <= 4096


@pytest.mark.parametrize(
    ("host", "own"),
    [
        ("127.0.0.1", True),
        ("127.9.9.9", True),
        ("::1", True),
        ("[::1]", True),
        ("localhost", True),
        ("0.0.0.0", False),  # noqa: S104
        ("192.168.1.4", False),
        ("localhost.evil.example", False),
    ],
)
def test_what_counts_as_this_machine(host: str, own: bool) -> None:
    """Loopback addresses and no others (RFC 1122, section 3.2.1.3; RFC 4291, section 2.5.3)."""
    assert is_loopback(host) is own


def test_preferences_lead_nowhere_else(client: httpx.Client) -> None:
    """The way back after choosing a language stays on the page."""
    for here in ("https://evil.example/", "//evil.example", "/\\evil.example", "javascript:x"):
        reply = client.post("/preferences", data={"here": here, "language": "de"})
        assert reply.headers["location"] == "/" or reply.headers["location"].startswith("/"), here
        assert "evil" not in reply.headers["location"]

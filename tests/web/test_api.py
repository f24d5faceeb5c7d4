"""The JSON interface: what it says of itself, and how it bears nonsense."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import httpx
import pytest

from sunpantry.web.openapi import openapi_document
from sunpantry.web.views.api import ROUTES

pytestmark = pytest.mark.regression


def test_every_route_is_described() -> None:
    """Paths and methods of the document are those of the routes."""
    described = {
        (path, method.upper())
        for path, methods in openapi_document()["paths"].items()
        for method in methods
        if method != "parameters"
    }
    served = {(r.path, m) for r in ROUTES for m in (r.methods or ()) if m != "HEAD"}
    assert described == served


def test_design_from_first_to_last(client: httpx.Client, new_design: Callable[..., str]) -> None:
    """Begin, read, change, conflict, undo, plan."""
    design = new_design()
    told = client.get(f"/api/designs/{design}").json()
    assert (told["version"], told["document"]["load"][0]["name"]) == (1, "Lamp")
    document = told["document"]
    document["load"][0]["power"] = "10 W"
    body = {"document": document, "base": 1}
    assert client.put(f"/api/designs/{design}", json=body).json()["version"] == 2
    document["load"][0]["power"] = "11 W"
    clash = client.put(f"/api/designs/{design}", json=body)
    assert clash.status_code == 409
    assert clash.json()["error"]["current"]["version"] == 2
    assert client.post(f"/api/designs/{design}/undo", json={"base": 2}).json()["version"] == 3
    assert len(client.get(f"/api/designs/{design}/versions").json()["versions"]) == 3
    plan = client.get(f"/api/designs/{design}/plan?wait_s=30").json()
    assert plan["state"] in {"fresh", "kept"}
    assert plan["plan"]["proof"]["winters"] == 4
    assert plan["plan"]["wiring"]["runs"]


def test_page_and_command_line_show_the_same_plan(
    client: httpx.Client, new_design: Callable[..., str], hut: str
) -> None:
    """Both faces show one object: the JSON of the page is that of make_plan."""
    from sunpantry.plan import make_plan
    from sunpantry.report.plain import plain
    from sunpantry.report.plan_json import plan_json
    from sunpantry.web.documents import read_document

    told = client.get(f"/api/designs/{new_design()}/plan?wait_s=30").json()["plan"]
    assert told == plain(plan_json(make_plan(read_document(hut))))


def test_problems_are_told_all_at_once(client: httpx.Client) -> None:
    """One shape, one entry for each."""
    text = (
        'schema = 1\n[site]\nlatitude = 95\nlongitude = 0\n[[load]]\nname = "x"\npower = "-1 W"\n'
    )
    reply = client.post("/api/check", json={"text": text})
    assert reply.status_code == 400
    where = {one["where"] for one in reply.json()["error"]["problems"]}
    assert {"site.latitude", "load[1].power"} <= where


@pytest.mark.parametrize(
    "body", [b"", b"[]", b"{", b'"x"', b'{"text": 3}', b"[" * 5000, b'{"document": {"site": 1}}']
)
def test_nonsense_is_refused_in_the_one_shape(client: httpx.Client, body: bytes) -> None:
    """Never a 500."""
    reply = client.post("/api/check", content=body)
    assert reply.status_code == 400
    assert set(reply.json()["error"]) >= {"code", "message", "problems"}


def test_fuzzed_from_its_own_description(page: str) -> None:
    """Schemathesis sends what the document allows and what it forbids: never a 5xx, and replies
    are shaped as described."""
    import schemathesis
    from hypothesis import HealthCheck, Phase, given, settings
    from schemathesis.checks import not_a_server_error
    from schemathesis.specs.openapi.checks import response_schema_conformance

    schema = schemathesis.openapi.from_url(f"{page}/api/openapi.json")
    schema.config.update(base_url=f"{page}/api")
    quick = settings(
        max_examples=12,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        phases=[Phase.explicit, Phase.generate],
        database=None,
    )

    for found in schema.get_all_operations():
        operation: Any = found.ok()  # type: ignore[union-attr]

        @quick
        @given(case=operation.as_strategy())
        def send(case: Any) -> None:
            reply = case.call(timeout=60)
            case.validate_response(reply, checks=[not_a_server_error, response_schema_conformance])

        send()

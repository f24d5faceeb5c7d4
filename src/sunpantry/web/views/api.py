"""The same as JSON, described by /api/openapi.json."""

from __future__ import annotations

import json
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from sunpantry.design.document import MAX_CHARACTERS
from sunpantry.errors import InputError
from sunpantry.report.plain import plain
from sunpantry.store import ConflictError, Version
from sunpantry.web.documents import accept, accept_text, taken_apart
from sunpantry.web.faults import LockedError, fault_body
from sunpantry.web.openapi import openapi_document
from sunpantry.web.views.common import (
    aside,
    design_id_of,
    desk_of,
    settings_of,
    store_of,
    unlocked,
)
from sunpantry.web.views.reading import state_body

MAX_WAIT_S = 30.0


def reply(body: Any, status: int = 200) -> Response:
    """Plain data as JSON."""
    return JSONResponse(plain(body), status)


async def body_of(request: Request) -> dict[str, Any]:
    """JSON object that was sent.

    Raises
    ------
    InputError
        When it is none.
    """
    try:
        body = json.loads(await request.body() or b"{}")
    except (ValueError, RecursionError):
        raise InputError.one("body", "(not JSON)", "a JSON object", "check its syntax") from None
    if not isinstance(body, dict):
        raise InputError.one("body", type(body).__name__, "a JSON object", "wrap it in { }")
    return body


def base_in(body: dict[str, Any]) -> int:
    """Version that a change was made from.

    Raises
    ------
    InputError
        When it is missing.
    """
    base = body.get("base")
    if not isinstance(base, int) or isinstance(base, bool) or not 1 <= base < 2**31:
        raise InputError.one("base", base, "the number of the version you changed", "send it")
    return base


def version_json(version: Version) -> dict[str, Any]:
    """A version as plain data."""
    return {
        "id": version.design_id,
        "version": version.number,
        "name": version.name,
        "note": version.note,
        "step": version.step.value,
        "saved_at": version.saved_at.isoformat(),
    }


async def openapi(request: Request) -> Response:
    """Describe this interface."""
    del request
    return JSONResponse(openapi_document())


async def examples(request: Request) -> Response:
    """Situations to start from."""
    from sunpantry.examples import examples as shipped

    del request
    return reply({"examples": [plain(one) for one in shipped()]})


async def loads(request: Request) -> Response:
    """Ordinary loads."""
    from sunpantry.web.shelves import load_groups

    del request
    return reply({"groups": load_groups()})


async def parts(request: Request) -> Response:
    """The parts list."""
    from sunpantry.web.shelves import part_options

    del request
    return reply({"parts": part_options()})


async def places(request: Request) -> Response:
    """Places that answer to a name, or begin with what was typed of it so far."""
    from sunpantry.sky.gazetteer import find_places, offer_places

    words = request.query_params.get("q", "")[:200]
    found = await aside(offer_places, words) or await aside(find_places, words)
    rows = [
        {"name": one.label, "latitude": one.latitude, "longitude": one.longitude}
        for one in found[:20]
    ]
    return reply({"places": rows})


async def designs(request: Request) -> Response:
    """List saved designs, or begin a new one."""
    store = store_of(request)
    if request.method == "POST":
        design, text = await _sent(request, await body_of(request))
        made = await aside(store.create, text, name=design, note="API")
        return reply(version_json(made), 201)
    if not unlocked(request):
        raise LockedError("the list of designs needs the token")
    rows = [
        {
            "id": one.design_id,
            "name": one.name,
            "versions": one.versions,
            "changed_at": one.changed_at.isoformat(),
        }
        for one in await aside(store.designs)
    ]
    return reply({"designs": rows})


async def _sent(request: Request, body: dict[str, Any]) -> tuple[str, str]:
    """Name and text of a document that was sent as text or taken apart."""
    settings = settings_of(request)
    text, document = body.get("text"), body.get("document")
    if isinstance(text, str) and len(text) <= MAX_CHARACTERS:
        design, written = await aside(accept_text, text, settings, source="text")
        return design.name, written
    if isinstance(document, dict):
        design, written = await aside(accept, document, settings)
        return design.name, written
    raise InputError.one("body", "neither", "'text' (TOML) or 'document' (an object)", "send one")


async def design(request: Request) -> Response:
    """Read the current version, or save a new one."""
    design_id, store = await design_id_of(request), store_of(request)
    if request.method == "PUT":
        body = await body_of(request)
        name, text = await _sent(request, body)
        try:
            saved = await aside(store.save, design_id, text, base=base_in(body), name=name)
        except ConflictError as conflict:
            return _conflict(conflict)
        return reply(version_json(saved))
    head = await aside(store.head, design_id)
    document = await aside(taken_apart, head.version.document)
    return reply(
        {
            **version_json(head.version),
            "undo_to": head.undo_to,
            "redo_to": head.redo_to,
            "text": head.version.document,
            "document": document,
        }
    )


def _conflict(conflict: ConflictError) -> Response:
    body = fault_body("conflict", str(conflict))
    body["error"]["current"] = version_json(conflict.current)
    return JSONResponse(body, 409)


async def versions(request: Request) -> Response:
    """All versions of a design."""
    design_id = await design_id_of(request)
    history = await aside(store_of(request).history, design_id)
    return reply({"versions": [version_json(one) for one in history]})


async def undo(request: Request) -> Response:
    """Step back."""
    return await _stepped(request, store_of(request).undo)


async def redo(request: Request) -> Response:
    """Step forward."""
    return await _stepped(request, store_of(request).redo)


async def _stepped(request: Request, step: Any) -> Response:
    design_id = request.path_params["design_id"]
    base = base_in(await body_of(request))
    try:
        return reply(version_json(await aside(step, design_id, base=base)))
    except ConflictError as conflict:
        return _conflict(conflict)


async def plan(request: Request) -> Response:
    """The plan of the current version; 202 while parts are being chosen."""
    design_id = await design_id_of(request)
    saved = await aside(store_of(request).head, design_id)
    try:
        wait_s = min(max(float(request.query_params.get("wait_s", "1")), 0.0), MAX_WAIT_S)
    except ValueError:
        raise InputError.one(
            "wait_s", request.query_params["wait_s"][:40], "seconds, 0 to 30", "write a number"
        ) from None
    shown = await desk_of(request).show(design_id, saved.version.document, wait_s=wait_s)
    state = state_body(saved.version.number, shown)
    if shown.refused is not None:
        body = fault_body("refused", shown.refused.words, shown.refused.problems)
        return JSONResponse(body, 422)
    if shown.whole is None:
        return reply(state, 202)
    return reply({**state, "plan": shown.whole.plan})


async def check(request: Request) -> Response:
    """Say whether a document can be used, without saving it."""
    name, text = await _sent(request, await body_of(request))
    return reply({"name": name, "text": text})


ROUTES = [
    Route("/openapi.json", openapi, name="openapi"),
    Route("/examples", examples),
    Route("/loads", loads),
    Route("/parts", parts),
    Route("/places", places, name="places"),
    Route("/check", check, methods=["POST"]),
    Route("/designs", designs, methods=["GET", "POST"]),
    Route("/designs/{design_id}", design, methods=["GET", "PUT"]),
    Route("/designs/{design_id}/versions", versions),
    Route("/designs/{design_id}/undo", undo, methods=["POST"]),
    Route("/designs/{design_id}/redo", redo, methods=["POST"]),
    Route("/designs/{design_id}/plan", plan),
]

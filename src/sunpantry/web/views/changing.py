"""Changing a design: by its forms, by its text, by putting two changes together."""

from __future__ import annotations

import asyncio
import tomllib
from collections.abc import Coroutine
from typing import Any, TypeVar

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from sunpantry.design import write_design
from sunpantry.errors import InputError, Problem
from sunpantry.phrases import phrase
from sunpantry.store import Clash, ConflictError, Step, Version, merge_documents
from sunpantry.web.answer import Glance
from sunpantry.web.contexts import MergePage, TextPage
from sunpantry.web.documents import accept, accept_text, taken_apart
from sunpantry.web.edits import EDITS
from sunpantry.web.faults import fault_body, wants_json
from sunpantry.web.render import Frame, environment, frame_of, render
from sunpantry.web.tasks import Refused
from sunpantry.web.views.common import (
    aside,
    back_to,
    base_of,
    design_page,
    desk_of,
    document_of,
    edit_name,
    form_of,
    settings_of,
    store_of,
    terms_of,
)

T = TypeVar("T")


async def change(request: Request) -> Response:
    """Save the change of one form as a new version."""
    design_id, store = request.path_params["design_id"], store_of(request)
    name, form = edit_name(request, EDITS), await form_of(request)
    saved = await aside(store.head, design_id)
    base = base_of(form, saved.version.number)
    before = await aside(store.version, design_id, base)
    document = await aside(document_of, before)
    frame_of(request)  # the note is written in the reader's language
    try:
        note = await aside(EDITS[name], document, form)
        design, text = await aside(accept, document, settings_of(request))
    except InputError as error:
        if wants_json(request):
            raise
        return await design_page(request, saved, document=document, problems=error.problems)
    try:
        await aside(store.save, design_id, text, base=base, name=design.name, note=note)
    except ConflictError as conflict:
        return merge_page(request, conflict.base, conflict.current, text)
    return back_to(request, design_id, at=form.get("at", ""))


async def glance(request: Request) -> Response:
    """Answer a change that is not saved yet, while it is being typed."""
    design_id, store = request.path_params["design_id"], store_of(request)
    name, form = edit_name(request, EDITS), await form_of(request)
    saved = await aside(store.head, design_id)
    before = await aside(store.version, design_id, base_of(form, saved.version.number))
    document = await aside(document_of, before)
    frame = frame_of(request)  # bare numbers are in the reader's units
    try:
        await aside(EDITS[name], document, form)
        _, text = await aside(accept, document, settings_of(request))
    except InputError as error:
        words = phrase("some things have to be mended")
        return _not_yet(frame, 400, "input", words, error.problems)
    result = await _unless_gone(request, desk_of(request).glance(design_id, text))
    if result is None or (isinstance(result, Refused) and result.anew):
        return JSONResponse({"state": "anew"})
    if isinstance(result, Refused):
        return _not_yet(frame, 422, "refused", result.words, result.problems)
    terms = terms_of(desk_of(request).before(design_id), document)
    return JSONResponse({"state": "kept", **_parts(request, result, document, terms)})


def _not_yet(
    frame: Frame, status: int, code: str, words: str, problems: tuple[Problem, ...]
) -> Response:
    """Why there is no quick answer, and in the words of the form what to mend first."""
    said = f"{frame.called(problems[0].where)}: {frame.to_mend(problems[0])}" if problems else ""
    return JSONResponse({**fault_body(code, words, problems), "said": said}, status)


async def _unless_gone(request: Request, work: Coroutine[Any, Any, T]) -> T | None:
    """Result of some work, which is dropped when the reader has typed on and asks anew."""
    task, gone = asyncio.create_task(work), asyncio.ensure_future(request.receive())
    try:
        await asyncio.wait({task, gone}, return_when=asyncio.FIRST_COMPLETED)
        return await task if task.done() else None
    finally:
        task.cancel()
        gone.cancel()


def _parts(
    request: Request, result: Glance, document: dict[str, Any], terms: tuple[str, str]
) -> dict[str, Any]:
    """The parts of the page that a quick answer renews."""
    frame = frame_of(request, timezone=terms[0], currency=terms[1])
    templates = environment()
    given = {"frame": frame, "glance": result, "said": frame.numbers.told(result.verdict)}
    return {
        "verdict": templates.get_template("parts/verdict_words.html").render(**given),
        "picture": templates.get_template("parts/picture.html").render(**given),
        "shares": [frame.numbers.percent(one.share) for one in result.loads],
        "took_ms": round(result.took_s * 1000.0),
        "name": str(document.get("name", "")),
    }


async def choose(request: Request) -> Response:
    """Choose the parts that are open anew."""
    design_id = request.path_params["design_id"]
    saved = await aside(store_of(request).head, design_id)
    desk_of(request).search_again(design_id, saved.version.document)
    return back_to(request, design_id, at="verdict")


async def stop(request: Request) -> Response:
    """Stop the search; the best so far is shown."""
    design_id = request.path_params["design_id"]
    desk_of(request).end_search(design_id)
    return back_to(request, design_id, at="verdict")


async def text(request: Request) -> Response:
    """Change the document by hand."""
    design_id, store = request.path_params["design_id"], store_of(request)
    saved = await aside(store.head, design_id)
    if request.method in {"GET", "HEAD"}:
        page = TextPage(design_id, saved.version.number, saved.version.document)
        return render(request, page)
    form = await form_of(request)
    written = form.get("text", "").replace("\r\n", "\n")
    base = base_of(form, saved.version.number)
    try:
        design, written = await aside(
            accept_text, written, settings_of(request), source="design.toml"
        )
    except InputError as error:
        return render(request, TextPage(design_id, base, written, error.problems), 400)
    try:
        await aside(store.save, design_id, written, base=base, name=design.name, note="TOML")
    except ConflictError as conflict:
        return merge_page(request, conflict.base, conflict.current, written)
    return back_to(request, design_id)


def merge_page(request: Request, base: Version, current: Version, mine: str) -> Response:
    """Ask what is to become of two changes."""
    merged = ""
    clashes: tuple[Clash, ...] = ()
    try:
        both = merge_documents(
            taken_apart(base.document), taken_apart(mine), taken_apart(current.document)
        )
        clashes = both.clashes
        merged = write_design(accept(both.document, settings_of(request))[0])
    except (InputError, tomllib.TOMLDecodeError):
        merged = ""
    page = MergePage(
        design_id=current.design_id,
        base=base,
        current=current,
        mine=mine,
        merged=merged,
        clashes=clashes,
    )
    return render(request, page, 409)


async def merge(request: Request) -> Response:
    """Save what was decided."""
    design_id, store = request.path_params["design_id"], store_of(request)
    form = await form_of(request)
    saved = await aside(store.head, design_id)
    choice = form.get("choice", "theirs")
    if choice == "theirs":
        return back_to(request, design_id)
    written = form.get(choice, "").replace("\r\n", "\n")
    design, written = await aside(accept_text, written, settings_of(request), source=choice)
    base = base_of(form, saved.version.number)
    try:
        await aside(
            store.save,
            design_id,
            written,
            base=base,
            name=design.name,
            note=choice,
            step=Step.MERGED,
        )
    except ConflictError as conflict:
        return merge_page(request, conflict.base, conflict.current, written)
    return back_to(request, design_id)

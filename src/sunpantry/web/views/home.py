"""The first question, and beginning a design."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterable
from typing import Any

from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import Response

from sunpantry.errors import InputError, Problem
from sunpantry.examples import example
from sunpantry.language import gettext as _
from sunpantry.web.contexts import HomePage
from sunpantry.web.documents import accept, accept_text
from sunpantry.web.edits import add_load
from sunpantry.web.edits_site import change_place
from sunpantry.web.render import frame_of, render
from sunpantry.web.shelves import load_groups
from sunpantry.web.situations import situations
from sunpantry.web.views.common import aside, back_to, form_of, settings_of, store_of, unlocked


async def home(request: Request) -> Response:
    """Ask what must run."""
    return await _home(request)


async def _home(
    request: Request,
    *,
    problems: Iterable[Problem] = (),
    entered: dict[str, str] | None = None,
) -> Response:
    designs = await aside(store_of(request).designs) if unlocked(request) else ()
    listed = {one.where: one for one in problems}
    frame_of(request)  # the situations are told in the reader's language
    page = HomePage(
        situations=situations(),
        designs=designs,
        library=load_groups(),
        problems=listed,
        entered=entered or {},
    )
    return render(request, page, 400 if listed else 200)


async def start(request: Request) -> Response:
    """Begin a design with one load and a place, or empty."""
    form = await form_of(request)
    frame_of(request)  # names and mistakes are told in the reader's language
    document: dict[str, Any] = {"schema": 1, "name": ""}
    problems: list[Problem] = []
    try:
        await aside(change_place, document, form)
    except InputError as error:
        problems += error.problems
    if form.get("name", "").strip():
        add_load(document, form)
    document["name"] = (
        form.get("name", "").strip() or form.get("place", "").strip() or _("My system")
    )
    if not problems:
        try:
            design, text = await aside(accept, document, settings_of(request))
        except InputError as error:
            problems += error.problems
        else:
            made = await aside(store_of(request).create, text, name=design.name)
            return back_to(request, made.design_id)
    return await _home(request, problems=problems, entered=form)


async def start_from(request: Request) -> Response:
    """Begin a design from one of the shipped situations."""
    shipped = example(request.path_params["example"])
    frame_of(request)  # it is named in the reader's language
    title = _(shipped.title)
    text = shipped.text.replace(_in_toml(shipped.title), _in_toml(title), 1)
    made = await aside(store_of(request).create, text, name=title, note=shipped.name)
    return back_to(request, made.design_id)


def _in_toml(text: str) -> str:
    """A text as TOML and JSON both write it."""
    return json.dumps(text, ensure_ascii=False)


async def upload(request: Request) -> Response:
    """Begin a design from a file."""
    frame_of(request)  # mistakes are told in the reader's language
    async with request.form(max_files=1, max_fields=5) as form:
        file = form.get("file")
        if not isinstance(file, UploadFile) or not file.filename:
            problem = Problem("file", _("(none)"), _("a design file"), _("choose one first"))
            return await _home(request, problems=[problem])
        content, name = await file.read(), file.filename
    try:
        text = content.decode("utf-8-sig")
        tomllib.loads(text)
    except (ValueError, RecursionError) as error:  # also of a number of thousands of digits
        line = f" ({error})" if isinstance(error, tomllib.TOMLDecodeError) else ""
        problem = Problem(
            "file", name[:80], _("a design file"), _("take one that was downloaded here") + line
        )
        return await _home(request, problems=[problem])
    try:
        design, text = await aside(accept_text, text, settings_of(request), source=name[:80])
    except InputError as error:
        listed = [Problem("file", str(one), "", "") for one in error.problems]
        return await _home(request, problems=listed)
    made = await aside(store_of(request).create, text, name=design.name, note=name)
    return back_to(request, made.design_id)

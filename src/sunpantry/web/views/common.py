"""What the views share."""

from __future__ import annotations

import copy
from collections.abc import Callable, Iterable
from functools import lru_cache
from typing import Any, ParamSpec, TypeVar

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from sunpantry.errors import InputError, Problem
from sunpantry.phrases import phrase
from sunpantry.store import Saved, Store, Version
from sunpantry.web import guard
from sunpantry.web.answer import Answer
from sunpantry.web.contexts import DesignPage
from sunpantry.web.counts import whole_number
from sunpantry.web.desk import Desk, Shown
from sunpantry.web.documents import taken_apart
from sunpantry.web.faults import LockedError
from sunpantry.web.next_steps import next_steps
from sunpantry.web.recent import Recent
from sunpantry.web.render import frame_of, render
from sunpantry.web.settings import Settings
from sunpantry.web.shelves import load_groups, part_options
from sunpantry.web.whys import Whys

P = ParamSpec("P")
T = TypeVar("T")
MAX_FIELDS = 200


def settings_of(request: Request) -> Settings:
    """Settings of the page."""
    found: Settings = request.app.state.settings
    return found


def desk_of(request: Request) -> Desk:
    """Answers and work."""
    found: Desk = request.app.state.desk
    return found


def store_of(request: Request) -> Store:
    """Saved designs."""
    found: Store = request.app.state.store
    return found


async def aside(work: Callable[P, T], *arguments: P.args, **named: P.kwargs) -> T:
    """Do something that waits for the disk or computes a little, in another thread."""
    return await run_in_threadpool(work, *arguments, **named)


async def form_of(request: Request) -> dict[str, str]:
    """Text fields of a form; of several of one name the last counts."""
    form = await request.form(max_files=0, max_fields=MAX_FIELDS)
    return {key: value for key, value in form.items() if isinstance(value, str)}


def unlocked(request: Request) -> bool:
    """Whether the reader may change things, and see the list of designs."""
    return guard.unlocked(settings_of(request), request.cookies)


async def design_id_of(request: Request) -> str:
    """The design a request is about, if the reader may see it.

    Raises
    ------
    LockedError
        When neither the token nor a link to this design was given.
    """
    design_id: str = request.path_params["design_id"]
    if unlocked(request):
        return design_id
    secret = request.query_params.get("link", "")
    if secret and await aside(store_of(request).shared, secret) == design_id:
        return design_id
    raise LockedError(phrase("this page is open to whoever has its link or the token"))


@lru_cache(maxsize=256)
def _apart(text: str) -> dict[str, Any]:
    return taken_apart(text)


def document_of(version: Version) -> dict[str, Any]:
    """Keys and values of a version, free to be changed."""
    return copy.deepcopy(_apart(version.document))


def base_of(form: dict[str, str], otherwise: int) -> int:
    """Version that a form was filled in for."""
    return whole_number(form.get("base", "")) or otherwise


def back_to(request: Request, design_id: str, *, at: str = "") -> Response:
    """Send the reader back to the design after a change."""
    address = str(request.app.url_path_for("design", design_id=design_id))
    return RedirectResponse(f"{address}#{at}" if at else address, status_code=303)


def terms_of(shown: Shown, document: dict[str, Any]) -> tuple[str, str]:
    """Time zone and currency that numbers of a design are written for."""
    money = document.get("money")
    currency = money.get("currency", "EUR") if isinstance(money, dict) else "EUR"
    if not (isinstance(currency, str) and len(currency) == 3 and currency.isalpha()):
        currency = "EUR"
    timezone = "" if shown.answer is None else str(shown.answer.plan["site"]["timezone"])
    return timezone, currency


async def design_page(
    request: Request,
    saved: Saved,
    *,
    document: dict[str, Any] | None = None,
    problems: Iterable[Problem] = (),
    new_link: str = "",
    secret: str = "",
) -> Response:
    """Render a design, with what has to be mended where something has."""
    version = saved.version
    listed = tuple(problems)
    soon = request.headers.get("sec-fetch-dest") == "empty"  # a script comes back for the rest
    shown = await desk_of(request).show(version.design_id, version.document, soon=soon)
    links = await aside(store_of(request).links, version.design_id)
    whole = shown.fraction is None and shown.whole is not None
    settled = whole and document is None and not (listed or new_link)
    kept: Recent[tuple[Answer | None, Response]] = request.app.state.rendered
    key = repr((request.url.path, request.url.query, request.cookies, saved, links, shown.state))
    key += request.headers.get("accept-language", "")
    before = kept.look(key) if settled else None
    if before is not None and before[0] is shown.answer:
        return before[1]
    # no waiting from here on: of many readers who come at once, the first makes the page for all
    document = document if document is not None else document_of(version)
    frame_of(request)  # the next steps are told in the reader's language
    page = DesignPage(
        design_id=version.design_id,
        saved=saved,
        document=document,
        shown=shown,
        whys=Whys(shown.answer),
        steps=() if listed else next_steps(shown),
        library=load_groups(),
        options=part_options(),
        problems={one.where: one for one in listed},
        loose=listed,
        links=links,
        new_link=new_link,
        read_only=bool(secret) or not unlocked(request),
        secret=secret,
    )
    timezone, currency = terms_of(shown, document)
    status = 400 if listed else 200
    response = render(request, page, status, timezone=timezone, currency=currency)
    if settled:
        kept.put(key, (shown.answer, response))
    return response


def edit_name(request: Request, known: Iterable[str]) -> str:
    """Name of the edit in the address.

    Raises
    ------
    InputError
        When there is no such edit.
    """
    name: str = request.path_params["edit"]
    if name not in set(known):
        raise InputError.one(
            "change", name, phrase("a change that a form makes"), phrase("load the page again")
        )
    return name

"""Looking at a design."""

from __future__ import annotations

from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from sunpantry.web import looks
from sunpantry.web.chart_contexts import ChartShown, PicturesPage
from sunpantry.web.contexts import WorkingsPage
from sunpantry.web.desk import Shown
from sunpantry.web.render import render
from sunpantry.web.tasks import digest
from sunpantry.web.views.common import (
    aside,
    design_id_of,
    design_page,
    desk_of,
    document_of,
    store_of,
    terms_of,
)
from sunpantry.web.views.sources import PLAIN_WAIT_S, NotYetError, look_of, plan_source, told
from sunpantry.web.whys import Whys


async def design(request: Request) -> Response:
    """Tell a design as a story."""
    design_id = await design_id_of(request)
    saved = await aside(store_of(request).head, design_id)
    return await design_page(request, saved, secret=request.query_params.get("link", ""))


async def shared(request: Request) -> Response:
    """The same through a read-only link."""
    secret = request.path_params["secret"]
    design_id = await aside(store_of(request).shared, secret)
    saved = await aside(store_of(request).head, design_id)
    return await design_page(request, saved, secret=secret)


async def state(request: Request) -> Response:
    """How far the answer is, for the page to ask now and then."""
    design_id = await design_id_of(request)
    saved = await aside(store_of(request).head, design_id)
    shown = await desk_of(request).show(design_id, saved.version.document, wait_s=0.05, soon=True)
    return JSONResponse(state_body(saved.version.number, shown))


def state_body(number: int, shown: Shown) -> dict[str, Any]:
    """State of an answer as plain data."""
    return {
        "version": number,
        "state": shown.state,
        "fraction": None if shown.fraction is None else round(shown.fraction, 3),
        "waiting": shown.waiting,
        "first": shown.first,
    }


async def pictures(request: Request) -> Response:
    """All charts."""
    design_id, number, text, found = await plan_source(request)
    look = look_of(request)
    worker = desk_of(request).workers.of(design_id)
    made = told(await worker.run(looks.charts, text, found, look))
    shown = await desk_of(request).show(design_id, text)
    winters = 0 if shown.answer is None else shown.answer.glance.winters
    page = PicturesPage(
        design_id=design_id,
        number=number,
        name=(await aside(store_of(request).version, design_id, number)).name,
        charts=tuple(ChartShown(name, title, alt) for name, title, alt, _ in made),
        look=look,
        winters=winters,
        stamp=digest(f"{text}{found.key}{look.language}{look.locale}")[:10],
        secret=request.query_params.get("link", ""),
    )
    return render(request, page)


async def workings(request: Request) -> Response:
    """Every number with its working."""
    design_id = await design_id_of(request)
    saved = await aside(store_of(request).head, design_id)
    shown = await desk_of(request).show(design_id, saved.version.document, wait_s=PLAIN_WAIT_S)
    if shown.answer is None:
        words = shown.refused.words if shown.refused else "the parts are still being chosen"
        raise NotYetError(words)
    sections = tuple(Whys(shown.answer).sections.values())
    page = WorkingsPage(design_id=design_id, name=saved.version.name, sections=sections)
    timezone, currency = terms_of(shown, await aside(document_of, saved.version))
    return render(request, page, timezone=timezone, currency=currency)

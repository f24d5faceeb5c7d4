"""History, undo, redo, duplicates, links."""

from __future__ import annotations

from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from sunpantry.errors import InputError
from sunpantry.language import gettext as _
from sunpantry.store import ConflictError, Version
from sunpantry.web.contexts import HistoryPage
from sunpantry.web.counts import whole_number
from sunpantry.web.documents import accept
from sunpantry.web.render import frame_of, render
from sunpantry.web.views.common import (
    aside,
    back_to,
    base_of,
    design_id_of,
    design_page,
    document_of,
    form_of,
    settings_of,
    store_of,
)


async def undo(request: Request) -> Response:
    """Step back."""
    return await _stepped(request, store_of(request).undo)


async def redo(request: Request) -> Response:
    """Step forward again."""
    return await _stepped(request, store_of(request).redo)


async def _stepped(request: Request, step: Callable[..., Version]) -> Response:
    design_id, form = request.path_params["design_id"], await form_of(request)
    saved = await aside(store_of(request).head, design_id)
    try:
        await aside(step, design_id, base=base_of(form, saved.version.number))
    except ConflictError:
        # somebody else saved: show what is there now, nothing was done
        return back_to(request, design_id, at="verdict")
    return back_to(request, design_id)


async def history(request: Request) -> Response:
    """List all versions."""
    design_id = await design_id_of(request)
    versions = await aside(store_of(request).history, design_id)
    return render(request, HistoryPage(design_id, versions))


async def take_up(request: Request) -> Response:
    """Take up an older version again."""
    design_id, form = request.path_params["design_id"], await form_of(request)
    store = store_of(request)
    saved = await aside(store.head, design_id)
    number = whole_number(form.get("number", "")) or saved.version.number
    await aside(store.return_to, design_id, number, base=saved.version.number)
    return back_to(request, design_id)


async def duplicate(request: Request) -> Response:
    """Begin a new design from this one."""
    design_id, form = request.path_params["design_id"], await form_of(request)
    saved = await aside(store_of(request).head, design_id)
    frame_of(request)  # its name is made in the reader's language
    name = form.get("name", "").strip() or _("%(name)s, copy") % {"name": saved.version.name}
    document = await aside(document_of, saved.version)
    document["name"] = name  # there too: the verdict and the next save go by it
    try:
        text = (await aside(accept, document, settings_of(request)))[1]
    except InputError:  # it is as wrong as it was, and still to be copied
        text = saved.version.document
    made = await aside(store_of(request).duplicate, design_id, name=name, document=text)
    return back_to(request, made.design_id)


async def remove(request: Request) -> Response:
    """Take a design off the list; it stays in the store."""
    design_id, form = request.path_params["design_id"], await form_of(request)
    store = store_of(request)
    await aside(store.bring_back if form.get("back") else store.remove, design_id)
    return RedirectResponse(str(request.app.url_path_for("home")), status_code=303)


async def share(request: Request) -> Response:
    """Make a read-only link."""
    design_id = request.path_params["design_id"]
    secret = await aside(store_of(request).share, design_id)
    saved = await aside(store_of(request).head, design_id)
    return await design_page(request, saved, new_link=str(request.url_for("shared", secret=secret)))


async def unshare(request: Request) -> Response:
    """End all read-only links."""
    design_id = request.path_params["design_id"]
    await aside(store_of(request).end_sharing, design_id)
    return back_to(request, design_id, at="sheet")

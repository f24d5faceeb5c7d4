"""Two designs or versions beside each other."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from starlette.requests import Request
from starlette.responses import Response

from sunpantry.language import gettext as _
from sunpantry.phrases import phrase
from sunpantry.store import Version
from sunpantry.web.contexts import ComparePage, Difference, Side
from sunpantry.web.counts import whole_number
from sunpantry.web.faults import LockedError
from sunpantry.web.render import frame_of, render
from sunpantry.web.views.common import aside, desk_of, document_of, store_of, terms_of, unlocked
from sunpantry.web.whereabouts import called, called_in_full


async def compare(request: Request) -> Response:
    """Show what differs, and what follows from it."""
    if not unlocked(request):
        raise LockedError(phrase("comparing needs the token"))
    store = store_of(request)
    left, right = (request.query_params.get(key, "") for key in ("left", "right"))
    sides = []
    if left and right:
        for chosen in (left, right):
            version = await aside(_version, request, chosen)
            shown = await desk_of(request).show(version.design_id, version.document)
            sides.append(Side(version, shown))
    differences: tuple[Difference, ...] = ()
    timezone, currency = "", "EUR"
    if sides:
        frame_of(request)  # what differs is told in the reader's language
        documents = [document_of(side.version) for side in sides]
        differences = tuple(differing(documents[0], documents[1]))
        timezone, currency = terms_of(sides[0].shown, documents[0])
    page = ComparePage(
        sides=tuple(sides),
        differences=differences,
        designs=await aside(store.designs),
        left=left,
        right=right,
    )
    return render(request, page, timezone=timezone, currency=currency)


def _version(request: Request, chosen: str) -> Version:
    design_id, _, written = chosen.partition(":")
    store = store_of(request)
    number = whole_number(written)
    if number is not None:
        return store.version(design_id, number)
    return store.head(design_id).version


def differing(left: Any, right: Any, where: str = "") -> Iterator[Difference]:
    """Walk two documents, and yield every key in which they differ.

    Parameters
    ----------
    left, right : object
        Documents, or parts of them.
    where : str
        Key that leads here.
    """
    if left == right:
        return
    if isinstance(left, Mapping) and isinstance(right, Mapping):
        for key in dict.fromkeys([*left, *right]):
            inner = f"{where}.{key}" if where else str(key)
            yield from differing(left.get(key, ""), right.get(key, ""), inner)
        return
    if _is_rows(left) or _is_rows(right):
        yield from differing(_named(left), _named(right), where)
        return
    yield Difference(called_in_full(where), _words(left), _words(right))


def _is_rows(value: Any) -> bool:
    return isinstance(value, list) and bool(value) and isinstance(value[0], Mapping)


def _named(rows: Any) -> dict[str, Any]:
    if not isinstance(rows, list):
        return {}
    return {str(row.get("name", place)): row for place, row in enumerate(rows, start=1)}


def _words(value: Any) -> str:
    if isinstance(value, Mapping):
        told = (f"{called(key)} {_words(one)}" for key, one in value.items() if key != "name")
        return ", ".join(told)
    if isinstance(value, list):
        return ", ".join(_words(one) for one in value)
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    return str(value)

"""What pictures and files are made from."""

from __future__ import annotations

from typing import TypeVar

from starlette.requests import Request

from sunpantry.errors import InputError, SunpantryError
from sunpantry.phrases import phrase
from sunpantry.web.counts import whole_number
from sunpantry.web.looks import Look
from sunpantry.web.render import frame_of
from sunpantry.web.tasks import Found, Refused
from sunpantry.web.views.common import aside, design_id_of, desk_of, store_of

T = TypeVar("T")
PLAIN_WAIT_S = 20.0
MOST_WINTERS = 1000
LENGTHS = (1, 7, 30)  # days of the closer look


class NotYetError(SunpantryError):
    """There is no answer to show yet."""


def look_of(request: Request) -> Look:
    """How the reader wants a picture to look."""
    asked, frame = request.query_params, frame_of(request)

    def number(key: str, most: int) -> int | None:
        return whole_number(asked.get(key, ""), most) or None

    days = number("days", max(LENGTHS)) or LENGTHS[1]
    return Look(
        theme="dark" if asked.get("theme") == "dark" else "light",
        locale=frame.numbers.locale if frame.language != "en" else None,
        winter=number("winter", MOST_WINTERS),
        month=number("month", 12),
        day=number("day", 31),
        days=days if days in LENGTHS else LENGTHS[1],
        language=frame.language,
        narrow=asked.get("narrow") == "yes",
    )


async def plan_source(request: Request) -> tuple[str, int, str, Found]:
    """Design, version, document and chosen parts behind a picture or a file.

    Raises
    ------
    NotYetError
        While there are none.
    """
    design_id = await design_id_of(request)
    store = store_of(request)
    asked = whole_number(request.query_params.get("version", ""))
    if asked is not None:
        version = await aside(store.version, design_id, asked)
    else:
        version = (await aside(store.head, design_id)).version
    desk = desk_of(request)
    found, _ = desk.found(design_id, version.document)
    if found is None:
        shown = await desk.show(design_id, version.document, wait_s=PLAIN_WAIT_S)
        if shown.refused is not None:
            raise NotYetError(shown.refused.words)
        found, _ = desk.found(design_id, version.document)
    if found is None:
        raise NotYetError(phrase("the parts are still being chosen: try again in a moment"))
    return design_id, version.number, version.document, found


def told(result: T | Refused) -> T:
    """Hand on a result, or raise what was refused.

    Raises
    ------
    InputError, NotYetError
        When the worker refused.
    """
    if isinstance(result, Refused):
        if result.problems:
            raise InputError(result.problems)
        raise NotYetError(result.words)
    return result

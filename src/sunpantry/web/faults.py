"""Every refusal in one shape, as JSON for programs and as a page for people."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict
from typing import Any

from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from sunpantry.errors import InputError, Problem, SunpantryError
from sunpantry.phrases import phrase
from sunpantry.store import ConflictError, NotFoundError, StoreError


class LockedError(SunpantryError):
    """The reader has neither the token nor a link."""


def fault_body(code: str, words: str, problems: Iterable[Problem] = ()) -> dict[str, Any]:
    """The one shape of an error.

    Parameters
    ----------
    code : str
        For programs.
    words : str
        For people.
    problems : iterable of Problem
        Everything that is to be mended, one by one.
    """
    return {
        "error": {"code": code, "message": words, "problems": [asdict(one) for one in problems]}
    }


def wants_json(request: Request) -> bool:
    """Whether a program is asking: below /api, or with JSON preferred."""
    if request.url.path.startswith("/api/"):
        return True
    return request.headers.get("accept", "").startswith("application/json")


def fault_response(
    request: Request, status: int, code: str, words: str, problems: Iterable[Problem] = ()
) -> Response:
    """Answer with a refusal."""
    listed = tuple(problems)
    if wants_json(request):
        return JSONResponse(fault_body(code, words, listed), status)
    from sunpantry.web.contexts import FaultPage
    from sunpantry.web.render import render

    return render(request, FaultPage(status=status, message=words, problems=listed), status)


def fault_of(error: SunpantryError) -> tuple[int, str, tuple[Problem, ...]]:
    """Status, code and problems that an error is told with."""
    if isinstance(error, InputError):
        return 400, "input", error.problems
    if isinstance(error, NotFoundError):
        return 404, "not_found", ()
    if isinstance(error, LockedError):
        return 401, "token_needed", ()
    if isinstance(error, ConflictError):
        return 409, "conflict", ()
    if isinstance(error, StoreError):
        return 503, "store", ()
    return 422, "cannot_be_answered", ()


async def on_sunpantry_error(request: Request, error: Exception) -> Response:
    """Tell an error that was raised on purpose."""
    if not isinstance(error, SunpantryError):
        raise error
    status, code, problems = fault_of(error)
    words = phrase("some things have to be mended") if problems else str(error)
    return fault_response(request, status, code, words, problems)


async def on_http_error(request: Request, error: Exception) -> Response:
    """Tell what the router refuses: no such page, no such method, a form that cannot be read."""
    status = int(getattr(error, "status_code", 500))
    codes = {404: "not_found", 405: "method", 400: "malformed"}
    words = {
        404: phrase("there is nothing here"),
        405: phrase("this can only be asked for in another way"),
    }
    return fault_response(
        request,
        status,
        codes.get(status, "refused"),
        words.get(status, phrase("this cannot be read")),
    )


async def on_any_error(request: Request, error: Exception) -> Response:
    """Tell a mistake of our own; the details go to the log, not to the reader."""
    del error
    return fault_response(
        request, 500, "internal", phrase("something went wrong here; nothing was lost")
    )

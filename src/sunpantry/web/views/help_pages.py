"""Words, appearance, and the token."""

from __future__ import annotations

import hmac
from urllib.parse import urlsplit

from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from sunpantry.language import LANGUAGES
from sunpantry.web.contexts import GlossaryPage, UnlockPage
from sunpantry.web.glossary import terms
from sunpantry.web.guard import TOKEN_COOKIE
from sunpantry.web.render import THEMES, UNITS, frame_of, render
from sunpantry.web.views.common import form_of, settings_of

_YEAR_S = 365 * 24 * 3600


async def glossary(request: Request) -> Response:
    """Words and what they mean."""
    frame_of(request)  # they are told in the reader's language
    return render(request, GlossaryPage(terms()))


async def preferences(request: Request) -> Response:
    """Language, units, light or dark: kept in the reader's own browser."""
    form = await form_of(request)
    response = RedirectResponse(_here(form.get("here", "/")), status_code=303)
    choices = {"language": LANGUAGES, "theme": THEMES, "units": UNITS}
    for key, allowed in choices.items():
        if form.get(key) in allowed:
            response.set_cookie(key, form[key], max_age=_YEAR_S, samesite="strict", httponly=True)
    return response


def _here(address: str) -> str:
    """An address on this page and nowhere else."""
    path = urlsplit(address).path
    return path if path.startswith("/") and not path.startswith(("//", "/\\")) else "/"


async def unlock(request: Request) -> Response:
    """Take the token, and remember it in the reader's browser."""
    if request.method in {"GET", "HEAD"}:
        return render(request, UnlockPage())
    form = await form_of(request)
    wanted = settings_of(request).token or ""
    given = form.get("token", "").strip()
    if wanted and not hmac.compare_digest(wanted.encode(), given.encode()):
        return render(request, UnlockPage(wrong=True), 401)
    response = RedirectResponse(str(request.app.url_path_for("home")), status_code=303)
    if wanted:
        response.set_cookie(TOKEN_COOKIE, wanted, samesite="strict", httponly=True)
    return response

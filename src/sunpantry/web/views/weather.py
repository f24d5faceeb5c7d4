"""Weather files: choosing one, sending one, and asking an open service when told to."""

from __future__ import annotations

import asyncio
import logging
import re
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from starlette.datastructures import UploadFile
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from sunpantry.errors import InputError, SunpantryError
from sunpantry.language import gettext as _
from sunpantry.store import ConflictError, Saved
from sunpantry.web import tasks
from sunpantry.web.contexts import WeatherPage
from sunpantry.web.counts import whole_number
from sunpantry.web.documents import accept
from sunpantry.web.edits import EDITS
from sunpantry.web.faults import LockedError
from sunpantry.web.render import frame_of, render
from sunpantry.web.tasks import Refused
from sunpantry.web.views.common import (
    aside,
    back_to,
    desk_of,
    document_of,
    form_of,
    settings_of,
    store_of,
    unlocked,
)

if TYPE_CHECKING:
    from sunpantry.sky.fetch import Progress

ENDINGS = (".epw", ".tm2", ".csv", ".txt")
SERVICE = "NASA POWER"
MOST_LISTED = 100
_log = logging.getLogger("sunpantry.web")


@dataclass
class Asking:
    """A download that goes on, or how the last one ended."""

    words: str = ""
    problem: str = ""
    task: asyncio.Task[None] | None = None

    @property
    def goes_on(self) -> bool:
        """Whether it has not ended."""
        return self.task is not None and not self.task.done()


def _folder(request: Request) -> Path:
    return settings_of(request).data_folder / "weather"


def _listed(folder: Path) -> tuple[str, ...]:
    if not folder.is_dir():
        return ()
    found = (one.name for one in folder.iterdir() if one.suffix.lower() in ENDINGS)
    return tuple(sorted(found)[:MOST_LISTED])


def _asking(request: Request, design_id: str) -> Asking:
    known: dict[str, Asking] = request.app.state.asking
    return known.get(design_id, Asking())


async def weather(request: Request) -> Response:
    """Say where the weather is from, and what else there could be; for whoever may change it."""
    if not unlocked(request):
        raise LockedError("choosing weather files needs the token")
    design_id = request.path_params["design_id"]
    saved = await aside(store_of(request).head, design_id)
    return await _page(request, saved, problem=_asking(request, design_id).problem)


async def _page(
    request: Request, saved: Saved, *, problem: str = "", status: int = 200
) -> Response:
    version = saved.version
    document = await aside(document_of, version)
    going = _asking(request, version.design_id)
    page = WeatherPage(
        design_id=version.design_id,
        name=version.name,
        base=version.number,
        current=str(document.get("site", {}).get("weather_file", "")),
        files=await aside(_listed, _folder(request)),
        folder=str(_folder(request)),
        asking=going.words if going.goes_on else "",
        service=SERVICE,
        problem=problem,
    )
    return render(request, page, status)


async def upload(request: Request) -> Response:
    """Keep a file that was sent, if it can be read for this place, and use it."""
    design_id = request.path_params["design_id"]
    saved = await aside(store_of(request).head, design_id)
    frame_of(request)
    async with request.form(max_files=1, max_fields=5) as form:
        file = form.get("file")
        if not isinstance(file, UploadFile) or not file.filename:
            return await _page(request, saved, problem=_("choose a file first"), status=400)
        content, name = await file.read(), _safe_name(file.filename)
    if Path(name).suffix.lower() not in ENDINGS:
        problem = _("a file ending in %(endings)s is wanted") % {"endings": ", ".join(ENDINGS)}
        return await _page(request, saved, problem=problem, status=400)
    if len(await aside(_listed, _folder(request))) >= MOST_LISTED:
        problem = _("there are too many weather files: take some out of the folder first")
        return await _page(request, saved, problem=problem, status=400)
    path = await aside(_keep, _folder(request), name, content)
    problem = await _use(request, saved, path.name)
    if problem:
        await aside(path.unlink, missing_ok=True)
        return await _page(request, saved, problem=problem, status=400)
    return back_to(request, design_id, at="where")


def _safe_name(name: str) -> str:
    plain = re.sub(r"[^\w.-]+", "-", Path(name.replace("\\", "/")).name).strip(".-")
    return plain[-80:].lstrip(".-") or "weather.csv"


def _keep(folder: Path, name: str, content: bytes) -> Path:
    """Write a file under a name that is free: one that is in use is never changed."""
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    path, count = folder / name, 2
    while path.exists():
        path = folder / f"{Path(name).stem}-{count}{Path(name).suffix}"
        count += 1
    path.write_bytes(content)
    return path


async def _use(request: Request, saved: Saved, file: str) -> str:
    """Save a version that uses a file; returns why it cannot be, or nothing."""
    version = saved.version
    document = await aside(document_of, version)
    note = EDITS["weather"](document, {"weather_file": file})
    try:
        design, text = await aside(accept, document, settings_of(request))
    except InputError as error:
        return str(error)
    read = await desk_of(request).workers.of(version.design_id).run(tasks.weather_read, text)
    if isinstance(read, Refused):
        return "; ".join([read.words, *map(str, read.problems)]) if read.problems else read.words
    try:
        await aside(
            store_of(request).save,
            version.design_id,
            text,
            base=version.number,
            name=design.name,
            note=note,
        )
    except ConflictError:
        return _("somebody else saved this design meanwhile: choose the file again")
    return ""


async def fetch(request: Request) -> Response:
    """Ask the service, after the reader has agreed; the page says how far it is."""
    design_id = request.path_params["design_id"]
    saved = await aside(store_of(request).head, design_id)
    frame_of(request)
    form = await form_of(request)
    if form.get("agreed") != "yes":
        problem = _("nothing was sent: tick the box first")
        return await _page(request, saved, problem=problem, status=400)
    years = whole_number(form.get("years", ""), most=30) or 0
    if years < 2:
        return await _page(request, saved, problem=_("from 2 to 30 years"), status=400)
    if not _asking(request, design_id).goes_on:
        going = Asking(words=_("Asking %(service)s …") % {"service": SERVICE})
        request.app.state.asking[design_id] = going
        going.task = asyncio.create_task(_fetch(request, saved, years, going))
    where = request.app.url_path_for("weather", design_id=design_id)
    return RedirectResponse(str(where), status_code=303)


async def _fetch(request: Request, saved: Saved, years: int, going: Asking) -> None:
    def tell(done: int, wanted: int, sentence: str) -> None:
        going.words = f"{SERVICE}: {done} / {wanted} ({sentence})"

    try:
        path = await aside(_fetched, saved.version.document, _folder(request), years, tell)
        head = await aside(store_of(request).head, saved.version.design_id)
        going.problem = await _use(request, replace(saved, version=head.version), path.name)
    except SunpantryError as error:
        going.problem = str(error)
    except Exception:  # noqa: BLE001 — a mistake of ours must not stay unseen: it is logged
        _log.exception("weather could not be fetched")
        going.problem = "the weather could not be fetched; the reason is in the log"


def _fetched(text: str, folder: Path, years: int, tell: Progress) -> Path:
    from sunpantry.sky.fetch import fetch_weather
    from sunpantry.sky.from_site import place_of
    from sunpantry.web.documents import read_document

    site = read_document(text).site
    kept = fetch_weather(place_of(site), years=years, progress=tell)
    return _keep(folder, kept.name, kept.read_bytes())

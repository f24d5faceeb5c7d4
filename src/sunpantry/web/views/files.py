"""Files to take away: the document, the sheet, the parts list, the pictures."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import asdict
from typing import Any
from urllib.parse import urlencode

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from sunpantry.phrases import phrase
from sunpantry.web import looks, tasks
from sunpantry.web.chart_contexts import ValuesPage
from sunpantry.web.chart_values import values_of
from sunpantry.web.render import frame_of, render
from sunpantry.web.views.common import aside, design_id_of, desk_of, store_of
from sunpantry.web.views.sources import PLAIN_WAIT_S, NotYetError, look_of, plan_source, told

_ASKED = ("winter", "month", "day", "days", "link")
_KEEP = {"cache-control": "private, max-age=86400"}


def file_name(name: str, ending: str) -> str:
    """A name that every system takes, from the name of a design.

    Parameters
    ----------
    name : str
        Of the design.
    ending : str
        With its dot.
    """
    plain = re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-").lower()[:60]
    return f"{plain or 'design'}{ending}"


def _attachment(name: str, ending: str) -> dict[str, str]:
    return {"content-disposition": f'attachment; filename="{file_name(name, ending)}"'}


async def document(request: Request) -> Response:
    """The design document; with every part written down where that is asked for."""
    design_id = await design_id_of(request)
    version = (await aside(store_of(request).head, design_id)).version
    text = version.document
    if request.query_params.get("parts") == "written":
        shown = await desk_of(request).show(design_id, text, wait_s=PLAIN_WAIT_S)
        if shown.whole is None or not shown.whole.pinned:
            raise NotYetError(phrase("the parts are not chosen yet"))
        text = shown.whole.pinned
    return Response(text, media_type="application/toml", headers=_attachment(version.name, ".toml"))


async def parts(request: Request) -> Response:
    """The parts list as CSV."""
    design_id = await design_id_of(request)
    version = (await aside(store_of(request).head, design_id)).version
    shown = await desk_of(request).show(design_id, version.document, wait_s=PLAIN_WAIT_S)
    if shown.whole is None:
        raise NotYetError(phrase("the parts are not chosen yet"))
    out = io.StringIO()
    columns = ("role", "name", "count", "owned", "unit_price", "currency")
    writer = csv.DictWriter(out, columns, extrasaction="ignore", lineterminator="\r\n")
    writer.writeheader()
    for part in shown.whole.plan["parts"]:
        writer.writerow({key: _harmless(value) for key, value in part.items()})
    return Response(
        "\ufeff" + out.getvalue(),
        media_type="text/csv; charset=utf-8",
        headers=_attachment(version.name, "-parts.csv"),
    )


def _harmless(value: Any) -> Any:
    """A cell that no spreadsheet takes for a formula."""
    if isinstance(value, str) and value[:1] in "=+-@\t\r":
        return f"'{value}"
    return "" if value is None else value


async def sheet(request: Request) -> Response:
    """The build sheet as PDF."""
    design_id, number, text, found = await plan_source(request)
    version = await aside(store_of(request).version, design_id, number)
    frame = frame_of(request)
    paper = "letter" if frame.units == "us" else "a4"
    locale = frame.numbers.locale if frame.language != "en" else None
    worker = desk_of(request).workers.of(design_id)
    content = told(await worker.run(tasks.sheet, text, found, paper, locale, frame.language))
    return Response(
        content, media_type="application/pdf", headers=_attachment(version.name, ".pdf")
    )


async def chart_svg(request: Request) -> Response:
    """One chart, drawn."""
    return await _drawn(request, "svg", "image/svg+xml")


async def chart_png(request: Request) -> Response:
    """One chart as a picture to keep."""
    return await _drawn(request, "png", "image/png")


async def _drawn(request: Request, ending: str, media_type: str) -> Response:
    design_id, _, text, found = await plan_source(request)
    worker, name = desk_of(request).workers.of(design_id), request.path_params["name"]
    content = told(await worker.run(looks.picture, text, found, look_of(request), name, ending))
    return Response(content, media_type=media_type, headers=_KEEP)


async def _chart(request: Request) -> tuple[str, str, dict[str, Any]]:
    """Title, words and specification of the chart that is asked for."""
    design_id, _, text, found = await plan_source(request)
    worker = desk_of(request).workers.of(design_id)
    made = told(await worker.run(looks.charts, text, found, look_of(request)))
    for name, title, alt, spec in made:
        if name == request.path_params["name"]:
            return title, alt, spec
    raise HTTPException(404)


async def chart_spec(request: Request) -> Response:
    """One chart as a specification, for the browser to draw, with its values in words."""
    title, alt, spec = await _chart(request)
    tables = [asdict(one) for one in values_of(spec, frame_of(request).numbers)]
    body = {"title": title, "alt": alt, "spec": spec, "values": tables}
    return JSONResponse(body, headers=_KEEP)


async def chart_values(request: Request) -> Response:
    """The values of one chart as tables."""
    title, _, spec = await _chart(request)
    design_id = await design_id_of(request)
    kept = {key: value for key, value in request.query_params.items() if key in _ASKED}
    page = ValuesPage(
        design_id=design_id,
        name=(await aside(store_of(request).head, design_id)).version.name,
        title=title,
        tables=values_of(spec, frame_of(request).numbers),
        back=f"?{urlencode(kept)}" if kept else "",
    )
    return render(request, page)


async def drawing(request: Request) -> Response:
    """The circuit, or the plain picture."""
    design_id = await design_id_of(request)
    version = (await aside(store_of(request).head, design_id)).version
    shown = await desk_of(request).show(design_id, version.document, wait_s=PLAIN_WAIT_S)
    name = request.path_params["name"]
    if shown.answer is None or name not in shown.answer.drawings:
        raise HTTPException(404)
    svgs, wanted = shown.answer.drawings[name].svgs, request.query_params.get("language", "")
    return Response(svgs.get(wanted, svgs["en"]), media_type="image/svg+xml")

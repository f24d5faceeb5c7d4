"""Every address of the page, in one list."""

from __future__ import annotations

from starlette.routing import Mount, Route

from sunpantry.web.static_files import static_file
from sunpantry.web.views import (
    api,
    changing,
    comparing,
    files,
    help_pages,
    home,
    reading,
    versions,
    weather,
)

ROUTES = [
    Route("/", home.home, name="home"),
    Route("/start", home.start, methods=["POST"], name="start"),
    Route("/start/{example}", home.start_from, methods=["POST"], name="start_from"),
    Route("/upload", home.upload, methods=["POST"], name="upload"),
    Route("/designs/{design_id}", reading.design, name="design"),
    Route("/designs/{design_id}/state", reading.state, name="state"),
    Route("/designs/{design_id}/pictures", reading.pictures, name="pictures"),
    Route("/designs/{design_id}/workings", reading.workings, name="workings"),
    Route("/designs/{design_id}/change/{edit}", changing.change, methods=["POST"], name="change"),
    Route("/designs/{design_id}/glance/{edit}", changing.glance, methods=["POST"], name="glance"),
    Route("/designs/{design_id}/weather", weather.weather, name="weather"),
    Route(
        "/designs/{design_id}/weather/upload",
        weather.upload,
        methods=["POST"],
        name="weather_upload",
    ),
    Route(
        "/designs/{design_id}/weather/fetch", weather.fetch, methods=["POST"], name="weather_fetch"
    ),
    Route("/designs/{design_id}/choose", changing.choose, methods=["POST"], name="choose"),
    Route("/designs/{design_id}/stop", changing.stop, methods=["POST"], name="stop"),
    Route("/designs/{design_id}/text", changing.text, methods=["GET", "POST"], name="text"),
    Route("/designs/{design_id}/merge", changing.merge, methods=["POST"], name="merge"),
    Route("/designs/{design_id}/undo", versions.undo, methods=["POST"], name="undo"),
    Route("/designs/{design_id}/redo", versions.redo, methods=["POST"], name="redo"),
    Route("/designs/{design_id}/history", versions.history, name="history"),
    Route("/designs/{design_id}/return", versions.take_up, methods=["POST"], name="return"),
    Route("/designs/{design_id}/duplicate", versions.duplicate, methods=["POST"], name="duplicate"),
    Route("/designs/{design_id}/remove", versions.remove, methods=["POST"], name="remove"),
    Route("/designs/{design_id}/share", versions.share, methods=["POST"], name="share"),
    Route("/designs/{design_id}/unshare", versions.unshare, methods=["POST"], name="unshare"),
    Route("/designs/{design_id}/design.toml", files.document, name="document"),
    Route("/designs/{design_id}/parts.csv", files.parts, name="parts"),
    Route("/designs/{design_id}/sheet.pdf", files.sheet, name="sheet"),
    Route("/designs/{design_id}/chart/{name}.svg", files.chart_svg, name="chart_svg"),
    Route("/designs/{design_id}/chart/{name}.png", files.chart_png, name="chart_png"),
    Route("/designs/{design_id}/chart/{name}/values", files.chart_values, name="chart_values"),
    Route("/designs/{design_id}/chart/{name}.json", files.chart_spec, name="chart_spec"),
    Route("/designs/{design_id}/drawing/{name}.svg", files.drawing, name="drawing"),
    Route("/shared/{secret}", reading.shared, name="shared"),
    Route("/compare", comparing.compare, name="compare"),
    Route("/glossary", help_pages.glossary, name="glossary"),
    Route("/preferences", help_pages.preferences, methods=["POST"], name="preferences"),
    Route("/unlock", help_pages.unlock, methods=["GET", "POST"], name="unlock"),
    Route("/static/{stamp}/{name}", static_file, name="static"),
    Mount("/api", routes=api.ROUTES, name="api"),
]

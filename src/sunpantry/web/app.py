"""The page as an application."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.gzip import GZipMiddleware

from sunpantry.errors import SunpantryError
from sunpantry.store import Store
from sunpantry.web import faults, render
from sunpantry.web.desk import Desk
from sunpantry.web.guard import Guard
from sunpantry.web.recent import Recent
from sunpantry.web.routes import ROUTES
from sunpantry.web.settings import Settings
from sunpantry.web.shelves import load_groups, part_options
from sunpantry.web.workers import Workers

KEPT_PAGES = 128


async def _warm_up(workers: Workers) -> None:
    """Load ahead what the first reader of a design would have to wait for."""
    await workers.warm_up()
    for load in (render.warm_up, load_groups, part_options):
        await asyncio.to_thread(load)


def create_app(settings: Settings, store: Store) -> Starlette:
    """Put the page together.

    Parameters
    ----------
    settings : Settings
        Where it listens and what it allows.
    store : Store
        Saved designs; closed by whoever opened it.
    """

    @contextlib.asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        workers = Workers(settings.workers, settings.data_folder / "weather")
        app.state.desk = Desk(settings, workers)
        warming = asyncio.create_task(_warm_up(workers))
        yield
        warming.cancel()
        app.state.desk.close()

    middleware = [Middleware(Guard, settings=settings)]
    if not settings.on_loopback:  # on one machine, packing costs more than it saves
        middleware.append(Middleware(GZipMiddleware, minimum_size=2000, compresslevel=4))
    app = Starlette(
        routes=ROUTES,
        lifespan=lifespan,
        middleware=middleware,
        exception_handlers={
            SunpantryError: faults.on_sunpantry_error,
            HTTPException: faults.on_http_error,
            500: faults.on_any_error,
        },
    )
    app.state.settings = settings
    app.state.store = store
    app.state.asking = {}
    app.state.rendered = Recent(KEPT_PAGES)
    return app

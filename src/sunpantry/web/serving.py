"""Running the page until it is stopped."""

from __future__ import annotations

import socket
import webbrowser
from collections.abc import Callable

import uvicorn

from sunpantry.errors import InputError
from sunpantry.store import Store
from sunpantry.web.app import create_app
from sunpantry.web.settings import Settings

BACKLOG = 256
KEEP_ALIVE_S = 75  # longer than people look at a page: a change must not meet a closing connection


class Announced(uvicorn.Server):
    """A server that says where it is once it listens."""

    def __init__(self, config: uvicorn.Config, ready: Callable[[], None]) -> None:
        super().__init__(config)
        self._ready = ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """Start, then tell."""
        await super().startup(sockets)
        if self.started:
            self._ready()


def serve(
    settings: Settings,
    store: Store,
    *,
    path: str = "/",
    browser: bool = True,
    say: Callable[[str], None] = print,
) -> None:
    """Serve the page until it is interrupted.

    Parameters
    ----------
    settings : Settings
        Where it listens and what it allows.
    store : Store
        Saved designs.
    path : str
        Page to begin on.
    browser : bool
        Whether the browser is opened on it.
    say : callable
        Tells a person where the page is.

    Raises
    ------
    InputError
        When the port is taken.
    """
    listener = listen(settings)
    port = listener.getsockname()[1]
    shown = f"[{settings.host}]" if ":" in settings.host else settings.host
    address = f"http://{shown}:{port}{path}"

    def ready() -> None:
        say(f"Sunpantry is at {address}")
        if settings.token is not None:
            say(f"Anyone who reaches it can read; changing needs the token: {settings.token}")
        say("Stop it with Ctrl+C. Designs are saved as you go.")
        if browser:
            webbrowser.open(address)

    config = uvicorn.Config(
        create_app(settings, store),
        log_level="warning",
        server_header=False,
        backlog=BACKLOG,
        timeout_keep_alive=KEEP_ALIVE_S,
        timeout_graceful_shutdown=3,
        lifespan="on",
    )
    try:
        Announced(config, ready).run(sockets=[listener])
    except KeyboardInterrupt:
        say("Stopped.")
    finally:
        listener.close()


def listen(settings: Settings) -> socket.socket:
    """Take the port.

    Parameters
    ----------
    settings : Settings
        Host and port.

    Raises
    ------
    InputError
        When it cannot be had.
    """
    family = socket.AF_INET6 if ":" in settings.host else socket.AF_INET
    listener = socket.socket(family, socket.SOCK_STREAM)
    listener.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listener.bind((settings.host, settings.port))
    except OSError as error:
        listener.close()
        raise InputError.one(
            "--port",
            f"{settings.host}:{settings.port}",
            "an address and port that are free",
            f"choose another with --port ({error.strerror or error})",
        ) from None
    listener.listen(BACKLOG)
    return listener

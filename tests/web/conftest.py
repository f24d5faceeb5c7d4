"""The page, served for the tests by the server it is served by in earnest."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import pytest
import uvicorn

from sunpantry.store import Store, open_store
from sunpantry.web.app import create_app
from sunpantry.web.settings import Settings

HUT = (Path(__file__).parent / "hut.toml").read_text("utf-8")


class Served:
    """A server in a thread of its own."""

    def __init__(self, settings: Settings, store: Store) -> None:
        self.listener = socket.create_server(("127.0.0.1", 0))
        port = self.listener.getsockname()[1]
        self.url = f"http://127.0.0.1:{port}"
        config = uvicorn.Config(create_app(settings, store), log_level="error", lifespan="on")
        self.server = uvicorn.Server(config)
        self.thread = threading.Thread(
            target=self.server.run, kwargs={"sockets": [self.listener]}, daemon=True
        )

    def __enter__(self) -> Served:
        self.thread.start()
        while not self.server.started:
            time.sleep(0.02)
        return self

    def __exit__(self, *_: object) -> None:
        self.server.should_exit = True
        self.thread.join(20)
        self.listener.close()


@pytest.fixture(scope="session")
def served() -> type[Served]:
    """How a page is served."""
    return Served


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the served page keeps its things."""
    return tmp_path_factory.mktemp("page")


@pytest.fixture(scope="session")
def store(folder: Path) -> Iterator[Store]:
    """Saved designs of the served page."""
    opened = open_store(f"sqlite:///{folder / 'designs.sqlite'}")
    yield opened
    opened.close()


@pytest.fixture(scope="session")
def page(folder: Path, store: Store) -> Iterator[str]:
    """Address of the page, as it is for a person alone at home."""
    settings = Settings(data_folder=folder, workers=1, reply_wait_s=20.0)
    with Served(settings, store) as served:
        yield served.url


@pytest.fixture(scope="session")
def locked_page(folder: Path, store: Store) -> Iterator[str]:
    """Address of the same designs on a page that others can reach."""
    settings = Settings(
        host="0.0.0.0",  # noqa: S104 — what is tested; the listener itself is on loopback
        token="open-sesame",  # noqa: S106 — of the test alone
        names=("pantry.example",),
        data_folder=folder,
        workers=1,
        reply_wait_s=20.0,
        writes_per_minute=30,
    )
    with Served(settings, store) as served:
        yield served.url


@pytest.fixture(scope="session")
def hut() -> str:
    """Document of the lamp in the hut."""
    return HUT


@pytest.fixture
def client(page: str) -> Iterator[httpx.Client]:
    """A program that asks the page."""
    with httpx.Client(base_url=page, timeout=60.0) as made:
        yield made


@pytest.fixture(scope="session")
def new_design(store: Store) -> Callable[..., str]:
    """Save a design, and give its identity."""

    def make(text: str = HUT, name: str = "Lamp in the hut") -> str:
        return store.create(text, name=name).design_id

    return make


@pytest.fixture
def answered(client: httpx.Client) -> Callable[[str], str]:
    """Wait for the answer of a design, which takes a while on a busy machine; gives its page."""

    def wait(design: str) -> str:
        until = time.monotonic() + 150.0
        while time.monotonic() < until:
            text = client.get(f"/designs/{design}").text
            if 'data-state="fresh"' in text or 'data-state="kept"' in text:
                return text
            time.sleep(1.0)
        pytest.fail("still not answered")

    return wait

"""A store in a file, and one on a PostgreSQL server that is started for the tests."""

from __future__ import annotations

import os
import pwd
import shutil
import socket
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest

from sunpantry.store import Store, open_store

DEBIAN_SERVERS = Path("/usr/lib/postgresql")


def server_programs() -> Path | None:
    """Directory of the newest PostgreSQL server on this machine."""
    if DEBIAN_SERVERS.is_dir():
        found = sorted(DEBIAN_SERVERS.glob("*/bin/initdb"), key=lambda p: int(p.parts[-3]))
        if found:
            return found[-1].parent
    on_path = shutil.which("initdb")
    return Path(on_path).parent if on_path else None


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _as_nobody() -> int | None:
    """PostgreSQL refuses to run for the superuser; give it another one."""
    return pwd.getpwnam("nobody").pw_uid if os.geteuid() == 0 else None


def _run(folder: Path, owner: int | None, *words: str | Path) -> None:
    subprocess.run(
        [str(word) for word in words],
        check=True,
        cwd=folder,
        user=owner,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


@pytest.fixture(scope="session")
def postgresql_url(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """URL of a fresh server of our own."""
    programs = server_programs()
    if programs is None:
        if os.environ.get("CI"):
            pytest.fail("no PostgreSQL server here; tools/ensure_system_packages.sh installs one")
        pytest.skip("no PostgreSQL server here; tools/ensure_system_packages.sh installs one")
    folder = Path(tempfile.mkdtemp(prefix="sunpantry-pg-"))
    owner = _as_nobody()
    if owner is not None:
        os.chown(folder, owner, -1)
    port, data = _free_port(), folder / "data"
    _run(folder, owner, programs / "initdb", "-D", data, "-U", "tester", "-A", "trust", "--no-sync")
    options = f"-p {port} -k {folder} -c listen_addresses=127.0.0.1 -c fsync=off"
    _run(
        folder,
        owner,
        programs / "pg_ctl",
        "-D",
        data,
        "-w",
        "-o",
        options,
        "-l",
        folder / "log",
        "start",
    )
    try:
        yield f"postgresql://tester@127.0.0.1:{port}/postgres"
    finally:
        _run(folder, owner, programs / "pg_ctl", "-D", data, "-m", "immediate", "stop")
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(params=["sqlite", "postgresql"])
def store_url(request: pytest.FixtureRequest, tmp_path: Path) -> str:
    """URL of an empty database of either kind."""
    if request.param == "sqlite":
        return f"sqlite:///{tmp_path / 'designs.sqlite'}"
    import psycopg

    url: str = request.getfixturevalue("postgresql_url")
    name = f"t{os.getpid()}_{abs(hash(request.node.nodeid))}"
    with psycopg.connect(url, autocommit=True) as connection:
        connection.execute(f'CREATE DATABASE "{name}"')
    return f"{url.rsplit('/', 1)[0]}/{name}"


@pytest.fixture
def store(store_url: str) -> Iterator[Store]:
    """An empty store of either kind."""
    opened = open_store(store_url)
    yield opened
    opened.close()

"""``sunpantry open``, ``backup`` and ``restore``."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import httpx
import pytest

from sunpantry.cli import main
from sunpantry.store import open_store

pytestmark = pytest.mark.regression


def start(*words: str) -> tuple[subprocess.Popen[str], str, str]:
    """Start the page as a person does; its process, address and first lines."""
    program = [sys.executable, "-c", "from sunpantry.cli import run; run()", "open"]
    process = subprocess.Popen(
        [*program, "--no-browser", "--port", "0", *words],
        stdout=subprocess.PIPE,
        text=True,
        env={**os.environ, "PYTHONUNBUFFERED": "1"},
    )
    assert process.stdout is not None
    told = process.stdout.readline()
    while "Stop it" not in told:
        line = process.stdout.readline()
        assert line, f"the page ended: {told}"
        told += line
    address = re.search(r"http://\S+", told)
    assert address is not None
    return process, address[0], told


def stop(process: subprocess.Popen[str]) -> None:
    """Press Ctrl+C, and see it end by itself."""
    process.send_signal(signal.SIGINT)
    try:
        assert process.wait(30) == 0
    finally:
        process.kill()
        assert process.stdout is not None
        process.stdout.close()


def test_open_begins_with_a_design_once(tmp_path: Path, hut: str) -> None:
    """The design is saved, shown at the address that is told, and not saved twice."""
    file, url = tmp_path / "hut.toml", f"sqlite:///{tmp_path / 'designs.sqlite'}"
    file.write_text(hut)
    for _ in range(2):
        process, address, _told = start("--design", str(file), "--store", url)
        try:
            reply = httpx.get(address, timeout=60.0)
            assert reply.status_code == 200
            assert "Lamp in the hut" in reply.text
        finally:
            stop(process)
    store = open_store(url)
    assert len(store.designs()) == 1
    store.close()


def test_other_addresses_get_a_token(tmp_path: Path) -> None:
    """It is printed, and without it nothing can be changed."""
    url = f"sqlite:///{tmp_path / 'designs.sqlite'}"
    process, address, told = start("--host", "0.0.0.0", "--store", url)  # noqa: S104
    try:
        token = re.search(r"the token: (\S+)", told)
        assert token is not None
        here = address.replace("0.0.0.0", "127.0.0.1").rstrip("/")  # noqa: S104
        assert httpx.post(f"{here}/start/apiary-hut").status_code == 401
        headers = {"authorization": f"Bearer {token[1]}"}
        assert httpx.post(f"{here}/start/apiary-hut", headers=headers).status_code == 303
    finally:
        stop(process)


def test_a_killed_page_leaves_no_worker_behind(tmp_path: Path) -> None:
    """However it ends, its processes end with it."""
    import psutil

    process, address, _told = start("--store", f"sqlite:///{tmp_path / 'designs.sqlite'}")
    httpx.get(address, timeout=60.0)
    children = psutil.Process(process.pid).children(recursive=True)
    process.kill()
    process.wait(10)
    assert process.stdout is not None
    process.stdout.close()
    _gone, alive = psutil.wait_procs(children, timeout=20)
    assert alive == []


def test_a_port_that_is_taken_is_told(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Exit status 2, and what to do."""
    import socket

    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = str(taken.getsockname()[1])
        url = f"sqlite:///{tmp_path / 'designs.sqlite'}"
        assert main(["open", "--no-browser", "--port", port, "--store", url]) == 2
    assert "choose another with --port" in capsys.readouterr().err


def test_backup_and_restore(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """There and back, and again without harm."""
    one, other = (f"sqlite:///{tmp_path / name}" for name in ("one.sqlite", "other.sqlite"))
    store = open_store(one)
    design = store.create("a", name="Hut").design_id
    store.save(design, "b", base=1, name="Hut")
    store.close()
    file = str(tmp_path / "all.backup")
    assert main(["backup", file, "--store", one]) == 0
    assert "1 designs with 2 versions" in capsys.readouterr().out
    assert main(["backup", file, "--store", one]) == 2
    assert main(["restore", file, "--store", other]) == 0
    assert main(["restore", file, "--store", other]) == 0
    assert "Added 0 versions" in capsys.readouterr().out
    store = open_store(other)
    assert [one.document for one in store.history(design)] == ["b", "a"]
    store.close()

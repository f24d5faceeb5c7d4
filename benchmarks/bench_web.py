"""The page under load: people editing and people reading, with the load generator from the index.

    python -m benchmarks.bench_web             # 50 editing, 200 reading, 60 s each
    python -m benchmarks.bench_web --seconds 20

Prints one line a figure. Needs the dependency group ``bench``.
"""

from __future__ import annotations

import argparse
import csv
import json
import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve()
DESIGNS = 20


def people(kind: str) -> Any:
    """What one person does, for the load generator."""
    from locust import HttpUser, between, task

    class Editor(HttpUser):
        """Changes a design every few seconds, with a browser, and looks at what follows."""

        wait_time = between(3, 9)

        def on_start(self) -> None:
            ids = [one["id"] for one in self.client.get("/api/designs").json()["designs"]]
            self.design = ids[id(self) // 64 % len(ids)]
            self.watts = 5
            # as a browser says of what the page's own scripts send
            said = {"sec-fetch-dest": "empty", "sec-fetch-site": "same-origin"}
            self.client.headers.update(said)

        @task(4)
        def type_something(self) -> None:
            self.watts = 4 + (self.watts - 3) % 9
            data = {"row": "1", "power": str(self.watts)}
            self.client.post(f"/designs/{self.design}/glance/load", data=data, name="typing")

        @task(1)
        def save(self) -> None:
            page = self.client.get(f"/designs/{self.design}", name="look").text
            base = re.search(r'name="base" value="(\d+)"', page)
            data = {"row": "1", "power": str(self.watts), "base": base[1] if base else "1"}
            address = f"/designs/{self.design}/change/load"
            with self.client.post(
                address, data=data, name="save", catch_response=True, allow_redirects=True
            ) as reply:
                if reply.status_code == 409:  # two of them on one design: asked, nothing lost
                    reply.success()

    class Reader(HttpUser):
        """Reads."""

        wait_time = between(2, 6)

        def on_start(self) -> None:
            ids = [one["id"] for one in self.client.get("/api/designs").json()["designs"]]
            self.design = ids[id(self) // 64 % len(ids)]

        @task(3)
        def look(self) -> None:
            self.client.get(f"/designs/{self.design}", name="look")

        @task(1)
        def words(self) -> None:
            self.client.get("/glossary", name="glossary")

    return Editor if kind == "editing" else Reader


# The load generator reads this file again, and takes the class of people named here.
if os.environ.get("SUNPANTRY_BENCH_PEOPLE"):
    Person = people(os.environ["SUNPANTRY_BENCH_PEOPLE"])


def documents() -> list[str]:
    """Designs with all parts fixed, each at another place."""
    text = (HERE.parent.parent / "tests" / "web" / "hut.toml").read_text("utf-8")
    return [
        text.replace("latitude = 54.1", f"latitude = {50 + 0.1 * number:.1f}").replace(
            "winters = 4", "winters = 30"
        )
        for number in range(DESIGNS)
    ]


def resident_mb(pid: int) -> tuple[float, float]:
    """Memory of a process, and of its children together [MB]."""
    import psutil

    whole = psutil.Process(pid)
    server_mb = whole.memory_info().rss / 1e6
    return server_mb, sum(one.memory_info().rss for one in whole.children(recursive=True)) / 1e6


def run_people(kind: str, count: int, seconds: int, address: str, folder: Path) -> dict[str, float]:
    """Send people to the page; times of all replies, and how many failed."""
    prefix = folder / kind
    words = [sys.executable, "-m", "locust", "-f", str(HERE), "--headless", "--only-summary"]
    words += ["-u", str(count), "-r", str(max(count / 5, 1)), "-t", f"{seconds}s"]
    words += ["--host", address, "--csv", str(prefix), "--exit-code-on-error", "0"]
    environment = {**os.environ, "SUNPANTRY_BENCH_PEOPLE": kind}
    subprocess.run(words, check=True, env=environment, capture_output=True)
    with Path(f"{prefix}_stats.csv").open() as stream:
        rows = {row["Name"]: row for row in csv.DictReader(stream)}
    whole = rows.pop("Aggregated")
    each = {
        f"web.{kind}.{count}.{name}.p95_ms": float(row["95%"]) for name, row in rows.items() if name
    }
    return {
        **each,
        f"web.{kind}.{count}.requests_per_s": float(whole["Requests/s"]),
        f"web.{kind}.{count}.median_ms": float(whole["50%"]),
        f"web.{kind}.{count}.p95_ms": float(whole["95%"]),
        f"web.{kind}.{count}.max_ms": float(whole["Max Response Time"]),
        f"web.{kind}.{count}.failures": float(whole["Failure Count"]),
    }


def main() -> None:
    """Start the page, fill it, send people, print."""
    wanted = argparse.ArgumentParser(description=__doc__)
    wanted.add_argument("--seconds", type=int, default=60)
    wanted.add_argument("--editing", type=int, default=50)
    wanted.add_argument("--reading", type=int, default=200)
    asked = wanted.parse_args()
    from sunpantry.store import open_store

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        url = f"sqlite:///{folder / 'designs.sqlite'}"
        store = open_store(url)
        for number, text in enumerate(documents()):
            store.create(text, name=f"Hut {number}")
        store.close()
        words = [str(Path(sys.executable).with_name("sunpantry")), "open", "--no-browser"]
        server = subprocess.Popen(
            [*words, "--port", "0", "--store", url], stdout=subprocess.PIPE, text=True
        )
        try:
            assert server.stdout is not None
            found = re.search(r"http://\S+?:\d+", server.stdout.readline())
            assert found is not None, "the page did not start"
            wait_for_answers(found[0])
            figures = {"web.load_average_before": os.getloadavg()[0]}
            for when, kind, count in (
                ("before", "", 0),
                ("after_editing", "editing", asked.editing),
                ("after_reading", "reading", asked.reading),
            ):
                if count:
                    wait_for_answers(found[0])  # the two kinds are measured apart
                    figures |= run_people(kind, count, asked.seconds, found[0], folder)
                own_mb, workers_mb = resident_mb(server.pid)
                figures[f"web.server_{when}_mb"] = own_mb
                figures[f"web.workers_{when}_mb"] = workers_mb
        finally:
            server.terminate()
            server.wait(20)
    for key, value in figures.items():
        print(f"{key}: {value:g}")


def wait_for_answers(address: str) -> None:
    """Look at every design once, as its owner has before the others come."""
    import urllib.request

    with urllib.request.urlopen(f"{address}/api/designs") as reply:  # noqa: S310
        ids = [one["id"] for one in json.load(reply)["designs"]]
    waiting, until = set(ids), time.monotonic() + 600.0
    while waiting and time.monotonic() < until:
        for one in sorted(waiting):
            plan = f"{address}/api/designs/{one}/plan?wait_s=10"
            with urllib.request.urlopen(plan) as reply:  # noqa: S310
                if reply.status == 200:
                    waiting.discard(one)


if __name__ == "__main__":
    main()

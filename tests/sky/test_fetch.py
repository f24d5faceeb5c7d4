"""Fetching from NASA POWER, against a small server that answers in the service's shape."""

from __future__ import annotations

import json
import socket
import threading
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlparse

import numpy as np
import pandas as pd
import pytest

from sunpantry.errors import InputError, WeatherError
from sunpantry.sky.climate import climate_of
from sunpantry.sky.fetch import Patience, fetch_weather
from sunpantry.sky.files import read_weather_file
from sunpantry.sky.place import Place, place_at
from sunpantry.sky.sun import sun_year
from sunpantry.timegrid import TimeGrid

QUICK = Patience(timeout_s=20.0, attempts=3, pause_s=0.01)
# What a scripted answer does to the good one: changes the payload, or replaces the reply.
Change = Callable[[dict[str, Any]], tuple[int, bytes] | None]


class _Power(ThreadingHTTPServer):
    """Answers like the service; the script says what is wrong with each answer."""

    def __init__(self, place: Place) -> None:
        super().__init__(("127.0.0.1", 0), _Handler)
        self.place = place
        self.asked: list[dict[str, str]] = []
        self.script: list[Change] = []
        self.released = threading.Event()

    @property
    def url(self) -> str:
        return f"http://127.0.0.1:{self.server_address[1]}/api/temporal/hourly/point"

    def payload(self, query: dict[str, str]) -> dict[str, Any]:
        hours = pd.date_range(query["start"], query["end"] + "T23:00", freq="h")
        grid = TimeGrid(start_day=1)
        sun = sun_year(self.place, grid)
        day = np.where(hours.is_leap_year & (hours.day_of_year > 59), hours.day_of_year - 1,
                       hours.day_of_year)  # fmt: skip
        at = (day - 1) * 24 + hours.hour
        stamps = hours.strftime("%Y%m%d%H")
        cosine = sun.cos_zenith[at]
        ghi = 0.5 * sun.clear_ghi_w_m2[at]
        series = {
            "ALLSKY_SFC_SW_DWN": ghi,
            "ALLSKY_SFC_SW_DIFF": 0.6 * ghi,
            "ALLSKY_SFC_SW_DNI": np.divide(0.4 * ghi, cosine, out=0 * ghi, where=cosine > 0.02),
            "T2M": 10.0 - 6.0 * np.cos(2 * np.pi * (day - 15) / 365),
        }
        wanted = query["parameters"].split(",")
        return {
            "type": "Feature",
            "geometry": {
                "type": "Point",
                "coordinates": [float(query["longitude"]), float(query["latitude"]), 40.0],
            },
            "properties": {
                "parameter": {
                    name: dict(zip(stamps, series[name].round(2).tolist(), strict=True))
                    for name in wanted
                }
            },
            "header": {
                "title": "NASA/POWER Source Native Resolution Hourly Data",
                "api": {"version": "v2.5.0", "name": "POWER Hourly API"},
                "sources": ["MERRA2", "SYN1DEG"],
                "fill_value": -999.0,
                "time_standard": "UTC",
                "start": query["start"],
                "end": query["end"],
            },
            "messages": [],
            "parameters": {
                name: {"units": "C" if name == "T2M" else "Wh/m^2", "longname": name}
                for name in wanted
            },
            "times": {"data": 0.1, "process": 0.1},
        }


class _Handler(BaseHTTPRequestHandler):
    server: _Power

    def do_GET(self) -> None:
        query = {key: values[0] for key, values in parse_qs(urlparse(self.path).query).items()}
        self.server.asked.append(query)
        payload = self.server.payload(query)
        reply = self.server.script.pop(0)(payload) if self.server.script else None
        status, body = reply or (200, json.dumps(payload).encode())
        try:
            self.send_response(status)
            self.send_header("Content-Type", "application/json")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)
        except (BrokenPipeError, ConnectionResetError):
            pass  # the one who asked has gone

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002  name of the base
        """Keep quiet."""


@pytest.fixture(scope="module")
def place() -> Place:
    return place_at(53.9, -9.3, altitude_m=40)


@pytest.fixture
def power(place: Place, monkeypatch: pytest.MonkeyPatch) -> Iterator[_Power]:
    monkeypatch.setenv("NO_PROXY", "127.0.0.1")
    server = _Power(place)
    thread = threading.Thread(target=server.serve_forever, args=(0.02,), daemon=True)
    thread.start()
    yield server
    server.released.set()
    server.shutdown()
    server.server_close()
    thread.join()


def _get(power: _Power, folder: Path, years: int = 2, **how: Any) -> Path:
    how.setdefault("patience", QUICK)
    return fetch_weather(
        power.place, years=years, last_year=2021, folder=folder, base_url=power.url, **how
    )


def _fine(payload: dict[str, Any]) -> None:
    """Leave the answer as it is."""


def _status(code: int, body: bytes = b"") -> Change:
    return lambda _: (code, body)


def _cut(payload: dict[str, Any]) -> tuple[int, bytes]:
    return 200, json.dumps(payload).encode()[:5000]


def _without_dni(payload: dict[str, Any]) -> None:
    del payload["properties"]["parameter"]["ALLSKY_SFC_SW_DNI"]


def _half_year(payload: dict[str, Any]) -> None:
    for series in payload["properties"]["parameter"].values():
        for stamp in list(series)[4000:]:
            del series[stamp]


def _only_fill(payload: dict[str, Any]) -> None:
    for series in payload["properties"]["parameter"].values():
        series.update(dict.fromkeys(series, -999.0))


def _lux(payload: dict[str, Any]) -> None:
    payload["parameters"]["ALLSKY_SFC_SW_DWN"]["units"] = "lux"


@pytest.mark.conservation
def test_the_hours_come_through(power: _Power, tmp_path: Path) -> None:
    told: list[tuple[int, int, str]] = []
    path = _get(power, tmp_path, years=3, progress=lambda *said: told.append(said))
    assert told == [
        (0, 3, "asking for 2019"),
        (1, 3, "asking for 2020"),
        (2, 3, "asking for 2021"),
        (3, 3, "all years are here"),
    ]
    assert [query["start"] for query in power.asked] == ["20190101", "20200101", "20210101"]
    assert {query["time-standard"] for query in power.asked} == {"utc"}
    got = read_weather_file(path, power.place, TimeGrid())
    assert got.weather is not None
    assert got.weather.years == 2
    sun = sun_year(power.place, TimeGrid())
    lit = sun.cos_zenith > 0
    expected = 0.5 * sun.clear_ghi_w_m2
    # The answers have two decimals.
    assert got.weather.ghi_w_m2[0][lit] == pytest.approx(expected[lit], abs=0.006)
    assert got.weather.air_temperature_c.min() == pytest.approx(4.0, abs=0.01)
    assert got.distance_km == pytest.approx(0.0, abs=1e-6)
    notes = " ".join(got.notes)
    assert "Source: NASA/POWER Source Native Resolution Hourly Data (MERRA2, SYN1DEG)" in notes
    assert "NASA Langley Research Center POWER Project" in notes


@pytest.mark.regression
def test_years_that_came_are_not_asked_for_again(power: _Power, tmp_path: Path) -> None:
    power.script = [_fine, *[_status(500)] * 3]
    with pytest.raises(WeatherError, match=r"NASA POWER, 2020: .*asked 3 times.*years that came"):
        _get(power, tmp_path, years=3)
    assert [query["start"] for query in power.asked] == ["20190101", *["20200101"] * 3]
    assert not list(tmp_path.glob("*.part"))
    power.asked.clear()
    _get(power, tmp_path, years=3)
    assert [query["start"] for query in power.asked] == ["20200101", "20210101"]
    power.asked.clear()
    _get(power, tmp_path, years=3)
    assert power.asked == []


@pytest.mark.regression
@pytest.mark.parametrize(
    "change",
    [
        _status(500),
        _status(429),
        _status(503, b"<html>busy</html>"),
        _cut,
        _without_dni,
        _half_year,
    ],
)
def test_one_bad_answer_is_asked_for_again(power: _Power, tmp_path: Path, change: Change) -> None:
    power.script = [change]
    assert _get(power, tmp_path).exists()
    assert [query["start"] for query in power.asked] == ["20200101", "20200101", "20210101"]


@pytest.mark.regression
@pytest.mark.parametrize(
    ("change", "told"),
    [
        (_status(500), "cut short, or the service is overloaded"),
        (_cut, "cut short, or the service is overloaded"),
        (
            _status(422, json.dumps({"messages": ["Latitude is out of range."]}).encode()),
            r"the service refused: Latitude is out of range\.",
        ),
        (_status(429, json.dumps({"detail": "Too many requests"}).encode()), "Too many requests"),
        (_status(200, b"{}"), "not in the agreed form"),
        (_status(200, b"[]"), "not in the agreed form"),
        (_without_dni, "lacks ALLSKY_SFC_SW_DNI"),
        (_half_year, r"4000 of the 8784 hours"),
        (_only_fill, "only fill values"),
        (_lux, "the unit 'lux' of ALLSKY_SFC_SW_DWN is not known"),
    ],
)
def test_bad_answers_are_told_in_one_sentence(
    power: _Power, tmp_path: Path, change: Change, told: str
) -> None:
    power.script = [change] * 3
    with pytest.raises(WeatherError, match=told) as caught:
        _get(power, tmp_path)
    assert "\n" not in str(caught.value)
    assert "built-in climate table" in str(caught.value)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.regression
def test_fill_values_are_gaps_and_told(power: _Power, tmp_path: Path) -> None:
    def gaps(payload: dict[str, Any]) -> None:
        for hour in ("2020060112", "2020060113"):
            payload["properties"]["parameter"]["ALLSKY_SFC_SW_DWN"][hour] = -999.0

    power.script = [_fine, gaps]
    got = read_weather_file(_get(power, tmp_path, years=3), power.place, TimeGrid())
    assert got.kind == "years"
    assert any("2 readings of ghi are missing: 2 were filled" in note for note in got.notes)


@pytest.mark.regression
def test_a_service_that_hangs_is_given_up(power: _Power, tmp_path: Path) -> None:
    def hang(payload: dict[str, Any]) -> None:
        power.released.wait(30)

    power.script = [hang]
    with pytest.raises(WeatherError, match=r"no answer within 0\.2 s \(asked 1 times\)"):
        _get(power, tmp_path, patience=Patience(timeout_s=0.2, attempts=1))


@pytest.mark.regression
def test_offline_is_told_plainly(place: Place, tmp_path: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        closed = free.getsockname()[1]
    with pytest.raises(WeatherError, match=r"cannot be reached \(asked 2 times\).*still works"):
        fetch_weather(
            place,
            years=2,
            last_year=2021,
            folder=tmp_path,
            base_url=f"http://127.0.0.1:{closed}/",
            patience=Patience(timeout_s=5, attempts=2, pause_s=0.01),
        )


@pytest.mark.regression
def test_pauses_grow(power: _Power, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    slept: list[float] = []
    monkeypatch.setattr("sunpantry.sky.fetch.time.sleep", slept.append)
    power.script = [_status(429)] * 4
    with pytest.raises(WeatherError, match="asked 4 times"):
        _get(power, tmp_path, patience=Patience(timeout_s=20, attempts=4, pause_s=2.0))
    assert slept == [2.0, 4.0, 8.0]


@pytest.mark.regression
@pytest.mark.parametrize(
    ("years", "last_year", "told"),
    [(1, 2021, "from 2 to 30"), (31, 2021, "from 2 to 30"), (25, 2021, "whole years from 2001"),
     (3, 2999, "whole years from 2001")],
)  # fmt: skip
def test_years_that_cannot_be_had(place: Place, years: int, last_year: int, told: str) -> None:
    with pytest.raises(InputError, match=told):
        fetch_weather(place, years=years, last_year=last_year)


@pytest.mark.regression
def test_years_are_kept_in_the_cache_directory(
    power: _Power, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def ask() -> Path:
        return fetch_weather(
            power.place, years=2, last_year=2021, base_url=power.url, patience=QUICK
        )

    monkeypatch.setenv("SUNPANTRY_CACHE", str(tmp_path))
    assert ask().parent == tmp_path / "nasa-power"
    monkeypatch.setenv("SUNPANTRY_CACHE", "off")
    with pytest.raises(InputError, match="a directory to keep the years in"):
        ask()


@pytest.mark.regression
def test_nothing_goes_out_unasked(
    place: Place, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tried: list[object] = []

    def refuse(*args: object, **kwargs: object) -> None:
        tried.append(args)
        raise OSError("no network here")

    monkeypatch.setattr(socket.socket, "connect", refuse)
    monkeypatch.setattr(socket, "getaddrinfo", refuse)
    climate_of(place)
    with pytest.raises(WeatherError, match="No such file"):
        read_weather_file(tmp_path / "none.epw", place, TimeGrid())
    assert tried == []
    # The guard itself works.
    once = Patience(attempts=1)
    with pytest.raises(WeatherError, match="cannot be reached"):
        fetch_weather(place, years=2, last_year=2021, folder=tmp_path, patience=once)
    assert tried

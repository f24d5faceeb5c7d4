"""Results on disk: right or made again, whole or absent, within the limit."""

from __future__ import annotations

import os
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from sunpantry.sky import cache
from sunpantry.sky.cache import cached_arrays, content_key
from sunpantry.sky.climate import climate_of
from sunpantry.sky.generator import weather_years
from sunpantry.sky.place import Place, place_at
from sunpantry.timegrid import FloatArray

pytestmark = pytest.mark.regression


@pytest.fixture
def directory(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("SUNPANTRY_CACHE", str(tmp_path))
    return tmp_path


class Maker:
    """Counts how often it is asked."""

    def __init__(self, value: float = 1.0, length: int = 1000) -> None:
        self.calls, self.value, self.length = 0, value, length

    def __call__(self) -> dict[str, FloatArray]:
        self.calls += 1
        return {"light": np.full(self.length, self.value)}


def test_made_once_then_read(directory: Path) -> None:
    make = Maker()
    first, second = (cached_arrays("k", make) for _ in range(2))
    assert make.calls == 1
    np.testing.assert_array_equal(first["light"], second["light"])
    assert [path.name for path in directory.iterdir()] == ["k.npz"]


@pytest.mark.parametrize("damage", [b"", b"PK\x03\x04 nonsense", None])
def test_a_damaged_file_is_made_again(directory: Path, damage: bytes | None) -> None:
    cached_arrays("k", Maker(2.0))
    path = directory / "k.npz"
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2] if damage is None else damage)
    again = Maker(3.0)
    np.testing.assert_array_equal(cached_arrays("k", again)["light"], 3.0)
    assert again.calls == 1
    assert cached_arrays("k", again)["light"][0] == 3.0
    assert again.calls == 1


def test_one_changed_byte_is_noticed(directory: Path) -> None:
    cached_arrays("k", Maker(2.0))
    path = directory / "k.npz"
    raw = bytearray(path.read_bytes())
    raw[len(raw) // 2] ^= 0xFF
    path.write_bytes(raw)
    assert cached_arrays("k", Maker(3.0))["light"].tolist() == [3.0] * 1000


def test_least_recently_used_go_first(directory: Path) -> None:
    limit = 40_000
    for number in range(4):
        cached_arrays(f"k{number}", Maker(), limit_bytes=limit)
        os.utime(directory / f"k{number}.npz", ns=(number, number))
    cached_arrays("k0", Maker(), limit_bytes=limit)  # read: now the newest
    cached_arrays("k4", Maker(), limit_bytes=limit)
    names = {path.stem for path in directory.glob("*.npz")}
    assert {"k0", "k4"} <= names
    assert "k1" not in names
    assert sum(path.stat().st_size for path in directory.iterdir()) <= limit


def test_too_large_a_result_is_not_kept(directory: Path) -> None:
    make = Maker(length=10_000)
    cached_arrays("big", make, limit_bytes=100_000)
    assert list(directory.iterdir()) == []


def test_turned_off_and_unwritable(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    make = Maker()
    monkeypatch.setenv("SUNPANTRY_CACHE", "off")
    cached_arrays("k", make)
    cached_arrays("k", make)
    assert make.calls == 2
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    monkeypatch.setenv("SUNPANTRY_CACHE", str(blocked / "below"))
    assert cached_arrays("k", make)["light"][0] == 1.0


def test_the_users_directory_is_the_default(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("SUNPANTRY_CACHE")
    directory = cache.cache_directory()
    assert directory is not None
    assert directory.name == "sunpantry"


def test_keys_tell_contents_apart() -> None:
    place = Place(54.1, -9.2, 40.0, "Europe/Dublin")
    keys = [
        content_key(1), content_key(1.0), content_key("1"), content_key(None), content_key(True),
        content_key((1, 2)), content_key(((1,), 2)), content_key(place),
        content_key(np.array([1.0])), content_key(np.array([[1.0]])), content_key(np.array([1])),
    ]  # fmt: skip
    assert len(set(keys)) == len(keys)
    assert content_key(place) == content_key(Place(54.1, -9.2, 40.0, "Europe/Dublin"))
    with pytest.raises(TypeError, match="object"):
        content_key(object())


def _write_and_read(number: int) -> float:
    arrays = cached_arrays("shared", lambda: {"x": np.full(200_000, float(number))})
    values = np.unique(arrays["x"])
    return float(values[0]) if len(values) == 1 else float("nan")


def test_two_processes_at_once_see_whole_results(directory: Path) -> None:
    with ProcessPoolExecutor(2) as pool:
        seen = list(pool.map(_write_and_read, range(12)))
    assert not any(np.isnan(seen))
    assert [path.name for path in directory.iterdir()] == ["shared.npz"]


def test_weather_is_the_same_from_disk_and_made(directory: Path) -> None:
    climate = climate_of(place_at(54.1, -9.2))
    made = weather_years(climate, years=1)
    assert len(list(directory.iterdir())) == 1
    read = weather_years(climate, years=1)
    np.testing.assert_array_equal(made.ghi_w_m2, read.ghi_w_m2)
    np.testing.assert_array_equal(made.air_temperature_c, read.air_temperature_c)
    assert made.fingerprint == read.fingerprint
    assert weather_years(climate, years=1, seed=2).fingerprint != made.fingerprint

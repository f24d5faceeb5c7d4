"""The pictures of a place: the geometry behind them, and the files they become."""

from __future__ import annotations

import struct
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from sunpantry.errors import InputError
from sunpantry.sky.climate import climate_of
from sunpantry.sky.generator import weather_years
from sunpantry.sky.horizon import Horizon, Obstacle
from sunpantry.sky.paths import sun_path
from sunpantry.sky.picture import alt_text, picture_spec, write_picture
from sunpantry.sky.place import place_at
from sunpantry.sky.view import PlaceView, place_view

SKYLINE = Horizon.of(
    [(90, 4), (180, 9), (270, 3), (0, 1)],
    [
        Obstacle(8, 24, 100, 125, name="house"),
        Obstacle(9, 15, 205, 230, transmission=(0.5,) * 12, name="ash trees"),
        Obstacle(3, 4, 350, 20, name="hedge"),
    ],
)


def _view(latitude: float, longitude: float) -> PlaceView:
    place = place_at(latitude, longitude, name="Carrowmoor")
    climate = climate_of(place)
    return place_view(place, climate=climate, weather=weather_years(climate, years=3))


@pytest.fixture(scope="module")
def irish() -> PlaceView:
    return _view(53.9, -9.3)


def _values(spec: Any, key: str) -> list[Any]:
    """Every value under a key, anywhere in a specification."""
    if isinstance(spec, dict):
        found = [spec[key]] if key in spec else []
        return found + [value for part in spec.values() for value in _values(part, key)]
    if isinstance(spec, list):
        return [value for part in spec for value in _values(part, key)]
    return []


@pytest.mark.published
@pytest.mark.parametrize("latitude", [53.9, 5.0, -38.0, 69.6])
def test_noon_heights_follow_from_the_obliquity(latitude: float) -> None:
    """Obliquity 23.437° in 2020 (Astronomical Almanac); at noon the sun stands at 90° - |φ - δ|."""
    for month, declination_deg in ((5, 23.437), (11, -23.437)):
        path = sun_path(latitude, month)
        noon = int(np.argmax(path.elevation_deg))
        assert path.solar_h[noon] == pytest.approx(12.0, abs=0.01)
        assert path.elevation_deg[noon] == pytest.approx(
            90 - abs(latitude - declination_deg), abs=0.02
        )
        # Midnight is as far below, seen from the other pole.
        assert path.elevation_deg[0] == pytest.approx(
            abs(latitude + declination_deg) - 90, abs=0.02
        )
    # Close to the equinox the sun rises in the east and sets in the west after twelve hours.
    equinox = sun_path(latitude, 2)
    up = equinox.elevation_deg > 0
    assert equinox.solar_h[up][[0, -1]] == pytest.approx([6.0, 18.0], abs=0.35)
    assert equinox.azimuth_deg[up][[0, -1]] == pytest.approx([90, 270], abs=4)


@pytest.mark.analytic
@pytest.mark.parametrize("latitude", [53.9, 5.0, -5.0, -38.0, 69.6, 89.0])
def test_lines_run_unbroken_inside_the_picture(latitude: float) -> None:
    spec = picture_spec(replace(_view(latitude, 20.0), horizon=SKYLINE))
    sky = spec["vconcat"][0]
    domain = sky["layer"][0]["encoding"]["x"]["scale"]["domain"]
    rows = pd.DataFrame([row for layer in sky["layer"][:2] for row in layer["data"]["values"]])
    assert rows["y"].min() >= 0
    assert rows["x"].abs().max() <= max(domain)
    for _, piece in rows.groupby("line"):
        assert (np.diff(piece["order"]) > 0).all()
        # Ten minutes move the sun by less than 2.6° of sky; near the zenith by more of compass.
        level = piece["y"].to_numpy()[:-1] < 60
        assert np.abs(np.diff(piece["x"])[level]).max(initial=0) < 8
        assert np.abs(np.diff(piece["y"])).max(initial=0) < 2.6


@pytest.mark.regression
def test_drawings_need_nothing_from_outside_and_survive_black_and_white(irish: PlaceView) -> None:
    spec = picture_spec(replace(irish, horizon=SKYLINE))
    assert _values(spec, "url") == []
    dashes = next(value for value in _values(spec, "range") if len(value) == 3)
    assert len({tuple(dash) for dash in dashes}) == 3
    words = {row["words"] for values in _values(spec, "values") for row in values
             if isinstance(row, dict) and "words" in row}  # fmt: skip
    assert {"21 June · 60° at noon", "house", "ash trees"} <= words
    assert "hedge" not in words  # it stands in the north, outside the window


@pytest.mark.regression
def test_text_for_those_who_cannot_see_it(irish: PlaceView) -> None:
    text = alt_text(replace(irish, horizon=SKYLINE))
    assert "Carrowmoor" in text
    assert "from 13° above level at noon on 21 December to 60° on 21 June" in text
    assert "it stands highest, 37°, in the north" in text
    assert "in December" in text
    assert "skyline" not in alt_text(irish)


@pytest.mark.regression
def test_files(irish: PlaceView, tmp_path: Path) -> None:
    spec = picture_spec(replace(irish, horizon=SKYLINE))
    svg, png = tmp_path / "p.svg", tmp_path / "p.PNG"
    write_picture(spec, svg)
    write_picture(spec, png)
    drawn = svg.read_text(encoding="utf-8")
    assert 'role="img"><desc>Two pictures of Carrowmoor.' in drawn
    assert "Where the sun stands through the year at Carrowmoor" in drawn
    assert "ash trees" in drawn
    content = png.read_bytes()
    assert content.startswith(b"\x89PNG\r\n")
    width, height = struct.unpack(">II", content[16:24])
    assert width > 1200
    assert 0.6 < width / height < 1.4
    with pytest.raises(InputError, match=r"ends in \.svg or \.png"):
        write_picture(spec, tmp_path / "p.jpg")
    with pytest.raises(InputError, match="a file that can be written"):
        write_picture(spec, tmp_path / "none" / "p.svg")

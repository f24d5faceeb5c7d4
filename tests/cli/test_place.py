"""``sunpantry place``: by name, by coordinates, by design file, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from sunpantry.cli import main

pytestmark = pytest.mark.regression

OWN_SUN = [0.6, 1.2, 2.3, 3.7, 4.6, 4.8, 4.5, 3.8, 2.8, 1.6, 0.8, 0.45]
DESIGN = f"""\
schema = 1
name = "Lamp in the orchard"
winters = 6
seed = 3

[site]
place = "Carrowmoor"
latitude = 53.9
longitude = -9.3
altitude = "95 m"
horizon = [[100, 2], [150, 9], [180, 12], [220, 5]]
monthly_sun = {OWN_SUN}

[[site.obstacle]]
name = "barn of the neighbour, with the tall chimney that was never taken down"
height = "8 m"
distance = "12 m"
from = 120
until = 160

[[load]]
name = "Lamp"
power = "8 W"
supply = "12 V"
hours_per_day = 4
"""
KEYS = {
    "monthly_ghi_kwh_m2_day",
    "monthly_temperature_c",
    "mean_annual_minimum_c",
    "never_colder_c",
    "dark_spells",
    "data_distance_km",
    "notes",
}


@pytest.fixture
def design(tmp_path: Path) -> Path:
    """A design with figures of its own, a skyline and a barn."""
    path = tmp_path / "orchard.toml"
    path.write_text(DESIGN, "utf-8")
    return path


def _json(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict[str, Any]:
    assert main(["place", *arguments, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert isinstance(told, dict)
    return told


def test_a_design_file_brings_its_site(design: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Its own figures, altitude, winters and skyline are what is shown."""
    told = _json(capsys, str(design))
    assert set(told) >= KEYS
    assert (told["name"], told["altitude_m"], told["winters"]) == ("Carrowmoor", 95.0, 6)
    assert told["monthly_ghi_kwh_m2_day"] == OWN_SUN
    assert "typed in" in told["source"]
    assert told["source"].endswith("seed 3")
    shade = told["monthly_shade_fraction"]
    assert 0.1 < shade[11] < 0.9
    assert 0.0 <= shade[5] < shade[11]
    bare = _json(capsys, "53.9, -9.3", "--winters", "6")
    assert set(bare) == set(told)
    assert bare["monthly_shade_fraction"] == [0.0] * 12
    assert bare["monthly_ghi_kwh_m2_day"] != OWN_SUN
    assert _json(capsys, str(design), "--winters", "5", "--seed", "4")["winters"] == 5


def test_the_words_name_the_tilt_and_what_stands_in_the_way(
    design: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The column of the tilted panel says how it is tilted; the barn has a line of its own."""
    assert main(["place", str(design)]) == 0
    told = capsys.readouterr().out
    tilt = next(line for line in told.splitlines() if line.startswith("  the year: "))
    assert f"Tilted: {tilt.removeprefix('  the year: ').split(',')[0]}, the best" in told
    assert "taken down: 34° above level, from 120° to 160°" in " ".join(told.split())
    assert "a plan also turns open panels past what stands in the way." in told
    assert "skyline: highest 12° above level, in the south (180°)" in told
    assert max(len(line) for line in told.splitlines()) <= 90
    assert "Nearest data" not in told
    assert main(["place", "31.5, 35.45", "--winters", "5"]) == 0
    sunk = capsys.readouterr().out
    assert "m below the sea" in sunk
    assert "What stands round" not in sunk
    assert "Nearest data" in sunk


def test_the_picture_shows_the_skyline(
    design: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """SVG and PNG are drawn from the design; another ending is refused before the work."""
    drawn = tmp_path / "sun.svg"
    assert main(["place", str(design), "--picture", str(drawn)]) == 0
    content = drawn.read_text("utf-8")
    assert "barn" in content
    assert "Grey is what stands in the way" in content
    assert main(["place", str(design), "--picture", str(tmp_path / "sun.png")]) == 0
    capsys.readouterr()
    assert main(["place", str(design), "--picture", str(tmp_path / "sun.jpg")]) == 2
    caught = capsys.readouterr()
    assert caught.out == ""
    assert "ends in .svg or .png" in caught.err


def test_a_weather_file_beside_the_design_is_used(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A relative file is looked for beside the design; every day of this one is the same share."""
    from sunpantry.sky.clearness import extraterrestrial_kwh_m2_day

    rows = ["# timezone: UTC", "date,ghi_kwh_m2"]
    for at in range(365):
        above = float(extraterrestrial_kwh_m2_day(53.9, at + 2.0))
        month, day = _date(at)
        rows.append(f"2023-{month:02d}-{day:02d},{0.4 * above:.4f}")
    (tmp_path / "own.csv").write_text("\n".join(rows) + "\n", "utf-8")
    text = DESIGN.replace(f"monthly_sun = {OWN_SUN}", 'weather_file = "own.csv"')
    path = tmp_path / "with-file.toml"
    path.write_text(text, "utf-8")
    told = _json(capsys, str(path))
    assert "own.csv" in told["source"]
    assert any("own.csv is taken as one typical year" in note for note in told["notes"])
    june = 0.4 * float(extraterrestrial_kwh_m2_day(53.9, 167.0))
    assert told["monthly_ghi_kwh_m2_day"][5] == pytest.approx(june, rel=0.01)


def _date(day: int) -> tuple[int, int]:
    from sunpantry.timegrid import MONTH_LENGTHS

    for month, length in enumerate(MONTH_LENGTHS, start=1):
        if day < length:
            return month, day + 1
        day -= length
    raise ValueError(day)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("nan,3", "two numbers, latitude then longitude"),
        ("91, 5", "latitude -90 to 90"),
        ("5, 200", "longitude -180 to 180"),
        ("", "a name, a latitude and longitude, or a design file"),
        ("   ", "a name, a latitude and longitude, or a design file"),
        ("x" * 300, "a name, a latitude and longitude, or a design file"),
        ("nowhere.toml", "a design file that exists"),
    ],
)
def test_what_is_no_place_is_said_in_a_line(
    text: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sentence, no traceback, exit status 2."""
    assert main(["place", text]) == 2
    caught = capsys.readouterr()
    assert told in caught.err
    assert caught.out == ""


def test_a_faulty_design_is_told_like_everywhere(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The field is named."""
    path = tmp_path / "bad.toml"
    path.write_text(DESIGN.replace("latitude = 53.9", "latitude = 95"), "utf-8")
    assert main(["place", str(path)]) == 2
    assert "site.latitude" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["53.2", "-9.1"], "53.20, -9.10, "),
        (["-33.9,", "151.2"], "-33.90, 151.20, "),
        (["Santiago", "de", "Compostela"], "Santiago de Compostela, ES, "),
    ],
)
def test_a_place_needs_no_quotes(
    words: list[str], told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Words after one another are one place."""
    assert main(["place", *words, "--winters", "5"]) == 0
    assert capsys.readouterr().out.startswith(told)


@pytest.mark.parametrize("option", ["--jsn", "-x"])
def test_a_mistyped_option_is_no_place(option: str, capsys: pytest.CaptureFixture[str]) -> None:
    """A coordinate may begin with a minus, a letter after it is an option."""
    assert main(["place", "53.2,", "-9.1", option]) == 2
    assert f"option = {option}" in capsys.readouterr().err

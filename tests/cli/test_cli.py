"""The command line: every command, its errors, its JSON."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from sunpantry import __version__
from sunpantry.cli import main
from sunpantry.language import language

pytestmark = pytest.mark.regression

LAMP = """\
schema = 1
name = "Lamp in the hut"

[site]
latitude = 54.1
longitude = -9.2

[[load]]
name = "Lamp"
power = "8 W"
supply = "12 V"        # "5 V", "12 V", "24 V" or "mains"
hours_per_day = 4      # by default in the evening, after dusk
"""

FAULTY = """\
schema = 1
name = "Nothing right"
colour = "green"

[site]
latitude = 95
longitude = -9.2

[[load]]
name = "Lamp"
power = "-8 W"
supply = "12 V"
hours_per_day = 4

[[load]]
name = "Radio"
power = "5 kg"
suply = "12 V"
hours_per_day = 2
"""


@pytest.fixture
def lamp(tmp_path: Path) -> Path:
    """The shortest document."""
    path = tmp_path / "lamp.toml"
    path.write_text(LAMP, "utf-8")
    return path


def test_every_command_has_help(capsys: pytest.CaptureFixture[str]) -> None:
    """`-h` on the program and on each command answers with words and status 0."""
    assert main(["-h"]) == 0
    listing = capsys.readouterr().out
    for command in ("new", "plan", "place", "parts", "loads", "examples"):
        assert command in listing
        assert main([command, "--help"]) == 0
        assert len(capsys.readouterr().out) > 100


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    """The version is that of the package."""
    assert main(["--version"]) == 0
    assert __version__ in capsys.readouterr().out


def test_unknown_command_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    """A mistyped command ends with status 2 and no traceback."""
    assert main(["paln"]) == 2
    assert "Traceback" not in capsys.readouterr().err


def test_new_writes_a_document_that_plans_and_never_overwrites(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The starter is a valid document; a second call leaves the file as it is."""
    from sunpantry.plan import read_plan_design

    path = tmp_path / "mine.toml"
    assert main(["new", str(path)]) == 0
    assert read_plan_design(path).loads
    path.write_text("changed", "utf-8")
    assert main(["new", str(path)]) == 2
    assert path.read_text("utf-8") == "changed"
    assert "nothing is overwritten" in capsys.readouterr().err


def test_new_like_an_example(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """An example is written as shipped; an unknown one is told with a close match."""
    path = tmp_path / "hut.toml"
    assert main(["new", "--like", "apiary-hut", str(path)]) == 0
    assert "Carrowmoor" in path.read_text("utf-8")
    assert main(["new", "--like", "apiary-hat", str(tmp_path / "x.toml")]) == 2
    assert "did you mean 'apiary-hut'" in capsys.readouterr().err


def test_all_problems_at_once(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every fault of a document is named in one go, with status 2."""
    path = tmp_path / "faulty.toml"
    path.write_text(FAULTY, "utf-8")
    assert main(["plan", str(path)]) == 2
    told = capsys.readouterr().err
    for piece in (
        "colour",
        "site.latitude",
        "95",
        "load[1].power",
        "-8 W",
        "load[2].power",
        "5 kg",
    ):
        assert piece in told
    assert "supply" in told  # the close match of the mistyped key
    assert "Traceback" not in told


def test_missing_file_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file that is not there is told in a sentence."""
    assert main(["plan", str(tmp_path / "nowhere.toml")]) == 2
    assert "nowhere.toml" in capsys.readouterr().err


def test_place_json(capsys: pytest.CaptureFixture[str]) -> None:
    """The JSON of a place carries what it promises."""
    assert main(["place", "54.1, -9.2", "--winters", "10", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert len(told["monthly_ghi_kwh_m2_day"]) == 12
    assert len(told["monthly_temperature_c"]) == 12
    assert told["never_colder_c"] < told["mean_annual_minimum_c"]
    assert set(told["dark_spells"]["7"]) == {"p10", "p50", "p90"}
    assert told["timezone"] == "Europe/Dublin"
    assert isinstance(told["notes"], list)
    assert told["data_distance_km"] >= 0


def test_parts_and_loads_json(capsys: pytest.CaptureFixture[str]) -> None:
    """Lists come as JSON, and can be filtered."""
    assert main(["parts", "battery", "--volts", "12", "--json"]) == 0
    batteries = json.loads(capsys.readouterr().out)["parts"]
    assert batteries
    assert all(10.8 <= one["nominal_v"] <= 13.8 for one in batteries)
    assert main(["loads", "fence", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["loads"]
    assert main(["examples", "--json"]) == 0
    assert "apiary-hut" in {one["name"] for one in json.loads(capsys.readouterr().out)["examples"]}
    assert main(["parts", "lamp"]) == 2
    assert "one of panel" in capsys.readouterr().err


def test_plan_in_words(lamp: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The verdict comes first; parts, proof, frontier and workings follow."""
    assert main(["plan", str(lamp)]) == 0
    told = capsys.readouterr().out
    assert told.split("\n", 1)[0].startswith(("Yes: Lamp in the hut", "No: Lamp in the hut"))
    for title in ("Parts", "The proof, month by month", "The darkest winters", "Workings"):
        assert f"\n{title}\n" in told


def test_plan_json_is_complete_and_the_same_every_time(
    lamp: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The JSON follows its published schema, and two runs print the same bytes."""
    import jsonschema

    outputs = []
    for _ in range(2):
        assert main(["plan", str(lamp), "--json"]) == 0
        outputs.append(capsys.readouterr().out)
    assert outputs[0] == outputs[1]
    plan = json.loads(outputs[0])
    root = Path(__file__).resolve().parents[2]
    jsonschema.validate(plan, json.loads((root / "docs" / "plan.schema.json").read_text("utf-8")))
    audit = plan["proof"]["energy_audit"]
    assert abs(audit["residual_wh"]) < 1e-9 * audit["gathered_wh"]


def test_schema_file_is_up_to_date() -> None:
    """docs/plan.schema.json is what its tool writes."""
    import subprocess
    import sys

    root = Path(__file__).resolve().parents[2]
    tool = root / "tools" / "build_plan_schema.py"
    done = subprocess.run([sys.executable, str(tool), "--check"], check=False, capture_output=True)
    assert done.returncode == 0, done.stderr


SPOKEN = ["explain", "match", "parts", "place", "plan", "sheet", "wire"]


def test_a_command_speaks_the_language_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    """Words and mistakes, as long as the command runs and no longer."""
    parts = ["PWM 10 A, 12/24 V", "12 V 100 Ah AGM"]
    assert main(["match", *parts, "--language", "de"]) == 0
    assert "Sie können zusammen verwendet werden" in capsys.readouterr().out
    assert language() == "en"
    assert main(["match", *parts]) == 0
    assert "They can be used together" in capsys.readouterr().out
    assert main(["explain", "tild", "--language", "de"]) == 2
    assert capsys.readouterr().err.startswith("1 Sache ist zu berichtigen:\n  topic = tild: eines ")
    assert main(["parts", "controller", "--at-most", "5", "--language", "de"]) == 0
    told = capsys.readouterr().out
    assert re.search(r"^Laderegler +PWM 5 A, 12 V +5\sA +15,00$", told, re.M)


@pytest.mark.parametrize("command", SPOKEN)
def test_an_unknown_language_is_told(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    """By every command that speaks, before it begins."""
    rest = {"parts": [], "explain": []}.get(command, ["x.toml"])
    assert main([command, *rest, "--language", "fr"]) == 2
    assert "--language = fr: one of en, de" in capsys.readouterr().err


def test_a_plan_in_german(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Wiring and drawings of the smallest design; the JSON stays English."""
    path = tmp_path / "lamp.toml"
    path.write_text(f"winters = 2\n{LAMP}", "utf-8")
    drawings = tmp_path / "drawn"
    assert main(["wire", str(path), "--language", "de", "--drawings", str(drawings)]) == 0
    assert capsys.readouterr().out.startswith("Verdrahtung von Lamp in the hut\n\nKabel\n-----\n")
    assert "Schaltplan" in (drawings / "diagram.svg").read_text("utf-8")
    assert main(["wire", str(path), "--language", "de", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["settings"][0]["part"] == "controller"

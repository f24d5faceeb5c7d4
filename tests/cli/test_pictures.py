"""Pictures and explanations from the command line."""

from __future__ import annotations

from pathlib import Path

import pytest

from sunpantry.cli import main
from sunpantry.examples import example
from sunpantry.explain import topics

pytestmark = pytest.mark.regression


@pytest.fixture
def bank(tmp_path: Path) -> Path:
    """A power bank and phones, over few winters."""
    path = tmp_path / "bank.toml"
    text = example("phone-by-night").text
    path.write_text(text.replace("schema = 1\n", "schema = 1\nwinters = 4\n"), "utf-8")
    return path


def test_pictures_of_a_chosen_winter(
    bank: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Every chart in two formats; another winter, another ground, other numbers change them."""
    plain, other = tmp_path / "plain", tmp_path / "other"
    assert main(["plan", str(bank), "--pictures", str(plain)]) == 0
    names = {path.name for path in plain.iterdir()}
    assert "charge-winters.svg" in names
    assert {name.replace(".svg", ".png") for name in names if name.endswith(".svg")} <= names
    options = ["--theme", "dark", "--locale", "de_DE"]
    drawn = []
    for winter in range(1, 4):
        where = other / str(winter)
        arguments = ["plan", str(bank), "--pictures", str(where), "--winter", str(winter)]
        assert main([*arguments, *options]) == 0
        drawn.append((where / "charge-winters.svg").read_text("utf-8"))
    assert any(f"winter {winter}" in drawn[winter - 1] for winter in range(1, 4))
    assert "€" in (other / "1" / "frontier.svg").read_text("utf-8")
    assert (other / "1" / "days.svg").read_text("utf-8") != (plain / "days.svg").read_text("utf-8")
    capsys.readouterr()


@pytest.mark.parametrize(
    ("options", "problem"),
    [
        (["--winter", "9"], "winter = 9: 1 to 4"),
        (["--theme", "blue"], "theme = blue: 'light' or 'dark'"),
        (["--locale", "xx"], "locale = xx"),
    ],
)
def test_what_cannot_be_drawn_is_told(
    bank: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], options: list[str], problem: str
) -> None:
    """Field, value, what is allowed."""
    assert main(["plan", str(bank), "--pictures", str(tmp_path / "p"), *options]) == 2
    assert problem in capsys.readouterr().err


def test_a_winter_needs_a_picture(bank: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Told before anything is planned."""
    assert main(["plan", str(bank), "--winter", "2"]) == 2
    assert "--pictures" in capsys.readouterr().err


def test_every_topic_alone_and_with_a_design(
    bank: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The text alone; with a design a figure of its own, in the numbers asked for."""
    for one in topics():
        assert main(["explain", one.name]) == 0
        alone = capsys.readouterr().out
        assert alone.startswith(one.title)
        assert "In your system" not in alone
    assert main(["explain", "volts-amps-watts", "--design", str(bank), "--locale", "de_DE"]) == 0
    told = capsys.readouterr().out
    assert "In your system: Your Phone" in told
    assert "1,4" in told.split("In your system")[1]
    assert max(map(len, told.splitlines())) <= 100

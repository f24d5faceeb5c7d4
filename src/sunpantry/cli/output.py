"""What the commands share: printing, and progress on the error stream."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated

import typer

from sunpantry.errors import InputError
from sunpantry.language import LANGUAGES, speak


def _speak(name: str) -> str:
    """Have everything that follows said in a language."""
    if name not in LANGUAGES:
        raise InputError.one(
            "--language", name, f"one of {', '.join(LANGUAGES)}", "choose one of them"
        )
    speak(name)
    return name


Language = Annotated[
    str,
    typer.Option("--language", callback=_speak, help="Language of the words: en or de."),
]
AsJson = Annotated[bool, typer.Option("--json", help="Print one JSON object instead of words.")]
DesignFile = Annotated[Path, typer.Argument(metavar="FILE", help="A design document (TOML).")]
FetchYears = Annotated[
    int | None,
    typer.Option(
        "--fetch",
        metavar="YEARS",
        min=2,
        max=30,
        help="Go online: fetch so many measured years from NASA POWER, and use them.",
    ),
]
Progress = Callable[[float, str], None]


def _say_nothing(fraction: float, words: str) -> None:
    del fraction, words


@contextmanager
def progress_bar(*, quiet: bool = False) -> Iterator[Progress]:
    """Show a bar on the error stream while something long goes on; silent when piped."""
    if quiet or not sys.stderr.isatty():
        yield _say_nothing
        return
    from rich.console import Console
    from rich.progress import BarColumn, TextColumn, TimeElapsedColumn
    from rich.progress import Progress as Bar

    columns = (BarColumn(), TextColumn("{task.description}"), TimeElapsedColumn())
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("starting", total=1.0)
        yield lambda fraction, words: bar.update(task, completed=fraction, description=words)


def write_new(path: Path, text: str) -> None:
    """Write a file that must not be there yet.

    Raises
    ------
    InputError
        When it is there, or cannot be written.
    """
    try:
        with path.open("x", encoding="utf-8") as stream:
            stream.write(text)
    except FileExistsError:
        raise InputError.one(
            "FILE",
            path,
            "a file that is not there yet",
            "nothing is overwritten: choose another name",
        ) from None
    except OSError as error:
        raise InputError.one(
            "FILE", path, "a place that can be written to", error.strerror or "check the path"
        ) from None

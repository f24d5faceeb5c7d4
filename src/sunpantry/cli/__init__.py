"""The command line: parse, call, print."""

from __future__ import annotations

import sys
from collections.abc import Sequence

from sunpantry.errors import InputError, SunpantryError
from sunpantry.language import speaking
from sunpantry.phrases import phrases


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    arguments : sequence of str, optional
        Words after the program's name; those of the process by default.

    Returns
    -------
    int
        Exit status: 0 done, 1 could not be done, 2 the input cannot be used.
    """
    from sunpantry.cli.app import app

    with speaking("en"):  # until --language says otherwise, and no longer than this command
        try:
            app(args=list(arguments) if arguments is not None else None)
        except SystemExit as ended:  # the framework ends every command this way
            return ended.code if isinstance(ended.code, int) else int(ended.code is not None)
        except SunpantryError as error:
            tell(error)
            return error.exit_status
    return 0


def tell(error: SunpantryError) -> None:
    """Print an error for a person, one line a problem, on the error stream."""
    from sunpantry.report.spoken import spoken

    if isinstance(error, InputError):
        count = len(error.problems)
        lines = [spoken(phrases("1 thing to mend:", "{count} things to mend:", count=count))]
        for one in error.problems:
            value, allowed, remedy = map(spoken, (one.value, one.allowed, one.remedy))
            lines.append(f"  {one.where} = {value}: {allowed}; {remedy}")
    else:
        lines = [spoken(error.args[0]) if error.args else str(error)]
    print("\n".join(lines), file=sys.stderr)  # noqa: T201 — the command line prints


def run() -> None:
    """Entry point of the installed script."""
    sys.exit(main())

"""Parts that were chosen before, kept on this machine, so that a design opens at once."""

from __future__ import annotations

import logging
import os
import pickle
import tempfile
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

from sunpantry import __version__

if TYPE_CHECKING:
    from sunpantry.web.tasks import Found

MOST_KEPT = 400
_log = logging.getLogger("sunpantry.web")


@cache
def made_by() -> str:
    """What a choice depends on besides its document: this version, as it is installed here."""
    package = Path(__file__).resolve().parent.parent
    newest = max(
        (one.stat().st_mtime_ns for one in package.rglob("*") if one.suffix in {".py", ".toml"}),
        default=0,
    )
    return f"{__version__}-{newest:x}"


class Chosen:
    """A folder of choices, the least used of which go.

    The folder belongs to the user, as the compiled code does: nothing that was sent from
    elsewhere is ever read from it. What cannot be read is as if it were not there.

    Parameters
    ----------
    folder : Path
        Made when first needed.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def _file(self, key: str) -> Path:
        return self._folder / f"{key}.choice"

    def look(self, key: str) -> Found | None:
        """Find the parts chosen for a document by this very version."""
        from sunpantry.web.tasks import Found

        file = self._file(key)
        try:
            made, found = pickle.loads(file.read_bytes())  # noqa: S301 — written by put() alone
        except FileNotFoundError:
            return None
        except Exception:  # noqa: BLE001 — a damaged or older file: chosen anew
            _log.info("a kept choice cannot be read", exc_info=True)
            return None
        if made != made_by() or not isinstance(found, Found):
            return None
        try:
            file.touch()
        except OSError:
            _log.info("a kept choice cannot be touched", exc_info=True)
        return found

    def put(self, key: str, found: Found) -> None:
        """Keep parts that were chosen; a full disk is no reason to stop."""
        try:
            self._folder.mkdir(mode=0o700, parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self._folder, suffix=".part")
            with os.fdopen(handle, "wb") as out:
                pickle.dump((made_by(), found), out)
            Path(name).replace(self._file(key))
            self._tidy()
        except (OSError, pickle.PicklingError):
            _log.warning("a choice of parts cannot be kept", exc_info=True)

    def _tidy(self) -> None:
        kept = sorted(self._folder.glob("*.choice"), key=lambda one: one.stat().st_mtime)
        for old in kept[:-MOST_KEPT]:
            old.unlink(missing_ok=True)

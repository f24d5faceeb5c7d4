"""How the page is run: where it listens, what it allows."""

from __future__ import annotations

import ipaddress
import os
from dataclasses import dataclass, field
from pathlib import Path


def default_data_folder() -> Path:
    """Where weather files of the user are looked for."""
    from platformdirs import user_data_path

    return Path(user_data_path("sunpantry", appauthor=False))


@dataclass(frozen=True)
class Settings:
    """Everything that can be set, with its limit in the name.

    Parameters
    ----------
    host : str
        Address listened on; anything but a loopback address demands a token for writing.
    port : int
        Port listened on.
    token : str or None
        Word that must be given before anything can be changed; ``None`` on loopback.
    names : tuple of str
        Further host names the page may be called by.
    store_url : str or None
        Database of saved designs; the user's own file by default.
    data_folder : Path
        Weather files are read from ``weather/`` in it, and from nowhere else.
    workers : int
        Processes that answer changes.
    max_body_bytes, max_upload_bytes, max_document_characters : int
        Largest request; largest weather file; largest design document.
    max_loads, max_arrays, max_rows, max_winters : int
        Most loads, arrays, rows of any other table, and winters of a design on the page.
    max_searches_waiting : int
        Searches that may queue up before new ones are refused.
    writes_per_minute : int
        Changes one address may make, when not on loopback.
    reply_wait_s : float
        How long a reply to a change waits for the new answer before showing the old one.
    """

    host: str = "127.0.0.1"
    port: int = 8321
    token: str | None = None
    names: tuple[str, ...] = ()
    store_url: str | None = None
    data_folder: Path = field(default_factory=default_data_folder)
    workers: int = field(default_factory=lambda: max(1, os.cpu_count() or 1))
    max_body_bytes: int = 600_000
    max_upload_bytes: int = 12_000_000
    max_document_characters: int = 200_000
    max_loads: int = 60
    max_arrays: int = 12
    max_rows: int = 40
    max_winters: int = 60
    max_searches_waiting: int = 200
    writes_per_minute: int = 120
    reply_wait_s: float = 1.2

    @property
    def on_loopback(self) -> bool:
        """Whether only this machine can reach the page."""
        return is_loopback(self.host)


def is_loopback(host: str) -> bool:
    """Whether an address or name means this machine and no other.

    Parameters
    ----------
    host : str
        As bound to or as called by, without a port.
    """
    if host.casefold() == "localhost":
        return True
    try:
        return ipaddress.ip_address(host.strip("[]")).is_loopback
    except ValueError:
        return False

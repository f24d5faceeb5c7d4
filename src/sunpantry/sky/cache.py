"""Results kept on disk under a key made of everything that went into them.

The key holds the inputs and the code of this package, so a file is either right or never
asked for. Files are written aside and moved into place, so a reader in another process
sees a whole file or none; a damaged one is made again. The least recently used go first
when the cache outgrows its limit.

``SUNPANTRY_CACHE`` names another directory, or turns the cache off (``off``).
"""

from __future__ import annotations

import contextlib
import dataclasses
import hashlib
import os
import tempfile
import zipfile
import zlib
from collections.abc import Callable
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

import numpy as np

from sunpantry import __version__
from sunpantry.timegrid import FloatArray

SIZE_LIMIT_BYTES = 500_000_000
# One result may take this share of the limit; larger ones are made anew each time.
LARGEST_SHARE = 0.25
_DAMAGED = (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, zlib.error)


def cache_directory() -> Path | None:
    """Where results are kept.

    Returns
    -------
    Path or None
        None if the cache is turned off.
    """
    chosen = os.environ.get("SUNPANTRY_CACHE", "")
    if chosen.lower() == "off":
        return None
    if chosen:
        return Path(chosen)
    from platformdirs import user_cache_path

    return user_cache_path("sunpantry", appauthor=False)


def content_key(*parts: object) -> str:
    """Name for a result, from all that went into it.

    Parameters
    ----------
    *parts : object
        Numbers, words, arrays, None, tuples, lists, and frozen dataclasses of those.

    Returns
    -------
    str
        40 hexadecimal digits; the code of this package goes in too.

    Raises
    ------
    TypeError
        If a part is of another kind, whose content cannot be told.
    """
    digest = hashlib.blake2b(_code_digest(), digest_size=20)
    _feed(digest, parts)
    return digest.hexdigest()


def cached_arrays(
    key: str, make: Callable[[], dict[str, FloatArray]], *, limit_bytes: int = SIZE_LIMIT_BYTES
) -> dict[str, FloatArray]:
    """Read a result, or make it and keep it.

    Parameters
    ----------
    key : str
        From :func:`content_key`.
    make : callable
        Makes the arrays by name.
    limit_bytes : int
        Size the cache is held to [bytes].

    Returns
    -------
    dict of str to ndarray
        The arrays, as made. A directory that cannot be written to is no error.
    """
    directory = cache_directory()
    if directory is None:
        return make()
    path = directory / f"{key}.npz"
    with contextlib.suppress(*_DAMAGED):
        with path.open("rb") as stream, np.load(stream, allow_pickle=False) as data:
            arrays = {name: np.asarray(data[name], dtype=np.float64) for name in data.files}
        os.utime(path)
        if arrays:
            return arrays
    arrays = make()
    if sum(array.nbytes for array in arrays.values()) <= LARGEST_SHARE * limit_bytes:
        with contextlib.suppress(OSError):
            _write(path, arrays)
            _trim(directory, limit_bytes)
    return arrays


def _write(path: Path, arrays: dict[str, FloatArray]) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, suffix=".part")
    aside = Path(name)
    try:
        with os.fdopen(handle, "wb") as stream:
            # Stored, not packed: reading back should cost less than making again.
            np.savez(stream, **arrays)  # type: ignore[arg-type]
        aside.replace(path)
    finally:
        aside.unlink(missing_ok=True)


def _trim(directory: Path, limit_bytes: int) -> None:
    """Remove the least recently used results until the rest fit."""
    kept = []
    for path in directory.glob("*.npz"):
        with contextlib.suppress(OSError):  # another process may have removed it
            stat = path.stat()
            kept.append((stat.st_mtime_ns, stat.st_size, path))
    total = sum(size for _, size, _ in kept)
    for _, size, path in sorted(kept):
        if total <= limit_bytes:
            return
        with contextlib.suppress(OSError):
            path.unlink()
        total -= size


@lru_cache(maxsize=1)
def _code_digest() -> bytes:
    """Fingerprint of this package's code, so that changed code never meets old results."""
    digest = hashlib.blake2b(__version__.encode(), digest_size=16)
    package = files("sunpantry")
    modules = [package / "timegrid.py", *(package / "sky").iterdir()]
    for module in sorted(modules, key=lambda entry: entry.name):
        if module.name.endswith(".py"):
            digest.update(module.read_bytes())
    return digest.digest()


def _feed(digest: hashlib.blake2b, part: object) -> None:
    """Add one part, each with its kind in front so that no two read alike."""
    if isinstance(part, np.ndarray):
        digest.update(f"array {part.dtype.str} {part.shape} ".encode())
        digest.update(np.ascontiguousarray(part).tobytes())
    elif part is None or isinstance(part, bool | int | float | str | np.generic):
        digest.update(f"{type(part).__name__} {part!r} ".encode())
    elif isinstance(part, tuple | list):
        digest.update(f"list {len(part)} ".encode())
        for item in part:
            _feed(digest, item)
    elif dataclasses.is_dataclass(part) and not isinstance(part, type):
        digest.update(f"record {type(part).__qualname__} ".encode())
        for field in dataclasses.fields(part):
            _feed(digest, getattr(part, field.name))
    else:
        raise TypeError(f"cannot make a key from {type(part).__name__}")

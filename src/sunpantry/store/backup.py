"""All designs with all their versions in one file, and back again."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import select
from sqlalchemy.orm import Session

from sunpantry.errors import InputError
from sunpantry.store.database import make_engine, migrate
from sunpantry.store.store import Store
from sunpantry.store.tables import DesignRow, VersionRow
from sunpantry.store.types import StoreError

_BATCH = 500
_SQLITE = b"SQLite format 3\x00"


@dataclass(frozen=True, slots=True)
class Copied:
    """What a backup or a restore did.

    Parameters
    ----------
    designs, versions : int
        Written.
    beside : int
        Designs that differ from the one of the same number that was there, and were
        therefore put beside it.
    """

    designs: int
    versions: int
    beside: int = 0


def back_up(store: Store, path: Path) -> Copied:
    """Write every design and version into one new file, whatever database they are in.

    Parameters
    ----------
    store : Store
        Where they are.
    path : Path
        A file that is not there yet.

    Returns
    -------
    Copied

    Raises
    ------
    InputError
        When the file is there already or cannot be written.
    """
    if path.exists():
        raise InputError.one(
            "FILE", path, "a file that is not there yet", "nothing is overwritten: another name"
        )
    draft = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        target = _open_file(draft)
        try:
            copied = _copy(store, target)
        finally:
            target.close()
        _settle(draft)
        os.link(draft, path)
    except OSError as error:
        raise InputError.one(
            "FILE", path, "a place that can be written to", error.strerror or "check the path"
        ) from None
    finally:
        for name in (draft, Path(f"{draft}-wal"), Path(f"{draft}-shm")):
            name.unlink(missing_ok=True)
    return copied


def restore(store: Store, path: Path) -> Copied:
    """Add the designs of a backup. Nothing that is there is changed.

    A design that is there already gets the versions it lacks; one whose versions differ is
    put beside it as a design of its own.

    Parameters
    ----------
    store : Store
        Where they go.
    path : Path
        A file that :func:`back_up` wrote.

    Returns
    -------
    Copied

    Raises
    ------
    InputError
        When the file is no backup.
    """
    try:
        with path.open("rb") as stream:
            head = stream.read(len(_SQLITE))
    except OSError as error:
        raise InputError.one(
            "FILE", path, "a backup that can be read", error.strerror or "check the path"
        ) from None
    if head != _SQLITE:
        raise InputError.one("FILE", path, "a file that `sunpantry backup` wrote", "choose it")
    try:
        source = _open_file(path)
    except StoreError as error:
        raise InputError.one("FILE", path, "a sound backup", str(error)) from None
    try:
        return _copy(source, store)
    finally:
        source.close()


def _open_file(path: Path) -> Store:
    engine = make_engine(f"sqlite:///{path}")
    migrate(engine)
    return Store(engine)


def _settle(path: Path) -> None:
    """Put everything into the one file and wait until it is on the disk."""
    import sqlite3

    with sqlite3.connect(path) as raw:
        raw.execute("PRAGMA journal_mode = DELETE").close()
        sound = raw.execute("PRAGMA integrity_check").fetchone()[0]
    raw.close()
    if sound != "ok":
        raise StoreError(f"the backup could not be written soundly: {sound}")
    with path.open("rb") as stream:
        os.fsync(stream.fileno())


def _copy(source: Store, target: Store) -> Copied:
    designs = versions = beside = 0
    with source.session(writes=False) as reading:
        for design in reading.scalars(select(DesignRow).order_by(DesignRow.id)):
            rows = reading.scalars(
                select(VersionRow)
                .where(VersionRow.design_id == design.id)
                .order_by(VersionRow.number)
            ).all()
            with target.session(writes=True) as writing:
                here, differs = _place(writing, design, rows)
                beside += differs
                added = _add_missing(writing, here, rows)
            versions += added
            designs += bool(added)
    return Copied(designs, versions, beside)


def _place(writing: Session, design: DesignRow, rows: Sequence[VersionRow]) -> tuple[str, bool]:
    """Find or make the design the rows go to; beside the one there where they differ."""
    there = {row.number: row for row in _versions(writing, design.id)}
    differs = any(
        row.number in there and there[row.number].document != row.document for row in rows
    )
    name = design.id
    if differs:
        # the same file restored again finds the design it made the first time
        name = f"{design.id[:20]}{_mark_of(rows)}"
    if writing.get(DesignRow, name) is None:
        writing.add(DesignRow(id=name, created_at=design.created_at, removed_at=design.removed_at))
        writing.flush()
        return name, differs
    return name, False


def _mark_of(rows: Sequence[VersionRow]) -> str:
    import hashlib

    return hashlib.sha256("\0".join(row.document for row in rows).encode()).hexdigest()[:8]


def _versions(session: Session, design_id: str) -> list[VersionRow]:
    query = select(VersionRow).where(VersionRow.design_id == design_id)
    return list(session.scalars(query.execution_options(yield_per=_BATCH)))


def _add_missing(writing: Session, design_id: str, rows: Sequence[VersionRow]) -> int:
    there = {row.number for row in _versions(writing, design_id)}
    missing = [row for row in rows if row.number not in there]
    for row in missing:
        writing.add(
            VersionRow(
                design_id=design_id,
                number=row.number,
                state=row.state,
                parent=row.parent,
                step=row.step,
                name=row.name,
                note=row.note,
                document=row.document,
                saved_at=row.saved_at,
            )
        )
    return len(missing)

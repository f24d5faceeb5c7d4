"""Saving and finding designs."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

from sqlalchemy import Engine, func, select, text
from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlalchemy.orm import Session

from sunpantry.store.tables import DesignRow, ShareRow, VersionRow
from sunpantry.store.types import (
    ConflictError,
    NotFoundError,
    Saved,
    Step,
    StoreError,
    Summary,
    Version,
)

NOTE_LENGTH = 200
NAME_LENGTH = 120

_Change = Callable[[Session, VersionRow], VersionRow | None]


class Store:
    """Designs and all their versions.

    Parameters
    ----------
    engine : Engine
        Database with up-to-date tables; see :func:`sunpantry.store.open_store`.
    """

    def __init__(self, engine: Engine) -> None:
        self.engine = engine

    def close(self) -> None:
        """Let go of the database."""
        self.engine.dispose()

    @contextmanager
    def session(self, *, writes: bool) -> Iterator[Session]:
        """Open a transaction; a failing database is told in words.

        Parameters
        ----------
        writes : bool
            Whether anything is going to be written.
        """
        try:
            with (
                self.engine.connect().execution_options(writes=writes) as connection,
                Session(connection, expire_on_commit=False) as session,
                session.begin(),
            ):
                yield session
        except IntegrityError:
            raise
        except DBAPIError as error:
            reason = str(error.orig).strip().splitlines()[0]
            raise StoreError(f"the saved designs cannot be used: {reason}") from error

    def create(self, document: str, *, name: str, note: str = "") -> Version:
        """Begin a new design.

        Parameters
        ----------
        document : str
            The design document (TOML).
        name : str
            Name of the design.
        note : str
            Where it came from.
        """
        now, design_id = _now(), _new_id()
        row = VersionRow(
            design_id=design_id,
            number=1,
            state=1,
            parent=None,
            step=Step.CREATED,
            name=name[:NAME_LENGTH],
            note=note[:NOTE_LENGTH],
            document=document,
            saved_at=now,
        )
        with self.session(writes=True) as session:
            session.add(DesignRow(id=design_id, created_at=now, removed_at=None))
            session.flush()
            session.add(row)
        return _version(row)

    def save(
        self,
        design_id: str,
        document: str,
        *,
        base: int,
        name: str,
        note: str = "",
        step: Step = Step.EDITED,
    ) -> Version:
        """Save a changed document as a new version.

        Parameters
        ----------
        design_id : str
            Of the design.
        document : str
            The design document (TOML).
        base : int
            Number of the version that was changed.
        name, note : str
            Name of the design; what was done.
        step : Step
            ``EDITED``, or ``MERGED`` after a conflict.

        Returns
        -------
        Version
            The new one, or the current one where nothing differs from it.

        Raises
        ------
        ConflictError
            When something else was saved after ``base``.
        NotFoundError
            When there is no such design or version.
        """

        def change(session: Session, head: VersionRow) -> VersionRow | None:
            if head.number != base:
                then = _get(session, design_id, base)
                raise ConflictError(_version(then), _version(head), document)
            if document == head.document:
                return None
            return _next(head, document, name=name, note=note, step=step)

        try:
            return self._add(design_id, change)
        except IntegrityError:  # a server let two in at once: the second one lost
            then, head = self.version(design_id, base), self.head(design_id).version
            raise ConflictError(then, head, document) from None

    def undo(self, design_id: str, *, base: int) -> Version:
        """Step back, by a new version with the document as it was before."""
        return self._step(design_id, base, Step.UNDONE)

    def redo(self, design_id: str, *, base: int) -> Version:
        """Step forward again, by a new version with the document that was undone."""
        return self._step(design_id, base, Step.REDONE)

    def return_to(self, design_id: str, number: int, *, base: int) -> Version:
        """Take up an older version again; it can be undone like any change."""
        old = self.version(design_id, number)
        return self.save(
            design_id,
            old.document,
            base=base,
            name=old.name,
            note=str(number),
            step=Step.RETURNED,
        )

    def head(self, design_id: str) -> Saved:
        """Find the current version.

        Raises
        ------
        NotFoundError
            When there is no such design.
        """
        with self.session(writes=False) as session:
            head = _head(session, design_id)
            return Saved(_version(head), _undo_to(session, head), _redo_to(session, head))

    def version(self, design_id: str, number: int) -> Version:
        """Find one version.

        Raises
        ------
        NotFoundError
            When there is none.
        """
        with self.session(writes=False) as session:
            return _version(_get(session, design_id, number))

    def history(self, design_id: str, *, limit: int = 500) -> tuple[Version, ...]:
        """List the versions of a design, the newest first."""
        with self.session(writes=False) as session:
            _head(session, design_id)
            rows = session.scalars(
                select(VersionRow)
                .where(VersionRow.design_id == design_id)
                .order_by(VersionRow.number.desc())
                .limit(limit)
            )
            return tuple(_version(row) for row in rows)

    def designs(self, *, limit: int = 500) -> tuple[Summary, ...]:
        """List the designs, the last changed first."""
        newest = (
            select(VersionRow.design_id, func.max(VersionRow.number).label("number"))
            .group_by(VersionRow.design_id)
            .subquery()
        )
        query = (
            select(VersionRow)
            .join(
                newest,
                (newest.c.design_id == VersionRow.design_id)
                & (newest.c.number == VersionRow.number),
            )
            .join(DesignRow, DesignRow.id == VersionRow.design_id)
            .where(DesignRow.removed_at.is_(None))
            .order_by(VersionRow.saved_at.desc(), VersionRow.design_id)
            .limit(limit)
        )
        with self.session(writes=False) as session:
            return tuple(
                Summary(row.design_id, row.name, row.number, row.saved_at)
                for row in session.scalars(query)
            )

    def duplicate(self, design_id: str, *, name: str, number: int | None = None) -> Version:
        """Begin a new design from a version of another one (the current one by default)."""
        old = self.head(design_id).version if number is None else self.version(design_id, number)
        return self.create(old.document, name=name, note=f"{old.name} ({old.number})")

    def remove(self, design_id: str) -> None:
        """Take a design off the list. It is kept, and :meth:`bring_back` undoes it."""
        self._mark(design_id, _now())

    def bring_back(self, design_id: str) -> None:
        """Put a removed design on the list again."""
        self._mark(design_id, None)

    def share(self, design_id: str) -> str:
        """Make an unguessable read-only link.

        Returns
        -------
        str
            The secret part of the link; only its digest is kept.
        """
        secret = secrets.token_urlsafe(24)
        with self.session(writes=True) as session:
            _head(session, design_id)
            session.add(
                ShareRow(digest=_digest(secret), design_id=design_id, made_at=_now(), ended_at=None)
            )
        return secret

    def shared(self, secret: str) -> str:
        """Find the design a link leads to.

        Raises
        ------
        NotFoundError
            When the link is unknown or was ended.
        """
        with self.session(writes=False) as session:
            row = session.get(ShareRow, _digest(secret))
            if row is None or row.ended_at is not None:
                raise NotFoundError("this link leads nowhere, or was ended")
            return row.design_id

    def end_sharing(self, design_id: str) -> int:
        """End every link to a design; say how many there were."""
        with self.session(writes=True) as session:
            rows = session.scalars(
                select(ShareRow).where(ShareRow.design_id == design_id, ShareRow.ended_at.is_(None))
            ).all()
            for row in rows:
                row.ended_at = _now()
            return len(rows)

    def links(self, design_id: str) -> int:
        """How many links lead to a design."""
        with self.session(writes=False) as session:
            count = session.scalar(
                select(func.count())
                .select_from(ShareRow)
                .where(ShareRow.design_id == design_id, ShareRow.ended_at.is_(None))
            )
            return int(count or 0)

    def check(self) -> None:
        """Ask the database whether it is there.

        Raises
        ------
        StoreError
            When it is not.
        """
        with self.session(writes=False) as session:
            session.execute(text("SELECT 1"))

    def _mark(self, design_id: str, removed_at: datetime | None) -> None:
        with self.session(writes=True) as session:
            row = session.get(DesignRow, design_id)
            if row is None:
                raise NotFoundError(f"there is no design {design_id}")
            row.removed_at = removed_at

    def _step(self, design_id: str, base: int, step: Step) -> Version:
        def change(session: Session, head: VersionRow) -> VersionRow | None:
            if head.number != base:
                then = _get(session, design_id, base)
                raise ConflictError(_version(then), _version(head), then.document)
            find = _undo_to if step is Step.UNDONE else _redo_to
            number = find(session, head)
            if number is None:
                return None
            goal = _get(session, design_id, number)
            made = _next(head, goal.document, name=goal.name, note=str(number), step=step)
            made.state = goal.state
            return made

        try:
            return self._add(design_id, change)
        except IntegrityError:
            then, head = self.version(design_id, base), self.head(design_id).version
            raise ConflictError(then, head, then.document) from None

    def _add(self, design_id: str, change: _Change) -> Version:
        with self.session(writes=True) as session:
            head = _head(session, design_id)
            row = change(session, head)
            if row is None:
                return _version(head)
            session.add(row)
        return _version(row)


def _now() -> datetime:
    return datetime.now(UTC)


def _new_id() -> str:
    return secrets.token_hex(8)


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def _head(session: Session, design_id: str) -> VersionRow:
    row = session.scalars(
        select(VersionRow)
        .where(VersionRow.design_id == design_id)
        .order_by(VersionRow.number.desc())
        .limit(1)
    ).first()
    if row is None:
        raise NotFoundError(f"there is no design {design_id}")
    return row


def _get(session: Session, design_id: str, number: int) -> VersionRow:
    row = session.get(VersionRow, (design_id, number))
    if row is None:
        raise NotFoundError(f"there is no version {number} of design {design_id}")
    return row


def _undo_to(session: Session, head: VersionRow) -> int | None:
    """State the current one was changed from."""
    return _get(session, head.design_id, head.state).parent


def _redo_to(session: Session, head: VersionRow) -> int | None:
    """Newest state that was made from the current one; there is none after a fresh edit."""
    return session.scalar(
        select(func.max(VersionRow.number)).where(
            VersionRow.design_id == head.design_id,
            VersionRow.parent == head.state,
            VersionRow.state == VersionRow.number,
        )
    )


def _next(head: VersionRow, document: str, *, name: str, note: str, step: Step) -> VersionRow:
    return VersionRow(
        design_id=head.design_id,
        number=head.number + 1,
        state=head.number + 1,
        parent=head.state,
        step=step,
        name=name[:NAME_LENGTH],
        note=note[:NOTE_LENGTH],
        document=document,
        saved_at=_now(),
    )


def _version(row: VersionRow) -> Version:
    return Version(
        design_id=row.design_id,
        number=row.number,
        document=row.document,
        name=row.name,
        note=row.note,
        step=Step(row.step),
        state=row.state,
        parent=row.parent,
        saved_at=row.saved_at,
    )

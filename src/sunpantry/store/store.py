"""Saving and finding designs."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from datetime import datetime

from sqlalchemy import func, select, text
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from sunpantry.phrases import phrase
from sunpantry.store.sessions import head_of, now
from sunpantry.store.sharing import Sharing
from sunpantry.store.tables import DesignRow, VersionRow
from sunpantry.store.types import (
    ConflictError,
    NotFoundError,
    Saved,
    Step,
    Summary,
    Version,
)

NOTE_LENGTH = 200
NAME_LENGTH = 120

_Change = Callable[[Session, VersionRow], VersionRow | None]


class Store(Sharing):
    """Designs and all their versions.

    Parameters
    ----------
    engine : Engine
        Database with up-to-date tables; see :func:`sunpantry.store.open_store`.
    """

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
        moment, design_id = now(), _new_id()
        row = VersionRow(
            design_id=design_id,
            number=1,
            state=1,
            parent=None,
            step=Step.CREATED,
            name=name[:NAME_LENGTH],
            note=note[:NOTE_LENGTH],
            document=document,
            saved_at=moment,
        )
        with self.session(writes=True) as session:
            session.add(DesignRow(id=design_id, created_at=moment, removed_at=None))
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
            head = head_of(session, design_id)
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
            head_of(session, design_id)
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

    def duplicate(
        self, design_id: str, *, name: str, number: int | None = None, document: str | None = None
    ) -> Version:
        """Begin a new design from a version of another one (the current one by default).

        A document that tells the new name itself may be given in the place of the old one.
        """
        old = self.head(design_id).version if number is None else self.version(design_id, number)
        text = old.document if document is None else document
        return self.create(text, name=name, note=f"{old.name} ({old.number})")

    def remove(self, design_id: str) -> None:
        """Take a design off the list. It is kept, and :meth:`bring_back` undoes it."""
        self._mark(design_id, now())

    def bring_back(self, design_id: str) -> None:
        """Put a removed design on the list again."""
        self._mark(design_id, None)

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
                raise NotFoundError(phrase("there is no design {design_id}", design_id=design_id))
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
            head = head_of(session, design_id)
            row = change(session, head)
            if row is None:
                return _version(head)
            session.add(row)
        return _version(row)


def _new_id() -> str:
    return secrets.token_hex(8)


def _get(session: Session, design_id: str, number: int) -> VersionRow:
    row = session.get(VersionRow, (design_id, number))
    if row is None:
        raise NotFoundError(
            phrase(
                "there is no version {number} of design {design_id}",
                number=number,
                design_id=design_id,
            )
        )
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
        saved_at=now(),
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

"""Transactions, and the rows everything starts from."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

from sqlalchemy import Engine, select
from sqlalchemy.exc import DBAPIError, IntegrityError
from sqlalchemy.orm import Session

from sunpantry.phrases import phrase
from sunpantry.store.tables import VersionRow
from sunpantry.store.types import NotFoundError, StoreError


class Sessions:
    """A database with up-to-date tables.

    Parameters
    ----------
    engine : Engine
        See :func:`sunpantry.store.open_store`.
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
            raise StoreError(
                phrase("the saved designs cannot be used: {reason}", reason=reason)
            ) from error


def now() -> datetime:
    """The present moment, in UTC."""
    return datetime.now(UTC)


def head_of(session: Session, design_id: str) -> VersionRow:
    """Row of the current version of a design."""
    row = session.scalars(
        select(VersionRow)
        .where(VersionRow.design_id == design_id)
        .order_by(VersionRow.number.desc())
        .limit(1)
    ).first()
    if row is None:
        raise NotFoundError(phrase("there is no design {design_id}", design_id=design_id))
    return row

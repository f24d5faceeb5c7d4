"""Read-only links to designs."""

from __future__ import annotations

import hashlib
import secrets

from sqlalchemy import func, select

from sunpantry.phrases import phrase
from sunpantry.store.sessions import Sessions, head_of, now
from sunpantry.store.tables import ShareRow
from sunpantry.store.types import NotFoundError


class Sharing(Sessions):
    """Links that nobody can guess, known to the database only by their digest."""

    def share(self, design_id: str) -> str:
        """Make an unguessable read-only link.

        Returns
        -------
        str
            The secret part of the link; only its digest is kept.
        """
        secret = secrets.token_urlsafe(24)
        with self.session(writes=True) as session:
            head_of(session, design_id)
            session.add(
                ShareRow(digest=_digest(secret), design_id=design_id, made_at=now(), ended_at=None)
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
                raise NotFoundError(phrase("this link leads nowhere, or was ended"))
            return row.design_id

    def end_sharing(self, design_id: str) -> int:
        """End every link to a design; say how many there were."""
        with self.session(writes=True) as session:
            rows = session.scalars(
                select(ShareRow).where(ShareRow.design_id == design_id, ShareRow.ended_at.is_(None))
            ).all()
            for row in rows:
                row.ended_at = now()
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


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()

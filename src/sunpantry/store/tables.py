"""The tables. Rows of ``version`` are only ever added."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import DateTime, ForeignKey, Index, String, Text, TypeDecorator
from sqlalchemy.engine import Dialect
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column


class Moment(TypeDecorator[datetime]):
    """A point in time in UTC, also where the database knows no time zones."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Give back what was stored, with its time zone."""
        del dialect
        if value is None or value.tzinfo is not None:
            return value
        return value.replace(tzinfo=UTC)


class Base(DeclarativeBase):
    """Root of the tables."""


class DesignRow(Base):
    """One design. What it says is in its versions."""

    __tablename__ = "design"

    id: Mapped[str] = mapped_column(String(32), primary_key=True)
    created_at: Mapped[datetime] = mapped_column(Moment)
    removed_at: Mapped[datetime | None] = mapped_column(Moment)


class VersionRow(Base):
    """One saved state; the pair of design and number is what makes a save safe."""

    __tablename__ = "version"

    design_id: Mapped[str] = mapped_column(
        String(32), ForeignKey("design.id", ondelete="RESTRICT"), primary_key=True
    )
    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    state: Mapped[int]
    parent: Mapped[int | None]
    step: Mapped[str] = mapped_column(String(16))
    name: Mapped[str] = mapped_column(String(120))
    note: Mapped[str] = mapped_column(String(200))
    document: Mapped[str] = mapped_column(Text)
    saved_at: Mapped[datetime] = mapped_column(Moment)


class ShareRow(Base):
    """A read-only link to a design, known by the digest of its secret."""

    __tablename__ = "share"
    __table_args__ = (Index("share_design", "design_id"),)

    digest: Mapped[str] = mapped_column(String(64), primary_key=True)
    design_id: Mapped[str] = mapped_column(String(32), ForeignKey("design.id", ondelete="RESTRICT"))
    made_at: Mapped[datetime] = mapped_column(Moment)
    ended_at: Mapped[datetime | None] = mapped_column(Moment)

"""Designs, their versions, and read-only links.

Revision ID: 0001
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make the first tables."""
    op.create_table(
        "design",
        sa.Column("id", sa.String(32), primary_key=True),
        sa.Column("created_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("removed_at", sa.DateTime(timezone=True)),
    )
    op.create_table(
        "version",
        sa.Column(
            "design_id",
            sa.String(32),
            sa.ForeignKey("design.id", ondelete="RESTRICT"),
            primary_key=True,
        ),
        sa.Column("number", sa.Integer, primary_key=True, autoincrement=False),
        sa.Column("state", sa.Integer, nullable=False),
        sa.Column("parent", sa.Integer),
        sa.Column("step", sa.String(16), nullable=False),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("note", sa.String(200), nullable=False),
        sa.Column("document", sa.Text, nullable=False),
        sa.Column("saved_at", sa.DateTime(timezone=True), nullable=False),
    )
    op.create_table(
        "share",
        sa.Column("digest", sa.String(64), primary_key=True),
        sa.Column(
            "design_id",
            sa.String(32),
            sa.ForeignKey("design.id", ondelete="RESTRICT"),
            nullable=False,
        ),
        sa.Column("made_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("ended_at", sa.DateTime(timezone=True)),
    )
    op.create_index("share_design", "share", ["design_id"])


def downgrade() -> None:
    """Nothing is ever taken away."""
    raise NotImplementedError("saved designs are never thrown away")

"""Lenses learned from photos.

Revision ID: 0005
Revises: 0004
Create Date: 2026-11-25
"""

import sqlalchemy as sa
from alembic import op

revision: str = "0005"
down_revision: str | None = "0004"
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    op.create_table(
        "lenses",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("focal", sa.Double(), nullable=False),
        sa.Column("k1", sa.Double(), nullable=False),
        sa.Column("focal_sigma", sa.Double(), nullable=False),
        sa.Column("k1_sigma", sa.Double(), nullable=False),
        sa.Column("photo_id", sa.Integer(), nullable=True),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.CheckConstraint("focal > 0", name=op.f("ck_lenses_focal")),
        sa.CheckConstraint("focal_sigma > 0 AND k1_sigma > 0", name=op.f("ck_lenses_sigma")),
        sa.ForeignKeyConstraint(["photo_id"], ["photos.id"], name=op.f("fk_lenses_photo_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lenses")),
        sa.UniqueConstraint("name", name=op.f("uq_lenses_name")),
    )


def downgrade() -> None:
    msg = "a store does not go back; take the copy that was made before it was brought up to date"
    raise NotImplementedError(msg)

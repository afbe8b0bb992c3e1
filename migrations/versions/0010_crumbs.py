"""Bags of strings and crumbs, by weight.

Revision ID: 0010
Revises: 0009
Create Date: 2026-11-27
"""

import sqlalchemy as sa
from alembic import op

revision: str = "0010"
down_revision: str | None = "0009"
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    op.create_table(
        "crumbs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("grams", sa.Double(), nullable=True),
        sa.Column("place", sa.String(collation="NOCASE"), nullable=True),
        sa.Column("fabric_id", sa.Integer(), nullable=True),
        sa.Column("family", sa.String(), nullable=True),
        sa.Column("value", sa.String(), nullable=True),
        sa.Column("status", sa.String(), nullable=False),
        sa.Column("set_aside_for", sa.String(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "status IN ('available', 'set aside', 'used up')", name=op.f("ck_crumbs_status")
        ),
        sa.CheckConstraint("value IN ('light', 'medium', 'dark')", name=op.f("ck_crumbs_value")),
        sa.CheckConstraint("grams > 0", name=op.f("ck_crumbs_weight")),
        sa.ForeignKeyConstraint(["fabric_id"], ["fabrics.id"], name=op.f("fk_crumbs_fabric_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_crumbs")),
    )
    for column in ("place", "fabric_id", "family", "status"):
        op.create_index(f"ix_crumbs_{column}", "crumbs", [column])


def downgrade() -> None:
    msg = "a store does not go back; take the copy that was made before it was brought up to date"
    raise NotImplementedError(msg)

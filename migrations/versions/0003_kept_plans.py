"""Kept plans, and which scraps and ready-cut pieces each of them holds.

Revision ID: 0003
Revises: 0002
Create Date: 2026-11-25
"""

import sqlalchemy as sa
from alembic import op

revision: str = "0003"
down_revision: str | None = "0002"
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    op.create_table(
        "plans",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(collation="NOCASE"), nullable=False),
        sa.Column("project", sa.String(), nullable=False),
        sa.Column("document", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.CheckConstraint("name <> ''", name=op.f("ck_plans_name")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plans")),
        sa.UniqueConstraint("name", name=op.f("uq_plans_name")),
    )
    op.create_table(
        "plan_stock",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("plan_id", sa.Integer(), nullable=False),
        sa.Column("scrap_id", sa.Integer(), nullable=True),
        sa.Column("ready_cut_id", sa.Integer(), nullable=True),
        sa.Column("taken_from_id", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "(scrap_id IS NULL) <> (ready_cut_id IS NULL)", name=op.f("ck_plan_stock_one_thing")
        ),
        sa.ForeignKeyConstraint(["plan_id"], ["plans.id"], name=op.f("fk_plan_stock_plan_id")),
        sa.ForeignKeyConstraint(["scrap_id"], ["scraps.id"], name=op.f("fk_plan_stock_scrap_id")),
        sa.ForeignKeyConstraint(
            ["ready_cut_id"], ["ready_cut.id"], name=op.f("fk_plan_stock_ready_cut_id")
        ),
        sa.ForeignKeyConstraint(
            ["taken_from_id"], ["ready_cut.id"], name=op.f("fk_plan_stock_taken_from_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan_stock")),
        sa.UniqueConstraint("scrap_id", name=op.f("uq_plan_stock_scrap_id")),
        sa.UniqueConstraint("ready_cut_id", name=op.f("uq_plan_stock_ready_cut_id")),
    )
    op.create_index("ix_plan_stock_plan_id", "plan_stock", ["plan_id"])


def downgrade() -> None:
    msg = "a store does not go back; take the copy that was made before it was brought up to date"
    raise NotImplementedError(msg)

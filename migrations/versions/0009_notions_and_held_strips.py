"""Batting, forms and zips; and the binding strips that a plan holds.

Revision ID: 0009
Revises: 0008
Create Date: 2026-11-27
"""

import sqlalchemy as sa
from alembic import op

revision: str = "0009"
down_revision: str | None = "0008"
branch_labels: str | None = None
depends_on: str | None = None

_KEPT = "id, plan_id, scrap_id, ready_cut_id, taken_from_id, yardage_id, inches"


def upgrade() -> None:
    op.create_table(
        "notions",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("width", sa.Double(), nullable=True),
        sa.Column("length", sa.Double(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("place", sa.String(collation="NOCASE"), nullable=True),
        sa.Column("fabric_id", sa.Integer(), nullable=True),
        sa.Column("family", sa.String(), nullable=True),
        sa.Column("value", sa.String(), nullable=True),
        sa.Column("status", sa.String(), nullable=False),
        sa.Column("set_aside_for", sa.String(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "status IN ('available', 'set aside', 'used up')", name=op.f("ck_notions_status")
        ),
        sa.CheckConstraint("value IN ('light', 'medium', 'dark')", name=op.f("ck_notions_value")),
        sa.CheckConstraint("kind IN ('batting', 'form', 'zip')", name=op.f("ck_notions_kind")),
        sa.CheckConstraint(
            "length > 0 AND (width IS NULL) = (kind = 'zip') AND (width IS NULL OR width > 0)",
            name=op.f("ck_notions_size"),
        ),
        sa.CheckConstraint("count >= 0", name=op.f("ck_notions_count")),
        sa.ForeignKeyConstraint(["fabric_id"], ["fabrics.id"], name=op.f("fk_notions_fabric_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_notions")),
    )
    for column in ("kind", "place", "fabric_id", "family", "status"):
        op.create_index(f"ix_notions_{column}", "notions", [column])
    # SQLite cannot change a check: a table with the new one takes the rows of the old.
    op.create_table(
        "plan_stock_new",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("plan_id", sa.Integer(), nullable=False),
        sa.Column("scrap_id", sa.Integer(), nullable=True),
        sa.Column("ready_cut_id", sa.Integer(), nullable=True),
        sa.Column("taken_from_id", sa.Integer(), nullable=True),
        sa.Column("yardage_id", sa.Integer(), nullable=True),
        sa.Column("inches", sa.Double(), nullable=True),
        sa.Column("binding_id", sa.Integer(), nullable=True),
        sa.Column("rests", sa.JSON(none_as_null=True), nullable=True),
        sa.CheckConstraint(
            "(scrap_id IS NOT NULL) + (ready_cut_id IS NOT NULL) + (yardage_id IS NOT NULL)"
            " + (binding_id IS NOT NULL) = 1",
            name=op.f("ck_plan_stock_one_thing"),
        ),
        sa.CheckConstraint(
            "(yardage_id IS NULL) = (inches IS NULL) AND (inches IS NULL OR inches > 0)",
            name=op.f("ck_plan_stock_inches"),
        ),
        *(
            sa.ForeignKeyConstraint([column], [f"{table}.id"], name=op.f(f"fk_plan_stock_{column}"))
            for column, table in (
                ("plan_id", "plans"),
                ("scrap_id", "scraps"),
                ("ready_cut_id", "ready_cut"),
                ("taken_from_id", "ready_cut"),
                ("yardage_id", "yardage"),
                ("binding_id", "binding_strips"),
            )
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan_stock")),
        *(
            sa.UniqueConstraint(column, name=op.f(f"uq_plan_stock_{column}"))
            for column in ("scrap_id", "ready_cut_id", "binding_id")
        ),
    )
    op.execute(f"INSERT INTO plan_stock_new ({_KEPT}) SELECT {_KEPT} FROM plan_stock")  # noqa: S608
    op.drop_table("plan_stock")
    op.rename_table("plan_stock_new", "plan_stock")
    op.create_index("ix_plan_stock_plan_id", "plan_stock", ["plan_id"])
    op.create_index("ix_plan_stock_yardage_id", "plan_stock", ["yardage_id"])


def downgrade() -> None:
    msg = "a store does not go back; take the copy that was made before it was brought up to date"
    raise NotImplementedError(msg)

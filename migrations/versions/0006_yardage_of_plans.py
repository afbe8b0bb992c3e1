"""Inches of a length of yardage that a kept plan holds.

Revision ID: 0006
Revises: 0005
Create Date: 2026-11-27
"""

import json
from typing import Any

import sqlalchemy as sa
from alembic import op

revision: str = "0006"
down_revision: str | None = "0005"
branch_labels: str | None = None
depends_on: str | None = None

_KEPT = "id, plan_id, scrap_id, ready_cut_id, taken_from_id"


def upgrade() -> None:
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
        sa.CheckConstraint(
            "(scrap_id IS NOT NULL) + (ready_cut_id IS NOT NULL) + (yardage_id IS NOT NULL) = 1",
            name=op.f("ck_plan_stock_one_thing"),
        ),
        sa.CheckConstraint(
            "(yardage_id IS NULL) = (inches IS NULL) AND (inches IS NULL OR inches > 0)",
            name=op.f("ck_plan_stock_inches"),
        ),
        sa.ForeignKeyConstraint(["plan_id"], ["plans.id"], name=op.f("fk_plan_stock_plan_id")),
        sa.ForeignKeyConstraint(["scrap_id"], ["scraps.id"], name=op.f("fk_plan_stock_scrap_id")),
        sa.ForeignKeyConstraint(
            ["ready_cut_id"], ["ready_cut.id"], name=op.f("fk_plan_stock_ready_cut_id")
        ),
        sa.ForeignKeyConstraint(
            ["taken_from_id"], ["ready_cut.id"], name=op.f("fk_plan_stock_taken_from_id")
        ),
        sa.ForeignKeyConstraint(
            ["yardage_id"], ["yardage.id"], name=op.f("fk_plan_stock_yardage_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan_stock")),
        sa.UniqueConstraint("scrap_id", name=op.f("uq_plan_stock_scrap_id")),
        sa.UniqueConstraint("ready_cut_id", name=op.f("uq_plan_stock_ready_cut_id")),
    )
    op.execute(f"INSERT INTO plan_stock_new ({_KEPT}) SELECT {_KEPT} FROM plan_stock")  # noqa: S608
    op.drop_table("plan_stock")
    op.rename_table("plan_stock_new", "plan_stock")
    op.create_index("ix_plan_stock_plan_id", "plan_stock", ["plan_id"])
    op.create_index("ix_plan_stock_yardage_id", "plan_stock", ["yardage_id"])
    _hold_what_was_promised()


def _hold_what_was_promised() -> None:
    """Set aside what plans kept before take of lengths, the older plan first, while there is any.

    Two of them may have counted on the same inches: the later one holds what the earlier leaves.
    """
    connection = op.get_bind()
    lengths = connection.execute(
        sa.text("SELECT id, length FROM yardage WHERE status <> 'used up'")
    )
    left = {int(row.id): float(row.length) for row in lengths}
    kept = connection.execute(sa.text("SELECT id, document FROM plans ORDER BY id")).all()
    for plan_id, document in kept:
        for number, inches in _taken(document).items():
            held = min(inches, left.get(number, 0.0))
            if held > 0:
                left[number] -= held
                connection.execute(
                    sa.text(
                        "INSERT INTO plan_stock (plan_id, yardage_id, inches)"
                        " VALUES (:plan, :length, :inches)"
                    ),
                    {"plan": plan_id, "length": number, "inches": held},
                )


def _taken(document: str) -> dict[int, float]:
    """Return the inches that a kept answer takes of each length; nothing if it cannot be read."""
    found: dict[int, float] = {}
    try:
        answer: Any = json.loads(document)
        for role in answer["yardage"]:
            for one in role["on_hand"]:
                number, inches = int(one["id"]), float(one["takes"])
                found[number] = found.get(number, 0.0) + inches
    except (ValueError, TypeError, KeyError):
        return {}
    return found


def downgrade() -> None:
    msg = "a store does not go back; take the copy that was made before it was brought up to date"
    raise NotImplementedError(msg)

"""What became of each piece of a plan that is being cut; which change took back which.

Revision ID: 0007
Revises: 0006
Create Date: 2026-11-27
"""

import sqlalchemy as sa
from alembic import op

revision: str = "0007"
down_revision: str | None = "0006"
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    op.create_table(
        "plan_pieces",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("plan_id", sa.Integer(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("state", sa.String(), nullable=False),
        sa.Column("ready_cut_id", sa.Integer(), nullable=True),
        sa.Column("scrap_id", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "state IN ('cut', 'spoilt', 'not cut')", name=op.f("ck_plan_pieces_state")
        ),
        sa.ForeignKeyConstraint(["plan_id"], ["plans.id"], name=op.f("fk_plan_pieces_plan_id")),
        sa.ForeignKeyConstraint(
            ["ready_cut_id"], ["ready_cut.id"], name=op.f("fk_plan_pieces_ready_cut_id")
        ),
        sa.ForeignKeyConstraint(["scrap_id"], ["scraps.id"], name=op.f("fk_plan_pieces_scrap_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plan_pieces")),
        sa.UniqueConstraint("plan_id", "label", name=op.f("uq_plan_pieces_plan_id_label")),
    )
    with op.batch_alter_table("changes") as table:
        table.add_column(sa.Column("undoes", sa.Integer(), nullable=True))
        table.create_foreign_key(op.f("fk_changes_undoes"), "changes", ["undoes"], ["id"])
        table.create_unique_constraint(op.f("uq_changes_undoes"), ["undoes"])


def downgrade() -> None:
    msg = "a store does not go back; take the copy that was made before it was brought up to date"
    raise NotImplementedError(msg)

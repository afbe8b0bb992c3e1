"""Which part of a scrap's edge its margin is kept from: an offcut has fresh edges too.

Revision ID: 0008
Revises: 0007
Create Date: 2026-11-27
"""

import sqlalchemy as sa
from alembic import op

revision: str = "0008"
down_revision: str | None = "0007"
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    with op.batch_alter_table("scraps") as table:
        table.add_column(sa.Column("old_edges", sa.JSON(none_as_null=True), nullable=True))


def downgrade() -> None:
    msg = "a store does not go back; take the copy that was made before it was brought up to date"
    raise NotImplementedError(msg)

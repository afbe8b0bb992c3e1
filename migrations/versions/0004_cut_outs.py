"""The picture of a scrap alone, cut from its photo.

Revision ID: 0004
Revises: 0003
Create Date: 2026-11-25
"""

import sqlalchemy as sa
from alembic import op

revision: str = "0004"
down_revision: str | None = "0003"
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    # Scraps that are there already have none: where in its photo a scrap lies was not kept.
    with op.batch_alter_table("scraps") as table:
        table.add_column(sa.Column("cut_out", sa.JSON(none_as_null=True), nullable=True))


def downgrade() -> None:
    msg = "a store does not go back; take the copy that was made before it was brought up to date"
    raise NotImplementedError(msg)

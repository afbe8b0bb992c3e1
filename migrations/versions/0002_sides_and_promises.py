"""The sides of each scrap, to filter by size, and what a set-aside thing is set aside for.

Revision ID: 0002
Revises: 0001
Create Date: 2026-11-25
"""

from itertools import pairwise

import shapely
import sqlalchemy as sa
from alembic import op

revision: str = "0002"
down_revision: str | None = "0001"
branch_labels: str | None = None
depends_on: str | None = None

_STOCK = ("scraps", "yardage", "ready_cut", "binding_strips")


def upgrade() -> None:
    # Plain ADD COLUMN: a rebuilt table would lose the collations and checks that SQLite's
    # reflection does not report.
    for table in _STOCK:
        op.add_column(table, sa.Column("set_aside_for", sa.String()))
    for side in ("long_side", "short_side"):
        op.add_column("scraps", sa.Column(side, sa.Double(), nullable=False, server_default="0"))
    _work_out_sides()
    op.create_index(
        "ix_scraps_status_long_side_short_side", "scraps", ["status", "long_side", "short_side"]
    )


def _work_out_sides() -> None:
    """Write the sides of the smallest rectangle round every outline there is."""
    connection = op.get_bind()
    scraps = sa.table(
        "scraps",
        sa.column("id", sa.Integer),
        sa.column("outline", sa.LargeBinary),
        sa.column("long_side", sa.Double),
        sa.column("short_side", sa.Double),
    )
    sides = [
        {"scrap": number, "long": long, "short": short}
        for number, outline in connection.execute(sa.select(scraps.c.id, scraps.c.outline))
        for long, short in [_sides(shapely.from_wkb(outline))]
    ]
    if sides:
        written = sa.update(scraps).where(scraps.c.id == sa.bindparam("scrap"))
        connection.execute(
            written.values(long_side=sa.bindparam("long"), short_side=sa.bindparam("short")), sides
        )


def _sides(outline: shapely.Polygon) -> tuple[float, float]:
    # As the program does it, frozen here: a migration must not change when the program does. Of
    # rectangles of equal area the squarest counts.
    hull = shapely.get_coordinates(outline.convex_hull).tolist()
    found = []
    for (x0, y0), (x1, y1) in pairwise(hull):
        length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
        if length > 0:
            ux, uy = (x1 - x0) / length, (y1 - y0) / length
            along = [x * ux + y * uy for x, y in hull]
            across = [y * ux - x * uy for x, y in hull]
            found.append(sorted((max(along) - min(along), max(across) - min(across))))
    smallest = min(short * long for short, long in found)
    short, long = min(
        (sides for sides in found if sides[0] * sides[1] <= smallest * (1 + 1e-9)),
        key=lambda sides: sides[1],
    )
    return round(long, 9), round(short, 9)


def downgrade() -> None:
    msg = "a store does not go back; take the copy that was made before it was brought up to date"
    raise NotImplementedError(msg)

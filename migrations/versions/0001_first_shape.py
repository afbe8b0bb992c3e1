"""The first shape: fabrics, scraps, yardage, ready-cut pieces, binding strips, photos, history.

Revision ID: 0001
Revises:
Create Date: 2026-11-25
"""

import sqlalchemy as sa
from alembic import op

revision: str = "0001"
down_revision: str | None = None
branch_labels: str | None = None
depends_on: str | None = None


def upgrade() -> None:
    op.create_table(
        "changes",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("program", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_changes")),
    )
    op.create_index("ix_changes_at", "changes", ["at"])

    op.create_table(
        "fabrics",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(collation="NOCASE"), nullable=False),
        sa.Column("fibre", sa.String(), nullable=True),
        sa.Column("usable_width", sa.Double(), nullable=True),
        sa.Column("washed", sa.Boolean(), nullable=True),
        sa.Column("one_way_print", sa.Boolean(), nullable=False),
        sa.Column("alike", sa.Boolean(), nullable=False),
        sa.Column("family", sa.String(), nullable=True),
        sa.Column("value", sa.String(), nullable=True),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.CheckConstraint("name <> ''", name=op.f("ck_fabrics_name")),
        sa.CheckConstraint("value IN ('light', 'medium', 'dark')", name=op.f("ck_fabrics_value")),
        sa.CheckConstraint("usable_width > 0", name=op.f("ck_fabrics_usable_width")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fabrics")),
        sa.UniqueConstraint("name", name=op.f("uq_fabrics_name")),
    )
    op.create_index("ix_fabrics_family", "fabrics", ["family"])
    op.create_index("ix_fabrics_value", "fabrics", ["value"])

    op.create_table(
        "photos",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(), nullable=False),
        sa.Column("file_name", sa.String(), nullable=False),
        sa.Column("original_name", sa.String(), nullable=True),
        sa.Column("width", sa.Integer(), nullable=False),
        sa.Column("height", sa.Integer(), nullable=False),
        sa.Column("camera", sa.String(), nullable=True),
        sa.Column("focal_length_mm", sa.Double(), nullable=True),
        sa.Column("taken", sa.DateTime(), nullable=True),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_photos")),
        sa.UniqueConstraint("sha256", name=op.f("uq_photos_sha256")),
    )
    op.create_index("ix_photos_file_name", "photos", ["file_name"])

    op.create_table(
        "binding_strips",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("width", sa.Double(), nullable=False),
        sa.Column("length", sa.Double(), nullable=False),
        sa.Column("start_slope_deg", sa.Double(), nullable=False),
        sa.Column("end_slope_deg", sa.Double(), nullable=False),
        sa.Column("fabric_id", sa.Integer(), nullable=True),
        sa.Column("family", sa.String(), nullable=True),
        sa.Column("value", sa.String(), nullable=True),
        sa.Column("place", sa.String(collation="NOCASE"), nullable=True),
        sa.Column("status", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "status IN ('available', 'set aside', 'used up')", name=op.f("ck_binding_strips_status")
        ),
        sa.CheckConstraint(
            "value IN ('light', 'medium', 'dark')", name=op.f("ck_binding_strips_value")
        ),
        sa.CheckConstraint(
            "start_slope_deg > -90 AND start_slope_deg < 90"
            " AND end_slope_deg > -90 AND end_slope_deg < 90",
            name=op.f("ck_binding_strips_slope"),
        ),
        sa.CheckConstraint("width > 0 AND length > 0", name=op.f("ck_binding_strips_size")),
        sa.ForeignKeyConstraint(
            ["fabric_id"], ["fabrics.id"], name=op.f("fk_binding_strips_fabric_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_binding_strips")),
    )
    op.create_index("ix_binding_strips_fabric_id", "binding_strips", ["fabric_id"])
    op.create_index("ix_binding_strips_family", "binding_strips", ["family"])
    op.create_index("ix_binding_strips_place", "binding_strips", ["place"])
    op.create_index("ix_binding_strips_status", "binding_strips", ["status"])

    op.create_table(
        "history",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("change_id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("row_id", sa.Integer(), nullable=False),
        sa.Column("before", sa.JSON(none_as_null=True), nullable=True),
        sa.Column("after", sa.JSON(none_as_null=True), nullable=True),
        sa.ForeignKeyConstraint(["change_id"], ["changes.id"], name=op.f("fk_history_change_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_history")),
    )
    op.create_index("ix_history_change_id", "history", ["change_id"])
    op.create_index("ix_history_kind_row_id", "history", ["kind", "row_id"])

    op.create_table(
        "ready_cut",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("label", sa.String(), nullable=False),
        sa.Column("measures", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("cut", sa.LargeBinary(), nullable=False),
        sa.Column("long_side", sa.Double(), nullable=False),
        sa.Column("short_side", sa.Double(), nullable=False),
        sa.Column("seam_allowance", sa.Double(), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("fabric_id", sa.Integer(), nullable=True),
        sa.Column("family", sa.String(), nullable=True),
        sa.Column("value", sa.String(), nullable=True),
        sa.Column("place", sa.String(collation="NOCASE"), nullable=True),
        sa.Column("status", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "status IN ('available', 'set aside', 'used up')", name=op.f("ck_ready_cut_status")
        ),
        sa.CheckConstraint("value IN ('light', 'medium', 'dark')", name=op.f("ck_ready_cut_value")),
        sa.CheckConstraint("count >= 0", name=op.f("ck_ready_cut_count")),
        sa.CheckConstraint("seam_allowance >= 0", name=op.f("ck_ready_cut_seam_allowance")),
        sa.ForeignKeyConstraint(["fabric_id"], ["fabrics.id"], name=op.f("fk_ready_cut_fabric_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_ready_cut")),
    )
    op.create_index("ix_ready_cut_fabric_id", "ready_cut", ["fabric_id"])
    op.create_index("ix_ready_cut_family", "ready_cut", ["family"])
    op.create_index("ix_ready_cut_kind", "ready_cut", ["kind"])
    op.create_index("ix_ready_cut_place", "ready_cut", ["place"])
    op.create_index("ix_ready_cut_status", "ready_cut", ["status"])

    op.create_table(
        "scraps",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=True),
        sa.Column("outline", sa.LargeBinary(), nullable=False),
        sa.Column("flaws", sa.LargeBinary(), nullable=True),
        sa.Column("grain_deg", sa.Double(), nullable=True),
        sa.Column("margin", sa.Double(), nullable=False),
        sa.Column("uncertainty", sa.Double(), nullable=False),
        sa.Column("area", sa.Double(), nullable=False),
        sa.Column("place", sa.String(collation="NOCASE"), nullable=True),
        sa.Column("from_project", sa.String(collation="NOCASE"), nullable=True),
        sa.Column("fabric_id", sa.Integer(), nullable=True),
        sa.Column("photo_id", sa.Integer(), nullable=True),
        sa.Column("parent_id", sa.Integer(), nullable=True),
        sa.Column("swatches", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("family", sa.String(), nullable=True),
        sa.Column("accents", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("value", sa.String(), nullable=True),
        sa.Column("corrected", sa.JSON(none_as_null=True), nullable=False),
        sa.Column("status", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "status IN ('available', 'set aside', 'used up')", name=op.f("ck_scraps_status")
        ),
        sa.CheckConstraint("value IN ('light', 'medium', 'dark')", name=op.f("ck_scraps_value")),
        sa.CheckConstraint("area > 0", name=op.f("ck_scraps_area")),
        sa.CheckConstraint("margin >= 0 AND uncertainty >= 0", name=op.f("ck_scraps_margin")),
        sa.ForeignKeyConstraint(["fabric_id"], ["fabrics.id"], name=op.f("fk_scraps_fabric_id")),
        sa.ForeignKeyConstraint(["parent_id"], ["scraps.id"], name=op.f("fk_scraps_parent_id")),
        sa.ForeignKeyConstraint(["photo_id"], ["photos.id"], name=op.f("fk_scraps_photo_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_scraps")),
    )
    op.create_index("ix_scraps_fabric_id", "scraps", ["fabric_id"])
    op.create_index("ix_scraps_family", "scraps", ["family"])
    op.create_index("ix_scraps_from_project", "scraps", ["from_project"])
    op.create_index("ix_scraps_parent_id", "scraps", ["parent_id"])
    op.create_index("ix_scraps_photo_id", "scraps", ["photo_id"])
    op.create_index("ix_scraps_place", "scraps", ["place"])
    op.create_index("ix_scraps_value", "scraps", ["value"])

    op.create_table(
        "yardage",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("fabric_id", sa.Integer(), nullable=False),
        sa.Column("length", sa.Double(), nullable=False),
        sa.Column("usable_width", sa.Double(), nullable=True),
        sa.Column("place", sa.String(collation="NOCASE"), nullable=True),
        sa.Column("status", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("created", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "status IN ('available', 'set aside', 'used up')", name=op.f("ck_yardage_status")
        ),
        sa.CheckConstraint("length > 0", name=op.f("ck_yardage_length")),
        sa.CheckConstraint("usable_width > 0", name=op.f("ck_yardage_usable_width")),
        sa.ForeignKeyConstraint(["fabric_id"], ["fabrics.id"], name=op.f("fk_yardage_fabric_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_yardage")),
    )
    op.create_index("ix_yardage_fabric_id", "yardage", ["fabric_id"])
    op.create_index("ix_yardage_place", "yardage", ["place"])
    op.create_index("ix_yardage_status", "yardage", ["status"])


def downgrade() -> None:
    msg = "a store does not go back; take the copy that was made before it was brought up to date"
    raise NotImplementedError(msg)

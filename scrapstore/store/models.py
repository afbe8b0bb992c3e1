"""The stored form: one class per table. Rows never leave `scrapstore.store`.

Outlines are WKB, which keeps every coordinate to the last bit and is read by the thousand at once;
the sides of the smallest rectangle round an outline and its area are stored beside it for filters.
"""

from datetime import datetime
from typing import Any, ClassVar

from sqlalchemy import CheckConstraint, ForeignKey, Index, MetaData
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column, relationship

from scrapstore.store.column_types import (
    Bytes,
    Document,
    Flag,
    Moment,
    Real,
    UtcTime,
    Whole,
    Words,
    WordsAlike,
)

__all__ = [
    "Base",
    "BindingRow",
    "ChangeRow",
    "FabricRow",
    "HistoryRow",
    "LensRow",
    "PhotoRow",
    "PlanRow",
    "PlanStockRow",
    "ReadyCutRow",
    "ScrapRow",
    "YardageRow",
]

_STATUS_RULE = "status IN ('available', 'set aside', 'used up')"
_VALUE_RULE = "value IN ('light', 'medium', 'dark')"


class Base(DeclarativeBase):
    """What every table shares: names for its constraints, so that migrations can find them."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map: ClassVar[dict[Any, Any]] = {
        datetime: UtcTime,
        dict[str, Any]: Document(),
        list[Any]: Document(list),
        bytes: Bytes,
        str: Words,
        int: Whole,
        float: Real,
        bool: Flag,
    }


class FabricRow(Base):
    """See `scrapstore.store.forms.Fabric`."""

    __tablename__ = "fabrics"
    __table_args__ = (
        CheckConstraint(_VALUE_RULE, name="value"),
        CheckConstraint("usable_width > 0", name="usable_width"),
        CheckConstraint("name <> ''", name="name"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    # Two fabrics whose names differ in capitals only are one fabric to a quilter.
    name: Mapped[str] = mapped_column(WordsAlike, unique=True)
    fibre: Mapped[str | None]
    usable_width: Mapped[float | None]
    washed: Mapped[bool | None]
    one_way_print: Mapped[bool]
    alike: Mapped[bool]
    family: Mapped[str | None] = mapped_column(index=True)
    value: Mapped[str | None] = mapped_column(index=True)
    note: Mapped[str | None]
    retired: Mapped[bool]
    created: Mapped[datetime]


class PhotoRow(Base):
    """See `scrapstore.store.forms.StoredPhoto`."""

    __tablename__ = "photos"

    id: Mapped[int] = mapped_column(primary_key=True)
    sha256: Mapped[str] = mapped_column(unique=True)
    # Not unique: two files that differ only in what a stored copy leaves out share one copy.
    file_name: Mapped[str] = mapped_column(index=True)
    original_name: Mapped[str | None]
    width: Mapped[int]
    height: Mapped[int]
    camera: Mapped[str | None]
    focal_length_mm: Mapped[float | None]
    # By the camera's own clock, which knows no time zone.
    taken: Mapped[datetime | None] = mapped_column(Moment)
    created: Mapped[datetime]


class LensRow(Base):
    """See `scrapstore.store.forms.Lens`."""

    __tablename__ = "lenses"
    __table_args__ = (
        CheckConstraint("focal > 0", name="focal"),
        CheckConstraint("focal_sigma > 0 AND k1_sigma > 0", name="sigma"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    focal: Mapped[float]
    k1: Mapped[float]
    focal_sigma: Mapped[float]
    k1_sigma: Mapped[float]
    photo_id: Mapped[int | None] = mapped_column(ForeignKey("photos.id"))
    created: Mapped[datetime]

    photo: Mapped[PhotoRow | None] = relationship(lazy="raise")


class ScrapRow(Base):
    """See `scrapstore.store.forms.Scrap`."""

    __tablename__ = "scraps"
    __table_args__ = (
        CheckConstraint(_STATUS_RULE, name="status"),
        CheckConstraint(_VALUE_RULE, name="value"),
        CheckConstraint("margin >= 0 AND uncertainty >= 0", name="margin"),
        CheckConstraint("area > 0", name="area"),
        Index(None, "status", "long_side", "short_side"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str | None]
    outline: Mapped[bytes] = mapped_column(info={"geometry": True})
    flaws: Mapped[bytes | None] = mapped_column(info={"geometry": True})
    grain_deg: Mapped[float | None]
    margin: Mapped[float]
    uncertainty: Mapped[float]
    area: Mapped[float]
    # The defaults serve the migration that adds these columns to a store with scraps in it.
    long_side: Mapped[float] = mapped_column(server_default="0")
    short_side: Mapped[float] = mapped_column(server_default="0")
    place: Mapped[str | None] = mapped_column(WordsAlike, index=True)
    from_project: Mapped[str | None] = mapped_column(WordsAlike, index=True)
    fabric_id: Mapped[int | None] = mapped_column(ForeignKey("fabrics.id"), index=True)
    photo_id: Mapped[int | None] = mapped_column(ForeignKey("photos.id"), index=True)
    # As JSON, so that file and place come and go together.
    cut_out: Mapped[dict[str, Any] | None]
    parent_id: Mapped[int | None] = mapped_column(ForeignKey("scraps.id"), index=True)
    swatches: Mapped[list[Any]]
    family: Mapped[str | None] = mapped_column(index=True)
    accents: Mapped[list[Any]]
    value: Mapped[str | None] = mapped_column(index=True)
    corrected: Mapped[list[Any]]
    status: Mapped[str]
    set_aside_for: Mapped[str | None]
    note: Mapped[str | None]
    created: Mapped[datetime]

    fabric: Mapped[FabricRow | None] = relationship(lazy="raise")
    photo: Mapped[PhotoRow | None] = relationship(lazy="raise")


class YardageRow(Base):
    """See `scrapstore.store.forms.Yardage`."""

    __tablename__ = "yardage"
    __table_args__ = (
        CheckConstraint(_STATUS_RULE, name="status"),
        CheckConstraint("length > 0", name="length"),
        CheckConstraint("usable_width > 0", name="usable_width"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    fabric_id: Mapped[int] = mapped_column(ForeignKey("fabrics.id"), index=True)
    length: Mapped[float]
    usable_width: Mapped[float | None]
    place: Mapped[str | None] = mapped_column(WordsAlike, index=True)
    status: Mapped[str] = mapped_column(index=True)
    set_aside_for: Mapped[str | None]
    note: Mapped[str | None]
    created: Mapped[datetime]

    fabric: Mapped[FabricRow] = relationship(lazy="raise")


class ReadyCutRow(Base):
    """See `scrapstore.store.forms.ReadyCut`."""

    __tablename__ = "ready_cut"
    __table_args__ = (
        CheckConstraint(_STATUS_RULE, name="status"),
        CheckConstraint(_VALUE_RULE, name="value"),
        CheckConstraint("count >= 0", name="count"),
        CheckConstraint("seam_allowance >= 0", name="seam_allowance"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    kind: Mapped[str] = mapped_column(index=True)
    label: Mapped[str]
    measures: Mapped[dict[str, Any]]
    cut: Mapped[bytes] = mapped_column(info={"geometry": True})
    long_side: Mapped[float]
    short_side: Mapped[float]
    seam_allowance: Mapped[float]
    count: Mapped[int]
    fabric_id: Mapped[int | None] = mapped_column(ForeignKey("fabrics.id"), index=True)
    family: Mapped[str | None] = mapped_column(index=True)
    value: Mapped[str | None]
    place: Mapped[str | None] = mapped_column(WordsAlike, index=True)
    status: Mapped[str] = mapped_column(index=True)
    set_aside_for: Mapped[str | None]
    note: Mapped[str | None]
    created: Mapped[datetime]

    fabric: Mapped[FabricRow | None] = relationship(lazy="raise")


class BindingRow(Base):
    """See `scrapstore.store.forms.BindingStrip`."""

    __tablename__ = "binding_strips"
    __table_args__ = (
        CheckConstraint(_STATUS_RULE, name="status"),
        CheckConstraint(_VALUE_RULE, name="value"),
        CheckConstraint("width > 0 AND length > 0", name="size"),
        CheckConstraint(
            "start_slope_deg > -90 AND start_slope_deg < 90"
            " AND end_slope_deg > -90 AND end_slope_deg < 90",
            name="slope",
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    width: Mapped[float]
    length: Mapped[float]
    start_slope_deg: Mapped[float]
    end_slope_deg: Mapped[float]
    fabric_id: Mapped[int | None] = mapped_column(ForeignKey("fabrics.id"), index=True)
    family: Mapped[str | None] = mapped_column(index=True)
    value: Mapped[str | None]
    place: Mapped[str | None] = mapped_column(WordsAlike, index=True)
    status: Mapped[str] = mapped_column(index=True)
    set_aside_for: Mapped[str | None]
    note: Mapped[str | None]
    created: Mapped[datetime]

    fabric: Mapped[FabricRow | None] = relationship(lazy="raise")


class PlanRow(Base):
    """See `scrapstore.store.forms.Plan`."""

    __tablename__ = "plans"
    __table_args__ = (CheckConstraint("name <> ''", name="name"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(WordsAlike, unique=True)
    project: Mapped[str]
    document: Mapped[dict[str, Any]]
    created: Mapped[datetime]


class PlanStockRow(Base):
    """One scrap, lot of ready-cut pieces, or so many inches of a length that a plan holds.

    No scrap or lot is held by two plans; of a length several may hold some.
    """

    __tablename__ = "plan_stock"
    __table_args__ = (
        CheckConstraint(
            "(scrap_id IS NOT NULL) + (ready_cut_id IS NOT NULL) + (yardage_id IS NOT NULL) = 1",
            name="one_thing",
        ),
        CheckConstraint(
            "(yardage_id IS NULL) = (inches IS NULL) AND (inches IS NULL OR inches > 0)",
            name="inches",
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    plan_id: Mapped[int] = mapped_column(ForeignKey("plans.id"), index=True)
    scrap_id: Mapped[int | None] = mapped_column(ForeignKey("scraps.id"), unique=True)
    ready_cut_id: Mapped[int | None] = mapped_column(ForeignKey("ready_cut.id"), unique=True)
    # The lot that these pieces were counted off from, to put them back to.
    taken_from_id: Mapped[int | None] = mapped_column(ForeignKey("ready_cut.id"))
    yardage_id: Mapped[int | None] = mapped_column(ForeignKey("yardage.id"), index=True)
    inches: Mapped[float | None]


class ChangeRow(Base):
    """One visit that changed something."""

    __tablename__ = "changes"

    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime] = mapped_column(index=True)
    what: Mapped[str]
    program: Mapped[str]


class HistoryRow(Base):
    """One row of another table before and after a change."""

    __tablename__ = "history"
    __table_args__ = (Index(None, "kind", "row_id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    change_id: Mapped[int] = mapped_column(ForeignKey("changes.id"), index=True)
    kind: Mapped[str]
    row_id: Mapped[int]
    before: Mapped[dict[str, Any] | None]
    after: Mapped[dict[str, Any] | None]

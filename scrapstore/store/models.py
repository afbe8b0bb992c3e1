"""The stored form: one class per table. Rows never leave `scrapstore.store`.

Outlines are WKB, which keeps every coordinate to the last bit and is read by the thousand at once;
the sides of the smallest rectangle round an outline and its area are stored beside it for filters.
"""

from datetime import datetime
from typing import Any, ClassVar

from shapely import Polygon
from sqlalchemy import CheckConstraint, ForeignKey, Index, MetaData
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from scrapstore.colour import Swatch, Value
from scrapstore.store.column_types import (
    Document,
    Flag,
    Moment,
    Real,
    UtcTime,
    Whole,
    Words,
    WordsAlike,
)
from scrapstore.store.forms import CutOut, Status
from scrapstore.store.stock_types import (
    CutOutColumn,
    Flaws,
    Measures,
    Outline,
    PhotoName,
    Swatches,
    WordList,
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

_RULES = {
    "status": "status IN ('available', 'set aside', 'used up')",
    "value": "value IN ('light', 'medium', 'dark')",
}


def _rules(*shared: str, **own: str) -> tuple[CheckConstraint, ...]:
    """Return constraints: those of `_RULES` named in `shared`, and `own` by their names."""
    rules = {name: _RULES[name] for name in shared} | own
    return tuple(CheckConstraint(rule, name=name) for name, rule in rules.items())


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
        dict[str, Any]: Document,
        dict[str, float]: Measures,
        tuple[str, ...]: WordList,
        tuple[Swatch, ...]: Swatches,
        CutOut: CutOutColumn,
        Polygon: Outline,
        Status: Words,
        Value: Words,
        str: Words,
        int: Whole,
        float: Real,
        bool: Flag,
    }


class _Numbered:
    """Every row has a number."""

    id: Mapped[int] = mapped_column(primary_key=True, sort_order=-1)


class _Created(_Numbered):
    """Every row of a thing knows when it was added."""

    created: Mapped[datetime] = mapped_column(sort_order=9)


class _Stock(_Created):
    """See `scrapstore.store.forms.NewStock`."""

    place: Mapped[str | None] = mapped_column(WordsAlike, index=True, sort_order=1)
    status: Mapped[Status] = mapped_column(index=True, sort_order=6)
    set_aside_for: Mapped[str | None] = mapped_column(sort_order=7)
    note: Mapped[str | None] = mapped_column(sort_order=8)


class _Cloth(_Stock):
    """Stock whose fabric may not be known."""

    fabric_id: Mapped[int | None] = mapped_column(
        ForeignKey("fabrics.id"), index=True, sort_order=2
    )
    family: Mapped[str | None] = mapped_column(index=True, sort_order=3)
    value: Mapped[Value | None] = mapped_column(sort_order=4)


class FabricRow(_Created, Base):
    """See `scrapstore.store.forms.Fabric`."""

    __tablename__ = "fabrics"
    __table_args__ = _rules("value", usable_width="usable_width > 0", name="name <> ''")

    # Two fabrics whose names differ in capitals only are one fabric to a quilter.
    name: Mapped[str] = mapped_column(WordsAlike, unique=True)
    fibre: Mapped[str | None]
    usable_width: Mapped[float | None]
    washed: Mapped[bool | None]
    one_way_print: Mapped[bool]
    alike: Mapped[bool]
    family: Mapped[str | None] = mapped_column(index=True)
    value: Mapped[Value | None] = mapped_column(index=True)
    note: Mapped[str | None]
    retired: Mapped[bool]


class PhotoRow(_Created, Base):
    """See `scrapstore.store.forms.StoredPhoto`."""

    __tablename__ = "photos"

    sha256: Mapped[str] = mapped_column(unique=True)
    # Not unique: two files that differ only in what a stored copy leaves out share one copy.
    file_name: Mapped[str] = mapped_column(PhotoName, index=True)
    original_name: Mapped[str | None]
    width: Mapped[int]
    height: Mapped[int]
    camera: Mapped[str | None]
    focal_length_mm: Mapped[float | None]
    # By the camera's own clock, which knows no time zone.
    taken: Mapped[datetime | None] = mapped_column(Moment)


class LensRow(_Created, Base):
    """See `scrapstore.store.forms.Lens`."""

    __tablename__ = "lenses"
    __table_args__ = _rules(focal="focal > 0", sigma="focal_sigma > 0 AND k1_sigma > 0")

    name: Mapped[str] = mapped_column(unique=True)
    focal: Mapped[float]
    k1: Mapped[float]
    focal_sigma: Mapped[float]
    k1_sigma: Mapped[float]
    photo_id: Mapped[int | None] = mapped_column(ForeignKey("photos.id"))


class ScrapRow(_Cloth, Base):
    """See `scrapstore.store.forms.Scrap`."""

    __tablename__ = "scraps"
    __table_args__ = (
        *_rules("status", "value", margin="margin >= 0 AND uncertainty >= 0", area="area > 0"),
        Index(None, "status", "long_side", "short_side"),
    )

    name: Mapped[str | None]
    outline: Mapped[Polygon]
    flaws: Mapped[tuple[Polygon, ...]] = mapped_column(Flaws, nullable=True)
    grain_deg: Mapped[float | None]
    margin: Mapped[float]
    uncertainty: Mapped[float]
    area: Mapped[float]
    # The defaults serve the migration that adds these columns to a store with scraps in it.
    long_side: Mapped[float] = mapped_column(server_default="0")
    short_side: Mapped[float] = mapped_column(server_default="0")
    from_project: Mapped[str | None] = mapped_column(WordsAlike, index=True)
    photo_id: Mapped[int | None] = mapped_column(ForeignKey("photos.id"), index=True)
    cut_out: Mapped[CutOut | None]
    parent_id: Mapped[int | None] = mapped_column(ForeignKey("scraps.id"), index=True)
    swatches: Mapped[tuple[Swatch, ...]]
    accents: Mapped[tuple[str, ...]]
    corrected: Mapped[tuple[str, ...]]
    value: Mapped[Value | None] = mapped_column(index=True, sort_order=4)
    status: Mapped[Status] = mapped_column(sort_order=6)


class YardageRow(_Stock, Base):
    """See `scrapstore.store.forms.Yardage`."""

    __tablename__ = "yardage"
    __table_args__ = _rules("status", length="length > 0", usable_width="usable_width > 0")

    fabric_id: Mapped[int] = mapped_column(ForeignKey("fabrics.id"), index=True)
    length: Mapped[float]
    usable_width: Mapped[float | None]


class ReadyCutRow(_Cloth, Base):
    """See `scrapstore.store.forms.ReadyCut`."""

    __tablename__ = "ready_cut"
    __table_args__ = _rules(
        "status", "value", count="count >= 0", seam_allowance="seam_allowance >= 0"
    )

    kind: Mapped[str] = mapped_column(index=True)
    label: Mapped[str]
    measures: Mapped[dict[str, float]]
    cut: Mapped[Polygon]
    long_side: Mapped[float]
    short_side: Mapped[float]
    seam_allowance: Mapped[float]
    count: Mapped[int]


class BindingRow(_Cloth, Base):
    """See `scrapstore.store.forms.BindingStrip`."""

    __tablename__ = "binding_strips"
    __table_args__ = _rules(
        "status",
        "value",
        size="width > 0 AND length > 0",
        slope="start_slope_deg > -90 AND start_slope_deg < 90"
        " AND end_slope_deg > -90 AND end_slope_deg < 90",
    )

    width: Mapped[float]
    length: Mapped[float]
    start_slope_deg: Mapped[float]
    end_slope_deg: Mapped[float]


class PlanRow(_Created, Base):
    """See `scrapstore.store.plan_forms.Plan`."""

    __tablename__ = "plans"
    __table_args__ = _rules(name="name <> ''")

    name: Mapped[str] = mapped_column(WordsAlike, unique=True)
    project: Mapped[str]
    document: Mapped[dict[str, Any]]


class PlanStockRow(_Numbered, Base):
    """One scrap, lot of ready-cut pieces, or so many inches of a length that a plan holds.

    No scrap or lot is held by two plans; of a length several may hold some.
    """

    __tablename__ = "plan_stock"
    __table_args__ = _rules(
        one_thing="(scrap_id IS NOT NULL) + (ready_cut_id IS NOT NULL)"
        " + (yardage_id IS NOT NULL) = 1",
        inches="(yardage_id IS NULL) = (inches IS NULL) AND (inches IS NULL OR inches > 0)",
    )

    plan_id: Mapped[int] = mapped_column(ForeignKey("plans.id"), index=True)
    scrap_id: Mapped[int | None] = mapped_column(ForeignKey("scraps.id"), unique=True)
    ready_cut_id: Mapped[int | None] = mapped_column(ForeignKey("ready_cut.id"), unique=True)
    # The lot that these pieces were counted off from, to put them back to.
    taken_from_id: Mapped[int | None] = mapped_column(ForeignKey("ready_cut.id"))
    yardage_id: Mapped[int | None] = mapped_column(ForeignKey("yardage.id"), index=True)
    inches: Mapped[float | None]


class ChangeRow(_Numbered, Base):
    """One visit that changed something."""

    __tablename__ = "changes"

    at: Mapped[datetime] = mapped_column(index=True)
    what: Mapped[str]
    program: Mapped[str]


class HistoryRow(_Numbered, Base):
    """One row of another table before and after a change."""

    __tablename__ = "history"
    __table_args__ = (Index(None, "kind", "row_id"),)

    change_id: Mapped[int] = mapped_column(ForeignKey("changes.id"), index=True)
    kind: Mapped[str]
    row_id: Mapped[int]
    before: Mapped[dict[str, Any] | None]
    after: Mapped[dict[str, Any] | None]

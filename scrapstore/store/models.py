"""The stored form: the tables. Their rows never leave `scrapstore.store`.

Outlines are WKB, which keeps every coordinate to the last bit and is read by the thousand at once;
the sides of the smallest rectangle round an outline and its area are stored beside it for filters.

A column is ``needed`` or may be NULL; what several tables share is written once.
"""

from typing import Any, Final

from sqlalchemy import (
    CheckConstraint,
    Column,
    ForeignKey,
    Index,
    MetaData,
    Table,
    UniqueConstraint,
)

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
from scrapstore.store.stock_types import (
    CUT_OUT,
    EDGES,
    MEASURES,
    RESTS,
    SWATCHES,
    WORD_LIST,
    Flaws,
    Outline,
    PhotoName,
)

__all__ = [
    "BINDING",
    "CHANGES",
    "CRUMBS",
    "FABRICS",
    "HISTORY",
    "LENSES",
    "METADATA",
    "NOTIONS",
    "PHOTOS",
    "PLANS",
    "PLAN_PIECES",
    "PLAN_STOCK",
    "READY_CUT",
    "SCRAPS",
    "YARDAGE",
]

METADATA: Final = MetaData(
    # So that migrations can find constraints.
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)
_RULES: Final = {
    "status": "status IN ('available', 'set aside', 'used up')",
    "value": "value IN ('light', 'medium', 'dark')",
}


def _needed(name: str, kind: Any, *more: Any, **options: Any) -> Column[Any]:
    return Column(name, kind, *more, nullable=False, **options)


def _number() -> Column[Any]:
    return Column("id", Whole, primary_key=True)


def _refers(name: str, table: str, **options: Any) -> Column[Any]:
    """Return a column that holds the number of a row of `table`."""
    return Column(name, Whole, ForeignKey(f"{table}.id"), **options)


def _stock(*, status_indexed: bool = True) -> tuple[Column[Any], ...]:
    """Return the columns that all stock ends with; see `scrapstore.store.forms.NewStock`."""
    return (
        _needed("status", Words, index=status_indexed),
        Column("set_aside_for", Words),
        Column("note", Words),
        _needed("created", UtcTime),
    )


def _cloth(*, value_indexed: bool = False) -> tuple[Column[Any], ...]:
    """Return the columns of stock whose fabric may not be known."""
    return (
        Column("place", WordsAlike, index=True),
        _refers("fabric_id", "fabrics", index=True),
        Column("family", Words, index=True),
        Column("value", Words, index=value_indexed),
    )


def _rules(*shared: str, **own: str) -> tuple[CheckConstraint, ...]:
    """Return constraints: those of `_RULES` named in `shared`, and `own` by their names."""
    rules = {name: _RULES[name] for name in shared} | own
    return tuple(CheckConstraint(rule, name=name) for name, rule in rules.items())


FABRICS: Final = Table(
    "fabrics",
    METADATA,
    _number(),
    # Two fabrics whose names differ in capitals only are one fabric to a quilter.
    _needed("name", WordsAlike, unique=True),
    Column("fibre", Words),
    Column("usable_width", Real),
    Column("washed", Flag),
    _needed("one_way_print", Flag),
    _needed("alike", Flag),
    Column("family", Words, index=True),
    Column("value", Words, index=True),
    Column("note", Words),
    _needed("retired", Flag),
    _needed("created", UtcTime),
    *_rules("value", usable_width="usable_width > 0", name="name <> ''"),
)

PHOTOS: Final = Table(
    "photos",
    METADATA,
    _number(),
    _needed("sha256", Words, unique=True),
    # Not unique: two files that differ only in what a stored copy leaves out share one copy.
    _needed("file_name", PhotoName, index=True),
    Column("original_name", Words),
    _needed("width", Whole),
    _needed("height", Whole),
    Column("camera", Words),
    Column("focal_length_mm", Real),
    # By the camera's own clock, which knows no time zone.
    Column("taken", Moment),
    _needed("created", UtcTime),
)

LENSES: Final = Table(
    "lenses",
    METADATA,
    _number(),
    _needed("name", Words, unique=True),
    _needed("focal", Real),
    _needed("k1", Real),
    _needed("focal_sigma", Real),
    _needed("k1_sigma", Real),
    _refers("photo_id", "photos"),
    _needed("created", UtcTime),
    *_rules(focal="focal > 0", sigma="focal_sigma > 0 AND k1_sigma > 0"),
)

SCRAPS: Final = Table(
    "scraps",
    METADATA,
    _number(),
    Column("name", Words),
    _needed("outline", Outline),
    Column("flaws", Flaws),
    Column("grain_deg", Real),
    _needed("margin", Real),
    _needed("uncertainty", Real),
    Column("old_edges", EDGES),
    _needed("area", Real),
    # The defaults serve the migration that adds these columns to a store with scraps in it.
    _needed("long_side", Real, server_default="0"),
    _needed("short_side", Real, server_default="0"),
    Column("from_project", WordsAlike, index=True),
    _refers("photo_id", "photos", index=True),
    Column("cut_out", CUT_OUT),
    _refers("parent_id", "scraps", index=True),
    _needed("swatches", SWATCHES),
    _needed("accents", WORD_LIST),
    _needed("corrected", WORD_LIST),
    *_cloth(value_indexed=True),
    *_stock(status_indexed=False),
    *_rules("status", "value", margin="margin >= 0 AND uncertainty >= 0", area="area > 0"),
    Index(None, "status", "long_side", "short_side"),
)

YARDAGE: Final = Table(
    "yardage",
    METADATA,
    _number(),
    _refers("fabric_id", "fabrics", nullable=False, index=True),
    _needed("length", Real),
    Column("usable_width", Real),
    Column("place", WordsAlike, index=True),
    *_stock(),
    *_rules("status", length="length > 0", usable_width="usable_width > 0"),
)

READY_CUT: Final = Table(
    "ready_cut",
    METADATA,
    _number(),
    _needed("kind", Words, index=True),
    _needed("label", Words),
    _needed("measures", MEASURES),
    _needed("cut", Outline),
    _needed("long_side", Real),
    _needed("short_side", Real),
    _needed("seam_allowance", Real),
    _needed("count", Whole),
    *_cloth(),
    *_stock(),
    *_rules("status", "value", count="count >= 0", seam_allowance="seam_allowance >= 0"),
)

BINDING: Final = Table(
    "binding_strips",
    METADATA,
    _number(),
    _needed("width", Real),
    _needed("length", Real),
    _needed("start_slope_deg", Real),
    _needed("end_slope_deg", Real),
    *_cloth(),
    *_stock(),
    *_rules(
        "status",
        "value",
        size="width > 0 AND length > 0",
        slope="start_slope_deg > -90 AND start_slope_deg < 90"
        " AND end_slope_deg > -90 AND end_slope_deg < 90",
    ),
)

NOTIONS: Final = Table(
    # What a cover takes beside cloth: batting and forms by width and length, zips by length.
    "notions",
    METADATA,
    _number(),
    _needed("kind", Words, index=True),
    Column("width", Real),
    _needed("length", Real),
    _needed("count", Whole),
    *_cloth(),
    *_stock(),
    *_rules(
        "status",
        "value",
        kind="kind IN ('batting', 'form', 'zip')",
        size="length > 0 AND (width IS NULL) = (kind = 'zip') AND (width IS NULL OR width > 0)",
        count="count >= 0",
    ),
)

CRUMBS: Final = Table(
    # Strings and crumbs, too small to be listed one by one: a bag by its weight, where it is known.
    "crumbs",
    METADATA,
    _number(),
    Column("grams", Real),
    *_cloth(),
    *_stock(),
    *_rules("status", "value", weight="grams > 0"),
)

PLANS: Final = Table(
    "plans",
    METADATA,
    _number(),
    _needed("name", WordsAlike, unique=True),
    _needed("project", Words),
    _needed("document", Document),
    _needed("created", UtcTime),
    *_rules(name="name <> ''"),
)

PLAN_STOCK: Final = Table(
    # One scrap, lot of ready-cut pieces, binding strip, or so many inches of a length that a plan
    # holds. No scrap, lot or strip is held by two plans; of a length several may hold some.
    "plan_stock",
    METADATA,
    _number(),
    _refers("plan_id", "plans", nullable=False, index=True),
    _refers("scrap_id", "scraps", unique=True),
    _refers("ready_cut_id", "ready_cut", unique=True),
    # The lot that these pieces were counted off from, to put them back to.
    _refers("taken_from_id", "ready_cut"),
    _refers("yardage_id", "yardage", index=True),
    Column("inches", Real),
    _refers("binding_id", "binding_strips", unique=True),
    # What is left of the strip once it is sewn: width, length and the slopes of its ends.
    Column("rests", RESTS),
    *_rules(
        one_thing="(scrap_id IS NOT NULL) + (ready_cut_id IS NOT NULL)"
        " + (yardage_id IS NOT NULL) + (binding_id IS NOT NULL) = 1",
        inches="(yardage_id IS NULL) = (inches IS NULL) AND (inches IS NULL OR inches > 0)",
    ),
)

PLAN_PIECES: Final = Table(
    # What became of one piece of a plan: the lot that it is in now, or the scrap that it became.
    # Pieces that nothing was said of yet have no row.
    "plan_pieces",
    METADATA,
    _number(),
    _refers("plan_id", "plans", nullable=False),
    _needed("label", Words),
    _needed("state", Words),
    _refers("ready_cut_id", "ready_cut"),
    _refers("scrap_id", "scraps"),
    *_rules(state="state IN ('cut', 'spoilt', 'not cut')"),
    UniqueConstraint("plan_id", "label", name="uq_plan_pieces_plan_id_label"),
)

CHANGES: Final = Table(
    # One visit that changed something; `undoes` is the one that it took back.
    "changes",
    METADATA,
    _number(),
    _needed("at", UtcTime, index=True),
    _needed("what", Words),
    _needed("program", Words),
    _refers("undoes", "changes", unique=True),
)

HISTORY: Final = Table(
    # One row of another table before and after a change.
    "history",
    METADATA,
    _number(),
    _refers("change_id", "changes", nullable=False, index=True),
    _needed("kind", Words),
    _needed("row_id", Whole),
    Column("before", Document),
    Column("after", Document),
    Index(None, "kind", "row_id"),
)

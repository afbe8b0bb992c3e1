"""The schema of what ``--json`` prints of the store. Always inches and degrees.

The forms are read from the attributes of the store's working forms: a field has the value of the
attribute of its name, or of its `validation_alias`. Outlines are lists of ``[x, y]`` corners, the
first not repeated at the end.
"""

from datetime import datetime
from pathlib import Path
from typing import Annotated, Any

from pydantic import AliasPath, BaseModel, BeforeValidator, Field
from shapely import MultiLineString, Polygon

from scrapstore.json_output.base import Corners, FromForm, Outline, corners
from scrapstore.store import NotionKind, Status, Value

__all__ = [
    "BackupOut",
    "BindingListOut",
    "BindingOut",
    "ChangeOut",
    "ChangedRowOut",
    "CrumbsListOut",
    "CrumbsOut",
    "FabricDetailOut",
    "FabricListOut",
    "FabricOut",
    "HistoryOut",
    "NotionListOut",
    "NotionOut",
    "PhotoOut",
    "ReadyCutListOut",
    "ReadyCutOut",
    "ScrapListOut",
    "ScrapOut",
    "StoreReportOut",
    "SwatchOut",
    "UndoOut",
    "YardageListOut",
    "YardageOut",
]


def _holes(value: Any) -> Any:
    return [corners(ring) for ring in value.interiors] if isinstance(value, Polygon) else value


def _lines(value: Any) -> Any:
    lines = value.geoms if isinstance(value, MultiLineString) else None
    return value if lines is None else [[(x, y) for x, y in line.coords] for line in lines]


def _pairs(value: Any) -> Any:
    return dict(value)


class FabricOut(FromForm):
    """A fabric."""

    id: int
    name: str
    fibre: str | None
    usable_width: float | None
    washed: bool | None
    one_way_print: bool
    alike: bool
    family: str | None
    value: Value | None
    note: str | None
    retired: bool
    created: datetime


class PhotoOut(FromForm):
    """A photo; `file_name` is in the store's photo folder."""

    id: int
    sha256: str
    file_name: str
    original_name: str | None
    width: int
    height: int
    camera: str | None
    focal_length_mm: float | None
    taken: datetime | None


class CutOutOut(FromForm):
    """The picture of a scrap alone: a JPEG in the photo folder, and what of its frame it covers."""

    file_name: str
    box: tuple[float, float, float, float]


class SwatchOut(FromForm):
    """A dominant colour: sRGB 0 to 255, CIELAB under D65, share 0 to 1."""

    rgb: tuple[int, int, int]
    lab: tuple[float, float, float]
    share: float


class _StockOut(FromForm):
    """What all stock has; `fabric` is the name."""

    id: int
    fabric: str | None = Field(None, validation_alias=AliasPath("fabric", "name"))
    place: str | None
    status: Status
    set_aside_for: str | None
    note: str | None
    created: datetime


class _ClothOut(_StockOut):
    """Stock with a family and a value of its own."""

    family: str | None
    value: Value | None


class ScrapOut(_ClothOut):
    """A scrap; `size` holds its two sides in the order typed or drawn.

    `tints` are hues of a grey, white or black, the likeliest first, one alone where it is sure.
    Margin and uncertainty hold for the lines `old_edges` of its edge; null is all of it.
    """

    name: str | None
    outline: Outline
    holes: Annotated[list[Corners], BeforeValidator(_holes)] = Field(validation_alias="outline")
    flaws: list[Outline]
    area: float
    size: tuple[float, float] = Field(validation_alias="sides")
    long_side: float
    short_side: float
    grain_deg: float | None
    margin: float
    uncertainty: float
    old_edges: Annotated[list[Corners] | None, BeforeValidator(_lines)]
    from_project: str | None
    photo: PhotoOut | None
    cut_out: CutOutOut | None
    swatches: list[SwatchOut]
    accents: list[str]
    tints: list[str]
    corrected: list[str]
    parent: int | None = Field(validation_alias="parent_id")


class YardageOut(_StockOut):
    """A length of yardage; `usable_width` is its own or else its fabric's.

    `promised` maps kept plans to the inches they hold of it, `left` is what none holds.
    """

    length: float
    usable_width: float | None = Field(validation_alias="width")
    promised: Annotated[dict[str, float], BeforeValidator(_pairs)]
    left: float


class ReadyCutOut(_ClothOut):
    """A lot of ready-cut pieces; `measures` are finished, `cut` is the outline as cut."""

    kind: str
    label: str
    measures: dict[str, float]
    cut: Outline
    size: tuple[float, float] = Field(validation_alias="sides")
    long_side: float
    short_side: float
    seam_allowance: float
    count: int


class BindingOut(_ClothOut):
    """A binding strip; the slopes are degrees from straight across, 45 leaning right."""

    width: float
    length: float
    start_slope_deg: float
    end_slope_deg: float


class NotionOut(_ClothOut):
    """Batting, forms or zips; a zip has no width."""

    kind: NotionKind
    width: float | None
    length: float
    count: int


class CrumbsOut(_ClothOut):
    """A bag of strings and crumbs; `grams` is null where it was not weighed."""

    grams: float | None


class ChangedRowOut(FromForm):
    """One thing before and after."""

    kind: str
    id: int = Field(validation_alias="row_id")
    before: dict[str, Any] | None
    after: dict[str, Any] | None


class ChangeOut(FromForm):
    """What one visit changed."""

    id: int
    at: datetime
    what: str
    undoes: int | None
    undone_by: int | None
    rows: list[ChangedRowOut]


class FabricListOut(FromForm):
    """Fabrics."""

    fabrics: list[FabricOut]


class ScrapListOut(FromForm):
    """Scraps."""

    scraps: list[ScrapOut]


class YardageListOut(FromForm):
    """Lengths of yardage."""

    yardage: list[YardageOut]


class ReadyCutListOut(FromForm):
    """Lots of ready-cut pieces."""

    ready_cut: list[ReadyCutOut]


class BindingListOut(FromForm):
    """Binding strips."""

    binding: list[BindingOut]


class NotionListOut(FromForm):
    """Batting, forms or zips."""

    notions: list[NotionOut]


class CrumbsListOut(FromForm):
    """Bags of strings and crumbs."""

    crumbs: list[CrumbsOut]


class FabricDetailOut(FromForm):
    """A fabric with everything available of it."""

    fabric: FabricOut
    scraps: list[ScrapOut]
    yardage: list[YardageOut]
    ready_cut: list[ReadyCutOut]
    binding: list[BindingOut]


class FaultOut(FromForm):
    """One thing that is wrong in a store: what, what is lost with it, what to do."""

    code: str
    thing: str
    wrong: str
    lost: str
    remedy: str
    mends: bool


class StoreCheckOut(FromForm):
    """A store checked; whole where there are no faults. `notes` do no harm.

    `mended` are faults that were put right, `backup` the copy of the records made before.
    """

    folder: Path
    faults: list[FaultOut]
    notes: list[str]
    mended: list[FaultOut]
    backup: Path | None


class StoreReportOut(FromForm):
    """A store looked over."""

    folder: Path
    revision: str
    counts: dict[str, int]
    database_bytes: int
    photo_bytes: int
    spare_photos: int
    backups: list[str]
    faults: list[str]


class RestoredOut(FromForm):
    """A store gone back to a backup; `kept` is what it held before, null if nothing."""

    folder: Path
    source: Path
    kept: Path | None
    faults: list[FaultOut] = Field(validation_alias=AliasPath("checkup", "faults"))


class BackupOut(BaseModel):
    """Where a copy of the store is, whether the photos are in it, and which are not whole."""

    path: Path
    photos: bool
    faults: list[str]


class HistoryOut(FromForm):
    """Changes, newest first."""

    changes: list[ChangeOut]


class UndoOut(FromForm):
    """What an undo took back, newest first; nothing where the answer was to stop."""

    taken_back: list[ChangeOut]

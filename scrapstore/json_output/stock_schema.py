"""The schema of what ``--json`` prints of the store. Always inches and degrees.

`scrapstore.json_output.stock` makes these from working forms. Outlines are lists of ``[x, y]``
corners, the first not repeated at the end.
"""

from datetime import datetime
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from scrapstore.store import Status, Value

__all__ = [
    "BackupOut",
    "BindingListOut",
    "BindingOut",
    "ChangeOut",
    "ChangedRowOut",
    "Corners",
    "FabricDetailOut",
    "FabricListOut",
    "FabricOut",
    "HistoryOut",
    "PhotoOut",
    "ReadyCutListOut",
    "ReadyCutOut",
    "ScrapListOut",
    "ScrapOut",
    "StoreReportOut",
    "SwatchOut",
    "YardageListOut",
    "YardageOut",
]

Corners = list[tuple[float, float]]


class FabricOut(BaseModel):
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


class PhotoOut(BaseModel):
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


class CutOutOut(BaseModel):
    """The picture of a scrap alone: a JPEG in the photo folder, and what of its frame it covers."""

    file_name: str
    box: tuple[float, float, float, float]


class SwatchOut(BaseModel):
    """A dominant colour: sRGB 0 to 255, CIELAB under D65, share 0 to 1."""

    rgb: tuple[int, int, int]
    lab: tuple[float, float, float]
    share: float


class ScrapOut(BaseModel):
    """A scrap; `size` holds its two sides in the order typed or drawn."""

    id: int
    name: str | None
    outline: Corners
    holes: list[Corners]
    flaws: list[Corners]
    area: float
    size: tuple[float, float]
    long_side: float
    short_side: float
    grain_deg: float | None
    margin: float
    uncertainty: float
    place: str | None
    from_project: str | None
    fabric: str | None
    photo: PhotoOut | None
    cut_out: CutOutOut | None
    swatches: list[SwatchOut]
    family: str | None
    accents: list[str]
    value: Value | None
    corrected: list[str]
    status: Status
    set_aside_for: str | None
    parent: int | None
    note: str | None
    created: datetime


class YardageOut(BaseModel):
    """A length of yardage; `usable_width` is its own or else its fabric's.

    `promised` maps kept plans to the inches they hold of it, `left` is what none holds.
    """

    id: int
    fabric: str
    length: float
    usable_width: float | None
    promised: dict[str, float]
    left: float
    place: str | None
    status: Status
    set_aside_for: str | None
    note: str | None
    created: datetime


class ReadyCutOut(BaseModel):
    """A lot of ready-cut pieces; `measures` are finished, `cut` is the outline as cut."""

    id: int
    kind: str
    label: str
    measures: dict[str, float]
    cut: Corners
    size: tuple[float, float]
    long_side: float
    short_side: float
    seam_allowance: float
    count: int
    fabric: str | None
    family: str | None
    value: Value | None
    place: str | None
    status: Status
    set_aside_for: str | None
    note: str | None
    created: datetime


class BindingOut(BaseModel):
    """A binding strip; the slopes are degrees from straight across, 45 leaning right."""

    id: int
    width: float
    length: float
    start_slope_deg: float
    end_slope_deg: float
    fabric: str | None
    family: str | None
    value: Value | None
    place: str | None
    status: Status
    set_aside_for: str | None
    note: str | None
    created: datetime


class ChangedRowOut(BaseModel):
    """One thing before and after."""

    kind: str
    id: int
    before: dict[str, Any] | None
    after: dict[str, Any] | None


class ChangeOut(BaseModel):
    """What one visit changed."""

    id: int
    at: datetime
    what: str
    rows: list[ChangedRowOut]


class FabricListOut(BaseModel):
    """Fabrics."""

    fabrics: list[FabricOut]


class ScrapListOut(BaseModel):
    """Scraps."""

    scraps: list[ScrapOut]


class YardageListOut(BaseModel):
    """Lengths of yardage."""

    yardage: list[YardageOut]


class ReadyCutListOut(BaseModel):
    """Lots of ready-cut pieces."""

    ready_cut: list[ReadyCutOut]


class BindingListOut(BaseModel):
    """Binding strips."""

    binding: list[BindingOut]


class FabricDetailOut(BaseModel):
    """A fabric with everything available of it."""

    fabric: FabricOut
    scraps: list[ScrapOut]
    yardage: list[YardageOut]
    ready_cut: list[ReadyCutOut]
    binding: list[BindingOut]


class StoreReportOut(BaseModel):
    """A store looked over."""

    folder: Path
    revision: str
    counts: dict[str, int]
    database_bytes: int
    photo_bytes: int
    spare_photos: int
    backups: list[str]
    faults: list[str]


class BackupOut(BaseModel):
    """Where a copy of the store is, whether the photos are in it, and which are not whole."""

    path: Path
    photos: bool
    faults: list[str]


class HistoryOut(BaseModel):
    """Changes, newest first."""

    changes: list[ChangeOut]

"""The external form of what the store holds: what ``--json`` prints. Always inches and degrees.

Each ``…Out`` is made from a working form by the function of the same name in small letters, field
by field. Outlines are lists of ``[x, y]`` corners, the first not repeated at the end.
"""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from pydantic import BaseModel
from shapely import Polygon

from scrapstore.store import (
    BindingStrip,
    Change,
    Fabric,
    ReadyCut,
    Scrap,
    Status,
    StoredPhoto,
    Value,
    Yardage,
)

__all__ = [
    "BindingListOut",
    "BindingOut",
    "ChangeOut",
    "Corners",
    "FabricListOut",
    "FabricOut",
    "HistoryOut",
    "PhotoOut",
    "ReadyCutListOut",
    "ReadyCutOut",
    "ScrapListOut",
    "ScrapOut",
    "SwatchOut",
    "YardageListOut",
    "YardageOut",
    "binding_list_out",
    "corners",
    "fabric_list_out",
    "fabric_out",
    "history_out",
    "ready_cut_list_out",
    "scrap_list_out",
    "scrap_out",
    "yardage_list_out",
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


class SwatchOut(BaseModel):
    """A dominant colour: sRGB 0 to 255, CIELAB under D65, share 0 to 1."""

    rgb: tuple[int, int, int]
    lab: tuple[float, float, float]
    share: float


class ScrapOut(BaseModel):
    """A scrap."""

    id: int
    name: str | None
    outline: Corners
    holes: list[Corners]
    flaws: list[Corners]
    area: float
    long_side: float
    short_side: float
    grain_deg: float | None
    margin: float
    uncertainty: float
    place: str | None
    from_project: str | None
    fabric: str | None
    photo: PhotoOut | None
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
    """A length of yardage; `usable_width` is its own or else its fabric's."""

    id: int
    fabric: str
    length: float
    usable_width: float | None
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


class HistoryOut(BaseModel):
    """Changes, newest first."""

    changes: list[ChangeOut]


def corners(ring: Any) -> Corners:
    """Return the corners of a shapely ring, the first not repeated."""
    return [(float(x), float(y)) for x, y in ring.coords[:-1]]


def _outline(polygon: Polygon) -> Corners:
    return corners(polygon.exterior)


def fabric_out(fabric: Fabric) -> FabricOut:
    """Return the external form of `fabric`."""
    return FabricOut(
        id=fabric.id,
        name=fabric.name,
        fibre=fabric.fibre,
        usable_width=fabric.usable_width,
        washed=fabric.washed,
        one_way_print=fabric.one_way_print,
        alike=fabric.alike,
        family=fabric.family,
        value=fabric.value,
        note=fabric.note,
        retired=fabric.retired,
        created=fabric.created,
    )


def photo_out(photo: StoredPhoto) -> PhotoOut:
    """Return the external form of `photo`."""
    return PhotoOut(
        id=photo.id,
        sha256=photo.sha256,
        file_name=photo.file_name,
        original_name=photo.original_name,
        width=photo.width,
        height=photo.height,
        camera=photo.camera,
        focal_length_mm=photo.focal_length_mm,
        taken=photo.taken,
    )


def scrap_out(scrap: Scrap) -> ScrapOut:
    """Return the external form of `scrap`."""
    return ScrapOut(
        id=scrap.id,
        name=scrap.name,
        outline=_outline(scrap.outline),
        holes=[corners(ring) for ring in scrap.outline.interiors],
        flaws=[_outline(flaw) for flaw in scrap.flaws],
        area=scrap.area,
        long_side=scrap.long_side,
        short_side=scrap.short_side,
        grain_deg=scrap.grain_deg,
        margin=scrap.margin,
        uncertainty=scrap.uncertainty,
        place=scrap.place,
        from_project=scrap.from_project,
        fabric=None if scrap.fabric is None else scrap.fabric.name,
        photo=None if scrap.photo is None else photo_out(scrap.photo),
        swatches=[SwatchOut(rgb=s.rgb, lab=s.lab, share=s.share) for s in scrap.swatches],
        family=scrap.family,
        accents=list(scrap.accents),
        value=scrap.value,
        corrected=list(scrap.corrected),
        status=scrap.status,
        set_aside_for=scrap.set_aside_for,
        parent=scrap.parent_id,
        note=scrap.note,
        created=scrap.created,
    )


def yardage_out(yardage: Yardage) -> YardageOut:
    """Return the external form of `yardage`."""
    return YardageOut(
        id=yardage.id,
        fabric=yardage.fabric.name,
        length=yardage.length,
        usable_width=yardage.usable_width or yardage.fabric.usable_width,
        place=yardage.place,
        status=yardage.status,
        set_aside_for=yardage.set_aside_for,
        note=yardage.note,
        created=yardage.created,
    )


def ready_cut_out(pieces: ReadyCut) -> ReadyCutOut:
    """Return the external form of `pieces`."""
    return ReadyCutOut(
        id=pieces.id,
        kind=pieces.kind,
        label=pieces.label,
        measures=dict(pieces.measures),
        cut=_outline(pieces.cut),
        long_side=pieces.long_side,
        short_side=pieces.short_side,
        seam_allowance=pieces.seam_allowance,
        count=pieces.count,
        fabric=None if pieces.fabric is None else pieces.fabric.name,
        family=pieces.family,
        value=pieces.value,
        place=pieces.place,
        status=pieces.status,
        set_aside_for=pieces.set_aside_for,
        note=pieces.note,
        created=pieces.created,
    )


def binding_out(strip: BindingStrip) -> BindingOut:
    """Return the external form of `strip`."""
    return BindingOut(
        id=strip.id,
        width=strip.width,
        length=strip.length,
        start_slope_deg=strip.start_slope_deg,
        end_slope_deg=strip.end_slope_deg,
        fabric=None if strip.fabric is None else strip.fabric.name,
        family=strip.family,
        value=strip.value,
        place=strip.place,
        status=strip.status,
        set_aside_for=strip.set_aside_for,
        note=strip.note,
        created=strip.created,
    )


def fabric_list_out(fabrics: Iterable[Fabric]) -> FabricListOut:
    """Return the external form of a list of fabrics."""
    return FabricListOut(fabrics=[fabric_out(one) for one in fabrics])


def scrap_list_out(scraps: Iterable[Scrap]) -> ScrapListOut:
    """Return the external form of a list of scraps."""
    return ScrapListOut(scraps=[scrap_out(one) for one in scraps])


def yardage_list_out(lengths: Iterable[Yardage]) -> YardageListOut:
    """Return the external form of a list of lengths."""
    return YardageListOut(yardage=[yardage_out(one) for one in lengths])


def ready_cut_list_out(lots: Iterable[ReadyCut]) -> ReadyCutListOut:
    """Return the external form of a list of ready-cut pieces."""
    return ReadyCutListOut(ready_cut=[ready_cut_out(one) for one in lots])


def binding_list_out(strips: Iterable[BindingStrip]) -> BindingListOut:
    """Return the external form of a list of binding strips."""
    return BindingListOut(binding=[binding_out(one) for one in strips])


def history_out(changes: Iterable[Change]) -> HistoryOut:
    """Return the external form of the history."""
    return HistoryOut(
        changes=[
            ChangeOut(
                id=change.id,
                at=change.at,
                what=change.what,
                rows=[
                    ChangedRowOut(kind=row.kind, id=row.row_id, before=row.before, after=row.after)
                    for row in change.rows
                ],
            )
            for change in changes
        ]
    )

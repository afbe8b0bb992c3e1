"""What the store holds, in its external form: what ``--json`` prints.

Each function makes one form of `scrapstore.json_output.stock_schema` from a working form, field by
field.
"""

from collections.abc import Iterable
from typing import Any

from shapely import Polygon

from scrapstore.actions.fabrics import FabricDetail
from scrapstore.actions.store_care import StoreReport
from scrapstore.json_output.stock_schema import (
    BindingListOut,
    BindingOut,
    ChangedRowOut,
    ChangeOut,
    Corners,
    CutOutOut,
    FabricDetailOut,
    FabricListOut,
    FabricOut,
    HistoryOut,
    PhotoOut,
    ReadyCutListOut,
    ReadyCutOut,
    ScrapListOut,
    ScrapOut,
    StoreReportOut,
    SwatchOut,
    YardageListOut,
    YardageOut,
)
from scrapstore.store import (
    BindingStrip,
    Change,
    Fabric,
    ReadyCut,
    Scrap,
    StoredPhoto,
    Yardage,
)

__all__ = [
    "binding_list_out",
    "binding_out",
    "corners",
    "fabric_detail_out",
    "fabric_list_out",
    "fabric_out",
    "history_out",
    "photo_out",
    "ready_cut_list_out",
    "ready_cut_out",
    "scrap_list_out",
    "scrap_out",
    "store_report_out",
    "yardage_list_out",
    "yardage_out",
]


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
        size=scrap.sides,
        long_side=scrap.long_side,
        short_side=scrap.short_side,
        grain_deg=scrap.grain_deg,
        margin=scrap.margin,
        uncertainty=scrap.uncertainty,
        place=scrap.place,
        from_project=scrap.from_project,
        fabric=None if scrap.fabric is None else scrap.fabric.name,
        photo=None if scrap.photo is None else photo_out(scrap.photo),
        cut_out=scrap.cut_out
        and CutOutOut(file_name=scrap.cut_out.file_name, box=scrap.cut_out.box),
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
        promised={promise.plan: promise.inches for promise in yardage.promised},
        left=yardage.left,
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
        size=pieces.sides,
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


def fabric_detail_out(detail: FabricDetail) -> FabricDetailOut:
    """Return the external form of a fabric with what is available of it."""
    return FabricDetailOut(
        fabric=fabric_out(detail.fabric),
        scraps=[scrap_out(one) for one in detail.scraps],
        yardage=[yardage_out(one) for one in detail.yardage],
        ready_cut=[ready_cut_out(one) for one in detail.ready_cut],
        binding=[binding_out(one) for one in detail.binding],
    )


def store_report_out(report: StoreReport) -> StoreReportOut:
    """Return the external form of a store looked over."""
    return StoreReportOut(
        folder=report.folder,
        revision=report.revision,
        counts=report.counts,
        database_bytes=report.database_bytes,
        photo_bytes=report.photo_bytes,
        spare_photos=report.spare_photos,
        backups=list(report.backups),
        faults=list(report.faults),
    )


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

"""Rows ⇄ working forms, field by field, so that a new column cannot slip past unnoticed."""

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any, cast

from shapely import Polygon

from scrapstore.colour import Swatch
from scrapstore.shapes import bounding_sides
from scrapstore.store.column_types import UnreadableValueError
from scrapstore.store.files import PHOTO_NAME
from scrapstore.store.forms import (
    BindingStrip,
    CutOut,
    Fabric,
    NewBindingStrip,
    NewFabric,
    NewPhoto,
    NewReadyCut,
    NewScrap,
    NewYardage,
    Promise,
    ReadyCut,
    Scrap,
    Status,
    StoredPhoto,
    Value,
    Yardage,
)
from scrapstore.store.geometry import (
    checked_flaw,
    flaws_from_wkb,
    flaws_to_wkb,
    outline_to_wkb,
    outlines_from_wkb,
    storable_outline,
)
from scrapstore.store.models import (
    BindingRow,
    FabricRow,
    PhotoRow,
    ReadyCutRow,
    ScrapRow,
    YardageRow,
)

__all__ = [
    "binding_of_row",
    "checked_photo_name",
    "fabric_of_row",
    "fill_binding_row",
    "fill_fabric_row",
    "fill_photo_row",
    "fill_ready_cut_row",
    "fill_scrap_row",
    "fill_yardage_row",
    "photo_of_row",
    "ready_cut_of_row",
    "scraps_of_rows",
    "swatches_of_json",
    "words_of_json",
    "yardage_of_row",
]


def fabric_of_row(row: FabricRow) -> Fabric:
    """Return the working form of `row`."""
    return Fabric(
        id=row.id,
        created=row.created,
        name=row.name,
        fibre=row.fibre,
        usable_width=row.usable_width,
        washed=row.washed,
        one_way_print=row.one_way_print,
        alike=row.alike,
        family=row.family,
        value=cast("Value | None", row.value),
        note=row.note,
        retired=row.retired,
    )


def fill_fabric_row(row: FabricRow, form: NewFabric) -> None:
    """Write `form` into `row`."""
    row.name = form.name
    row.fibre = form.fibre
    row.usable_width = form.usable_width
    row.washed = form.washed
    row.one_way_print = form.one_way_print
    row.alike = form.alike
    row.family = form.family
    row.value = form.value
    row.note = form.note
    row.retired = form.retired


def photo_of_row(row: PhotoRow) -> StoredPhoto:
    """Return the working form of `row`."""
    return StoredPhoto(
        id=row.id,
        created=row.created,
        sha256=row.sha256,
        file_name=checked_photo_name(row.file_name),
        original_name=row.original_name,
        width=row.width,
        height=row.height,
        camera=row.camera,
        focal_length_mm=row.focal_length_mm,
        taken=row.taken,
    )


def fill_photo_row(row: PhotoRow, form: NewPhoto) -> None:
    """Write `form` into `row`."""
    row.sha256 = form.sha256
    row.file_name = form.file_name
    row.original_name = form.original_name
    row.width = form.width
    row.height = form.height
    row.camera = form.camera
    row.focal_length_mm = form.focal_length_mm
    row.taken = form.taken


def scraps_of_rows(
    rows: Sequence[Any], fabrics: Mapping[int, Fabric], photos: Mapping[int, StoredPhoto]
) -> tuple[Scrap, ...]:
    """Return the working forms of `rows` of scraps, as `ScrapRow` or with the same names.

    `fabrics` and `photos` hold at least those of these scraps, by number.
    """
    outlines = outlines_from_wkb([row.outline for row in rows])
    return tuple(
        _scrap_of_row(row, outline, fabrics.get(row.fabric_id), photos.get(row.photo_id))
        for row, outline in zip(rows, outlines, strict=True)
    )


def _scrap_of_row(
    row: Any, outline: Polygon, fabric: Fabric | None, photo: StoredPhoto | None
) -> Scrap:
    return Scrap(
        id=row.id,
        created=row.created,
        outline=outline,
        flaws=flaws_from_wkb(row.flaws),
        grain_deg=row.grain_deg,
        margin=row.margin,
        uncertainty=row.uncertainty,
        area=row.area,
        long_side=row.long_side,
        short_side=row.short_side,
        name=row.name,
        place=row.place,
        from_project=row.from_project,
        fabric=fabric,
        photo=photo,
        cut_out=_cut_out_of_json(row.cut_out),
        swatches=swatches_of_json(row.swatches),
        family=row.family,
        accents=words_of_json(row.accents),
        value=cast("Value | None", row.value),
        corrected=words_of_json(row.corrected),
        status=cast("Status", row.status),
        set_aside_for=row.set_aside_for,
        parent_id=row.parent_id,
        note=row.note,
    )


def fill_scrap_row(row: ScrapRow, form: NewScrap) -> None:
    """Write `form` into `row`, with its area and sides; ShapeError for an outline that is none."""
    outline = storable_outline(form.outline, what="scrap")
    row.outline = outline_to_wkb(outline)
    row.flaws = flaws_to_wkb([checked_flaw(flaw, outline) for flaw in form.flaws])
    row.area = outline.area
    row.long_side, row.short_side = bounding_sides(outline)
    row.grain_deg = form.grain_deg
    row.margin = form.margin
    row.uncertainty = form.uncertainty
    row.name = form.name
    row.place = form.place
    row.from_project = form.from_project
    row.fabric_id = None if form.fabric is None else form.fabric.id
    row.photo_id = None if form.photo is None else form.photo.id
    row.cut_out = _cut_out_to_json(form.cut_out)
    row.swatches = [_swatch_to_json(swatch) for swatch in form.swatches]
    row.family = form.family
    row.accents = list(form.accents)
    row.value = form.value
    row.corrected = list(form.corrected)
    row.status = form.status
    row.set_aside_for = form.set_aside_for
    row.parent_id = form.parent_id
    row.note = form.note


def yardage_of_row(row: YardageRow, promised: tuple[Promise, ...] = ()) -> Yardage:
    """Return the working form of `row`, `promised` as it is; its fabric must be loaded."""
    return Yardage(
        id=row.id,
        created=row.created,
        fabric=fabric_of_row(row.fabric),
        length=row.length,
        usable_width=row.usable_width,
        place=row.place,
        status=cast("Status", row.status),
        set_aside_for=row.set_aside_for,
        note=row.note,
        promised=promised,
    )


def fill_yardage_row(row: YardageRow, form: NewYardage) -> None:
    """Write `form` into `row`."""
    row.fabric_id = form.fabric.id
    row.length = form.length
    row.usable_width = form.usable_width
    row.place = form.place
    row.status = form.status
    row.set_aside_for = form.set_aside_for
    row.note = form.note


def ready_cut_of_row(row: ReadyCutRow) -> ReadyCut:
    """Return the working form of `row`; its fabric must be loaded."""
    return ReadyCut(
        id=row.id,
        created=row.created,
        kind=row.kind,
        label=row.label,
        measures=_measures(row.measures),
        cut=outlines_from_wkb([row.cut])[0],
        long_side=row.long_side,
        short_side=row.short_side,
        seam_allowance=row.seam_allowance,
        count=row.count,
        fabric=None if row.fabric is None else fabric_of_row(row.fabric),
        family=row.family,
        value=cast("Value | None", row.value),
        place=row.place,
        status=cast("Status", row.status),
        set_aside_for=row.set_aside_for,
        note=row.note,
    )


def fill_ready_cut_row(row: ReadyCutRow, form: NewReadyCut) -> None:
    """Write `form` into `row`, with its sides; ShapeError for an outline that is none."""
    cut = storable_outline(form.cut, what="ready-cut piece")
    row.kind = form.kind
    row.label = form.label
    row.measures = dict(form.measures)
    row.cut = outline_to_wkb(cut)
    row.long_side, row.short_side = bounding_sides(cut)
    row.seam_allowance = form.seam_allowance
    row.count = form.count
    row.fabric_id = None if form.fabric is None else form.fabric.id
    row.family = form.family
    row.value = form.value
    row.place = form.place
    row.status = form.status
    row.set_aside_for = form.set_aside_for
    row.note = form.note


def binding_of_row(row: BindingRow) -> BindingStrip:
    """Return the working form of `row`; its fabric must be loaded."""
    return BindingStrip(
        id=row.id,
        created=row.created,
        width=row.width,
        length=row.length,
        start_slope_deg=row.start_slope_deg,
        end_slope_deg=row.end_slope_deg,
        fabric=None if row.fabric is None else fabric_of_row(row.fabric),
        family=row.family,
        value=cast("Value | None", row.value),
        place=row.place,
        status=cast("Status", row.status),
        set_aside_for=row.set_aside_for,
        note=row.note,
    )


def fill_binding_row(row: BindingRow, form: NewBindingStrip) -> None:
    """Write `form` into `row`."""
    row.width = form.width
    row.length = form.length
    row.start_slope_deg = form.start_slope_deg
    row.end_slope_deg = form.end_slope_deg
    row.fabric_id = None if form.fabric is None else form.fabric.id
    row.family = form.family
    row.value = form.value
    row.place = form.place
    row.status = form.status
    row.set_aside_for = form.set_aside_for
    row.note = form.note


def _cut_out_to_json(cut_out: CutOut | None) -> dict[str, Any] | None:
    if cut_out is None:
        return None
    return {"file_name": cut_out.file_name, "box": list(cut_out.box)}


def _cut_out_of_json(entry: Mapping[str, Any] | None) -> CutOut | None:
    if entry is None:
        return None
    with _as_written(entry):
        left, bottom, right, top = (float(part) for part in entry["box"])
        return CutOut(checked_photo_name(entry["file_name"]), (left, bottom, right, top))


def _swatch_to_json(swatch: Swatch) -> dict[str, Any]:
    return {"rgb": list(swatch.rgb), "lab": list(swatch.lab), "share": swatch.share}


def swatches_of_json(entries: object) -> tuple[Swatch, ...]:
    """Return the swatches that `entries` tell; UnreadableValueError."""
    with _as_written(entries):
        if not isinstance(entries, list):
            raise TypeError("no list")
        return tuple(_swatch_of_json(entry) for entry in entries)


def _swatch_of_json(entry: Mapping[str, Any]) -> Swatch:
    red, green, blue = map(int, entry["rgb"])
    lightness, a, b = map(float, entry["lab"])
    return Swatch(rgb=(red, green, blue), lab=(lightness, a, b), share=float(entry["share"]))


def words_of_json(entry: object) -> tuple[str, ...]:
    """Return the words that `entry` lists; UnreadableValueError."""
    if entry == []:  # as most are
        return ()
    with _as_written(entry):
        if not isinstance(entry, list) or not all(isinstance(word, str) for word in entry):
            raise TypeError("no words")
        return tuple(entry)


def _measures(entry: Mapping[str, Any]) -> dict[str, float]:
    with _as_written(entry):
        return {name: float(value) for name, value in entry.items()}


@contextmanager
def _as_written(entry: object) -> Iterator[None]:
    """Turn what is wrong inside a JSON value into UnreadableValueError."""
    try:
        yield
    except (KeyError, TypeError, ValueError, OverflowError) as error:
        msg = f"{str(entry)[:60]!r} is not what this program writes there"
        raise UnreadableValueError(msg) from error


def checked_photo_name(name: object) -> str:
    """Return `name` when a file in the photo folder can be called so; UnreadableValueError.

    Such a file is named by its content. Any other name comes from elsewhere and may lead anywhere.
    """
    if not (isinstance(name, str) and PHOTO_NAME.fullmatch(name)):
        raise UnreadableValueError(f"{name!r} is no name of a stored photo")
    return name

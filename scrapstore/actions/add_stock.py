"""Adding yardage, ready-cut pieces and binding strips."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from shapely import Polygon, box

from scrapstore.actions.stock import YARDAGE, edit_stock
from scrapstore.errors import LengthError, ShapeError, UsageError
from scrapstore.shapes import (
    Shape,
    bounding_sides,
    corners_of,
    cut_shape,
    make_polygon,
    make_shape,
    shape_kind,
)
from scrapstore.stock_entry.words import named_fabric, text_or_none
from scrapstore.store import (
    BindingStrip,
    NewBindingStrip,
    NewReadyCut,
    NewYardage,
    ReadyCut,
    Store,
    Yardage,
)
from scrapstore.units import (
    LONGEST_SCRAP,
    LONGEST_YARDAGE,
    WIDEST_FABRIC,
    format_length,
    format_typed,
    parse_length,
)

__all__ = [
    "add_binding_strips",
    "add_ready_cut",
    "add_yardage",
    "checked_yardage",
    "cut_polygon",
    "cut_rectangle",
    "edit_yardage",
    "finished_shape",
    "ready_cut_of",
]


def add_yardage(
    store: Store,
    *,
    fabric: str,
    length: float,
    usable_width: float | None = None,
    place: str | None = None,
    note: str | None = None,
    make_fabric: bool = False,
) -> Yardage:
    """Add a length of the fabric called `fabric`, in inches along the selvage.

    A fabric that the store does not know is added when `make_fabric`, else NotFoundError.
    """
    checked_yardage(length, usable_width)
    with store.change("yardage add") as writer:
        cloth = named_fabric(writer, text_or_none(fabric), make=make_fabric)
        if cloth is None:
            raise UsageError("yardage is a length of a fabric; name the fabric: --fabric NAME")
        new = NewYardage(
            fabric=cloth, length=length, usable_width=usable_width, place=place, note=note
        )
        return writer.add_yardage(new)


def checked_yardage(length: float | None, usable_width: float | None) -> None:
    """Raise LengthError for a length of fabric, or a usable width, larger than cloth is made."""
    for field, inches, most in (
        ("length", length, LONGEST_YARDAGE),
        ("width", usable_width, WIDEST_FABRIC),
    ):
        if inches is not None and inches > most:
            shown, limit = (f"{round(i, 2):g} in" for i in (inches, most))
            meant = " did you mean cm?" if inches / 2.54 <= most else " check the unit"
            raise LengthError(f"{field}: {shown} is more than fabric has, {limit};{meant}")


def edit_yardage(
    store: Store,
    numbers: Sequence[int],
    changes: Mapping[str, Any],
    *,
    make_fabric: bool = False,
) -> tuple[Yardage, ...]:
    """Change the same fields of several lengths, as `edit_stock` does; LengthError as adding."""
    checked_yardage(changes.get("length"), changes.get("usable_width"))
    if not changes.get("fabric", "not given"):
        raise UsageError("yardage is a length of a fabric; name another fabric, or leave it out")
    return edit_stock(store, YARDAGE, numbers, changes, make_fabric=make_fabric)


def add_ready_cut(
    store: Store, pieces: NewReadyCut, *, fabric: str | None = None, make_fabric: bool = False
) -> ReadyCut:
    """Add a lot of ready-cut pieces of the fabric called `fabric`."""
    if not 1 <= pieces.count <= 1_000_000:
        raise UsageError(f"count: {pieces.count} pieces will not do; give at least 1")
    if bounding_sides(pieces.cut)[0] > LONGEST_SCRAP:
        longest = format_length(bounding_sides(pieces.cut)[0])
        msg = f"a piece {longest} long is larger than any scrap; check the size and its unit"
        raise ShapeError(msg)
    with store.change("ready add") as writer:
        cloth = named_fabric(writer, fabric, make=make_fabric)
        return writer.add_ready_cut(replace(pieces, fabric=cloth))


def add_binding_strips(
    store: Store,
    strip: NewBindingStrip,
    *,
    count: int = 1,
    fabric: str | None = None,
    make_fabric: bool = False,
) -> tuple[BindingStrip, ...]:
    """Add `count` binding strips alike, of the fabric called `fabric`."""
    if not 1 <= count <= 10_000:
        raise UsageError(f"count: {count} strips at once will not do; give 1 to 10000")
    checked_yardage(strip.length, strip.width)
    with store.change("binding add") as writer:
        cloth = named_fabric(writer, fabric, make=make_fabric)
        new = replace(strip, fabric=cloth)
        return tuple(writer.add_binding_strip(new) for _ in range(count))


def finished_shape(kind: str, sizes: str, *, default_unit: str = "in") -> Shape:
    """Return the shape of `kind` with finished sizes as typed.

    ``3`` or ``2 x 4 1/2`` give the sizes in the order that the shape lists them first; ``height=3``
    or ``long_side=6, short_side=3, height=2 1/2`` name them. Raises ShapeError or LengthError.
    """
    entry = shape_kind(kind)
    if entry.by_corners:
        raise ShapeError(
            "polygon: give pieces of another outline by their corners, as cut: --corners"
        )
    if "=" in sizes:
        pairs = [part.partition("=") for part in sizes.split(",")]
        named = {name.strip().replace(" ", "_"): text for name, _, text in pairs}
    else:
        texts = re.split(r"\s*[x×]\s*", sizes.strip())
        fitting = [names for names in entry.takes if len(names) == len(texts)]
        if not fitting:
            wanted = "; or ".join(" x ".join(names) for names in entry.takes)
            raise ShapeError(f"{entry.title}: {sizes!r} does not fit; give {wanted}")
        named = dict(zip(fitting[0], texts, strict=True))
    measures = {
        name: parse_length(text, field=f"{entry.title} {name}", default_unit=default_unit)
        for name, text in named.items()
    }
    return make_shape(entry.name, **measures)


def ready_cut_of(shape: Shape, *, count: int, seam_allowance: float) -> NewReadyCut:
    """Return ready-cut pieces of `shape`, cut with `seam_allowance` all round, tips pointed."""
    return NewReadyCut(
        kind=shape.kind,
        label=shape.label,
        measures=dict(shape.measures),
        cut=cut_shape(shape, seam_allowance),
        count=count,
        seam_allowance=seam_allowance,
    )


def cut_rectangle(width: float, height: float, *, count: int, seam_allowance: float) -> NewReadyCut:
    """Return ready-cut squares or rectangles by their cut size in inches.

    Raises ShapeError when the seam allowances leave nothing.
    """
    finished = (width - 2 * seam_allowance, height - 2 * seam_allowance)
    if min(finished) <= 0:
        size = f"{format_length(width)} × {format_length(height)}"
        allowance = format_typed(seam_allowance)
        msg = f"{size} leaves nothing inside a seam allowance of {allowance}; give a larger size"
        raise ShapeError(msg)
    if abs(width - height) < 1e-9:
        shape = make_shape("square", side=finished[0])
    else:
        shape = make_shape("rectangle", width=finished[0], height=finished[1])
    pieces = ready_cut_of(shape, count=count, seam_allowance=seam_allowance)
    return replace(pieces, cut=box(0, 0, width, height))


def cut_polygon(outline: Polygon, *, count: int, seam_allowance: float) -> NewReadyCut:
    """Return ready-cut pieces of any outline, as cut, with `seam_allowance` in it."""
    shape = make_polygon(corners_of(outline))
    return NewReadyCut(
        kind=shape.kind,
        label=f"{shape.label}, as cut",
        measures=dict(shape.measures),
        cut=shape.outline,
        count=count,
        seam_allowance=seam_allowance,
    )

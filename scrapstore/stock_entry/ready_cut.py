"""Ready-cut pieces as typed: by a shape and its finished sizes, or as they are cut."""

import re
from dataclasses import replace

from shapely import Polygon, box

from scrapstore.errors import ShapeError
from scrapstore.shapes import Shape, corners_of, cut_shape, make_polygon, make_shape, shape_kind
from scrapstore.store import NewReadyCut
from scrapstore.units import format_length, format_typed, parse_length

__all__ = ["cut_polygon", "cut_rectangle", "finished_shape", "ready_cut_of"]


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

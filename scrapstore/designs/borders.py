"""A border round a rectangular top, with straight or mitred corners."""

from dataclasses import replace
from typing import Final

from shapely import Polygon, box

from scrapstore.designs.forms import Design, DesignPiece, PlacedPiece, design_piece
from scrapstore.errors import UsageError

__all__ = ["CORNERS", "bordered"]

CORNERS: Final = ("straight", "mitred")
"""How the strips meet in the corners."""
_ROLE: Final = "border"


def bordered(design: Design, width: float, corners: str) -> Design:
    """Return `design`, a rectangle, with a border of finished `width` round it.

    With straight corners the side strips are sewn on first; upper and lower ones run over their
    ends. Raises UsageError where the top is no rectangle.
    """
    if not design.is_rectangle:
        raise UsageError("border: only a rectangular top takes one; for a star, --fill rectangle")
    west, south, east, north = design.outline.bounds
    wide, high = design.sides
    outer = box(west - width, south - width, east + width, north + width)
    if corners == "mitred":
        inner = ((west, south), (east, south), (east, north), (west, north))
        edge = [
            (x + (width if x > 0 else -width), y + (width if y > 0 else -width)) for x, y in inner
        ]
        strips = {
            name: Polygon([edge[i], edge[j], inner[j], inner[i]])
            for name, i, j in (("lower", 0, 1), ("right", 1, 2), ("upper", 2, 3), ("left", 3, 0))
        }
        lines = _mitred_lines(wide, high, width)
        note = (
            "Mitred border: the list has its strips with their ends cut to the mitre, for a top "
            "that measures as planned. Surer: measure the sewn top through its middle, cut plain "
            "strips as long as that and twice the width of the border, with five seam allowances "
            "more, and trim the mitres when the corners are sewn. Sew each strip up to "
            "the corner of the top, no further."
        )
    else:
        strips = {
            "left": box(west - width, south, west, north),
            "right": box(east, south, east + width, north),
            "upper": box(west - width, north, east + width, north + width),
            "lower": box(west - width, south - width, east + width, south),
        }
        strips = {name: Polygon(strip.exterior.coords[:-1]) for name, strip in strips.items()}
        lines = [
            design_piece("border, sides", 2, _ROLE, "rectangle", width=width, height=high),
            design_piece("border, upper and lower", 2, _ROLE, "rectangle",
                         width=wide + 2 * width, height=width),
        ]  # fmt: skip
        note = (
            "Straight border: measure the sewn top through its middle, not along its edges, and "
            "cut the side strips to that height; sew them on, measure the width through the "
            "middle, and cut the upper and lower strips to that."
        )
    placed = [
        PlacedPiece(
            f"border.{name}", lines[name in ("upper", "lower") and len(lines) > 1].name, _ROLE,
            None, None, "border", outline, 0.0 if name in ("upper", "lower") else 90.0,
        )
        for name, outline in strips.items()
    ]  # fmt: skip
    return replace(
        design,
        title=f"{design.title}, border",
        outline=outer,
        lines=(*design.lines, *lines),
        pieces=(*design.pieces, *placed),
        size=design.size + 2 * width,
        set_in_seams=design.set_in_seams + 4 * (corners == "mitred"),
        notes=(*design.notes, note),
    )


def _mitred_lines(wide: float, high: float, width: float) -> list[DesignPiece]:
    sides = {"border, sides": high, "border, upper and lower": wide}
    if abs(wide - high) < 1e-9:
        sides = {"border": wide}
    return [
        design_piece(name, 4 // len(sides), _ROLE, "trapezoid", long_side=side + 2 * width,
                     short_side=side, height=width)
        for name, side in sides.items()
    ]  # fmt: skip

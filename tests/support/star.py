"""Where every piece of the sample star lies on the cushion, worked out for the tests.

The star stands on a tip, its middle at the origin; inches, y up.
"""

import math
from dataclasses import dataclass

from shapely import Polygon
from shapely.affinity import rotate, translate

from scrapstore.projects import Project

ROOT_3 = math.sqrt(3)


@dataclass(frozen=True)
class Placed:
    """A finished piece on the cushion top."""

    name: str
    outline: Polygon


def placed_star(project: Project, *, rows: int = 3) -> list[Placed]:
    """Every piece of the star project in its place, each made from the project's own outline.

    `rows` is the number of small diamonds along a side of a point.
    """
    outlines = {piece.name: piece.shape.outline for piece in project.pieces}
    side = next(p for p in project.pieces if p.name == "heart diamond").shape.measures["side"]
    large = rows * side
    return [
        *_diamonds(outlines, side, rows),
        *_triangles(outlines, large),
        *_halves(outlines, large),
        *_strips(outlines),
    ]


RINGS = ("heart", "inner ring", "middle ring", "outer ring", "tip")


def _diamonds(outlines: dict[str, Polygon], side: float, rows: int) -> list[Placed]:
    placed = []
    for point in range(6):
        along, other = _direction(60 * point), _direction(60 * point + 60)
        for i in range(rows):
            for j in range(rows):
                name = f"{RINGS[i + j]} diamond"
                # Drawn with its sharp corner at the origin and a side level.
                laid = rotate(outlines[name], 60 * point, origin=(0, 0))
                x, y = (side * (i * along[k] + j * other[k]) for k in (0, 1))
                placed.append(Placed(name, translate(laid, x, y)))
    return placed


def _triangles(outlines: dict[str, Polygon], large: float) -> list[Placed]:
    """Two in each corner: one hangs from the upper edge into the notch, one stands beside it."""
    name = "background triangle"
    height = large * ROOT_3 / 2
    standing = outlines[name]  # lower left corner at the origin
    hanging = translate(rotate(standing, 180, origin=(0, 0)), large, height)
    upper = [
        translate(hanging, 0, height), translate(standing, large / 2, height),
        translate(hanging, -large, height), translate(standing, -1.5 * large, height),
    ]  # fmt: skip
    return [Placed(name, turned) for piece in upper for turned in (piece, _turned(piece))]


def _halves(outlines: dict[str, Polygon], large: float) -> list[Placed]:
    """One in each corner of the star's rectangle, two in the notch at either side."""
    height, east, top = large * ROOT_3 / 2, 1.5 * large, large * ROOT_3
    left, right = "left half triangle", "right half triangle"
    # The left one has its right angle at the lower right, the right one at the lower left.
    upper = [
        Placed(left, _corner_at(outlines[left], (east, 0), "lower right")),
        Placed(right, _corner_at(outlines[right], (-east, 0), "lower left")),
        Placed(right, _corner_at(_turned(outlines[right]), (east, top), "upper right")),
        Placed(left, _corner_at(_turned(outlines[left]), (-east, top), "upper left")),
    ]
    assert upper[0].outline.bounds[3] == height
    return [p for one in upper for p in (one, Placed(one.name, _turned(one.outline)))]


def _strips(outlines: dict[str, Polygon]) -> list[Placed]:
    side, edge = outlines["side strip"], outlines["upper and lower strip"]
    _, _, wide, tall = edge.bounds
    upright = side.bounds[3]
    placed = [
        Placed("side strip", _corner_at(side, (wide / 2, -upright / 2), "lower right")),
        Placed("upper and lower strip", translate(edge, -wide / 2, upright / 2)),
    ]
    assert upright / 2 + tall == wide / 2
    return [p for one in placed for p in (one, Placed(one.name, _turned(one.outline)))]


def _direction(deg: float) -> tuple[float, float]:
    return math.cos(math.radians(deg)), math.sin(math.radians(deg))


def _turned(outline: Polygon) -> Polygon:
    """Half a turn about the middle of the cushion."""
    return rotate(outline, 180, origin=(0, 0))


def _corner_at(outline: Polygon, place: tuple[float, float], corner: str) -> Polygon:
    """Move `outline` so that a corner of the rectangle round it lies at `place`."""
    west, south, east, north = outline.bounds
    x = east if "right" in corner else west
    y = north if "upper" in corner else south
    return translate(outline, place[0] - x, place[1] - y)

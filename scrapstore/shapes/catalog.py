"""The trade's shapes by name: what sizes each one takes, how it is drawn and measured.

``KINDS`` is the one list that the project file and the command line read. How a shape is drawn
matters to cutting: sides that lie in a strip are drawn level, and left and right are as seen on the
right side of the cloth with the shape's base down.
"""

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Protocol

from scrapstore.errors import ShapeError
from scrapstore.near_words import did_you_mean, near_words
from scrapstore.shapes import drawings
from scrapstore.shapes.outline import (
    LARGEST_SIZE,
    SHORTEST_EDGE,
    Corner,
    EdgeLength,
    Reach,
    Shape,
    checked_outline,
    corners_of,
)
from scrapstore.units import Units, format_length

__all__ = [
    "KINDS",
    "ShapeKind",
    "first_edge_side",
    "label_in",
    "make_polygon",
    "make_shape",
    "shape_kind",
]


@dataclass(frozen=True, slots=True)
class ShapeKind:
    """One entry of the catalogue.

    `title` is the name in print. `takes` lists the sets of sizes that define the shape; exactly
    one set is given. `meanings` says what every size is. `example` is one set with values.
    `measured` says how each size is read off an outline, the size to cut by first. `also` holds
    further names. A kind `by_corners` is made by `make_polygon`.
    """

    name: str
    title: str
    takes: tuple[tuple[str, ...], ...]
    meanings: Mapping[str, str]
    example: Mapping[str, float]
    measured: Mapping[str, EdgeLength | Reach]
    straight_edges: tuple[int, ...]
    draw: drawings.Draw
    also: tuple[str, ...] = ()
    by_corners: bool = False


_LEVEL: Final = 1e-6
_SIDE = "finished length of a side"
_BETWEEN = "finished height between the parallel sides"
_HALF_OF = "finished side of the equilateral triangle it is half of (its longest side)"
_UPRIGHT = "finished height, the longer of the two sides at the right angle"
_HEIGHT = Reach(90)

_ALL: Final = (
    ShapeKind(
        "square", "square", (("side",),), {"side": _SIDE}, {"side": 3.0},
        {"side": EdgeLength(0)}, (0, 1, 2, 3), drawings.square,
    ),
    ShapeKind(
        "rectangle", "rectangle", (("width", "height"),),
        {"width": "finished width, as drawn from left to right",
         "height": "finished height, as drawn from bottom to top"},
        {"width": 2.0, "height": 4.5},
        {"width": EdgeLength(0), "height": EdgeLength(1)}, (0, 1, 2, 3), drawings.rectangle,
    ),
    ShapeKind(
        "diamond-60", "60° diamond", (("side",), ("height",)),
        {"side": _SIDE, "height": _BETWEEN}, {"side": 3.0},
        {"height": _HEIGHT, "side": EdgeLength(0)}, (0, 1, 2, 3), drawings.diamond_60,
    ),
    ShapeKind(
        "diamond-45", "45° diamond", (("side",), ("height",)),
        {"side": _SIDE, "height": _BETWEEN}, {"side": 3.0},
        {"height": _HEIGHT, "side": EdgeLength(0)}, (0, 1, 2, 3), drawings.diamond_45,
    ),
    ShapeKind(
        "equilateral-triangle", "equilateral triangle", (("side",), ("height",)),
        {"side": _SIDE, "height": "finished height from a side to the point"}, {"side": 3.0},
        {"height": _HEIGHT, "side": EdgeLength(0)}, (0, 1, 2), drawings.equilateral_triangle,
        also=("60° triangle",),
    ),
    ShapeKind(
        "triangle-120", "120° triangle", (("side",), ("long_side",), ("height",)),
        {"side": "finished length of each of the two equal sides",
         "long_side": "finished length of the longest side",
         "height": "finished height from the longest side to the point"},
        {"side": 3.0},
        {"height": _HEIGHT, "long_side": EdgeLength(0), "side": EdgeLength(1)}, (0,),
        drawings.triangle_120,
    ),
    ShapeKind(
        "half-triangle-left", "half triangle, left", (("height",), ("side",)),
        {"height": _UPRIGHT, "side": _HALF_OF}, {"height": 3.0},
        {"height": EdgeLength(1), "base": EdgeLength(0), "side": EdgeLength(2)}, (0, 1),
        drawings.half_triangle_left,
    ),
    ShapeKind(
        "half-triangle-right", "half triangle, right", (("height",), ("side",)),
        {"height": _UPRIGHT, "side": _HALF_OF}, {"height": 3.0},
        {"height": EdgeLength(1), "base": EdgeLength(2), "side": EdgeLength(0)}, (1, 2),
        drawings.half_triangle_right,
    ),
    ShapeKind(
        "half-square-triangle", "half-square triangle", (("short_side",),),
        {"short_side": "finished side of the square it is half of (its short sides)"},
        {"short_side": 3.0},
        {"short_side": EdgeLength(0), "long_side": EdgeLength(1)}, (0, 2),
        drawings.half_square_triangle, also=("hst",),
    ),
    ShapeKind(
        "quarter-square-triangle", "quarter-square triangle", (("long_side",),),
        {"long_side": "finished side of the square it is a quarter of (its long side)"},
        {"long_side": 3.0},
        {"long_side": EdgeLength(0), "short_side": EdgeLength(1)}, (0,),
        drawings.quarter_square_triangle, also=("qst",),
    ),
    ShapeKind(
        "hexagon", "hexagon", (("side",), ("height",)), {"side": _SIDE, "height": _BETWEEN},
        {"side": 1.0},
        {"height": _HEIGHT, "side": EdgeLength(0)}, (0, 1, 2, 3, 4, 5), drawings.hexagon,
    ),
    ShapeKind(
        "half-hexagon", "half hexagon", (("side",), ("height",)),
        {"side": "finished length of a short side (the long side is twice that)",
         "height": _BETWEEN},
        {"side": 2.0},
        {"height": _HEIGHT, "long_side": EdgeLength(0), "side": EdgeLength(2)}, (0, 2),
        drawings.half_hexagon,
    ),
    ShapeKind(
        "trapezoid", "trapezoid", (("long_side", "short_side", "height"),),
        {"long_side": "finished length of the longer parallel side",
         "short_side": "finished length of the shorter parallel side", "height": _BETWEEN},
        {"long_side": 6.0, "short_side": 3.0, "height": 2.5},
        {"height": _HEIGHT, "long_side": EdgeLength(0), "short_side": EdgeLength(2)}, (0, 2),
        drawings.trapezoid,
    ),
    ShapeKind(
        "kite", "kite",
        (("long_side",), ("short_side",), ("length",), ("length", "width", "shoulder")),
        {"long_side": "finished longer side of the 60°/90°/120°/90° kite",
         "short_side": "finished shorter side of the 60°/90°/120°/90° kite",
         "length": "finished length from point to point along the middle",
         "width": "finished width at its widest",
         "shoulder": "distance along the middle from the lower point to the widest line"},
        {"long_side": 3.0},
        {"length": _HEIGHT, "width": Reach(0), "long_side": EdgeLength(0),
         "short_side": EdgeLength(1)}, (0, 1, 2, 3), drawings.kite,
    ),
    ShapeKind("polygon", "polygon", (), {}, {}, {}, (), drawings.no_drawing, by_corners=True),
)  # fmt: skip

KINDS: Final[Mapping[str, ShapeKind]] = MappingProxyType({kind.name: kind for kind in _ALL})
"""Every kind of shape, by its name, in the order people look for them."""


def _words(text: str) -> tuple[str, ...]:
    """Return the words of a shape's name in one order, so that spelling and order do not matter."""
    return tuple(sorted(re.findall(r"[a-z]+|\d+", text.lower())))


_BY_WORDS: Final = {
    _words(name): kind for kind in _ALL for name in (kind.name, kind.title, *kind.also)
}


def shape_kind(text: str) -> ShapeKind:
    """Return the kind that `text` names: ``diamond-60``, ``60° diamond`` and ``Diamond 60`` alike.

    Raises ShapeError, suggesting the nearest names, for anything else.
    """
    found = _BY_WORDS.get(_words(text))
    if found is not None:
        return found
    titles = {name: kind.title for kind in _ALL for name in (kind.title, kind.name)}
    near = {titles[name]: None for name in near_words(text, titles)}
    hint = did_you_mean(text, list(near or [kind.name for kind in _ALL]))
    raise ShapeError(f"shape {text!r} is not known; {hint}")


def make_shape(kind: str, **measures: float) -> Shape:
    """Return the shape of `kind` with these finished sizes in inches.

    Exactly one of the sets of sizes in ``KINDS[kind].takes`` is given. Raises ShapeError for an
    unknown kind or size, too few or too many sizes, sizes that are not between a hundredth and
    10,000 in, and sizes that make no such shape. For a polygon use `make_polygon`.

    >>> make_shape("hexagon", height=3).measures["side"]
    1.7320508075688774
    """
    entry = shape_kind(kind)
    if entry.by_corners:
        raise ShapeError("polygon: it is given by its corners, not by sizes")
    way = next((names for names in entry.takes if set(names) == set(measures)), None)
    if way is None:
        given = " and ".join(measures) or "nothing"
        wanted = "; or ".join(" and ".join(names) for names in entry.takes)
        raise ShapeError(f"{entry.title}: {given} given; give {wanted}")
    for name, value in measures.items():
        if not SHORTEST_EDGE <= value <= LARGEST_SIZE:  # also false for what is not a number
            msg = (
                f"{entry.title}: {name} {value} will not do; give {entry.meanings[name]} in inches"
            )
            raise ShapeError(msg)
    outline = checked_outline(entry.draw(**measures), what=entry.title)
    sizes = {name: how.of(outline) for name, how in entry.measured.items()} | measures
    label = _label(entry, {name: measures[name] for name in way})
    return Shape(entry.name, label, outline, sizes, entry.straight_edges)


def make_polygon(corners: Iterable[Corner], *, label: str | None = None) -> Shape:
    """Return a piece given by its corners, in order round it, either way.

    They are turned counter-clockwise. Its straight edges are those at a right angle; where there
    is none, the longest. Its measures are `width` and `height` of the upright rectangle round it
    and the length of each side (``side 1`` starts at the first corner). Raises ShapeError as
    `checked_outline` does.
    """
    outline = checked_outline(corners, what=label or "polygon")
    points = corners_of(outline)
    count = len(points)
    lengths = [math.dist(points[i], points[(i + 1) % count]) for i in range(count)]
    right = [_is_right(points[i - 1], points[i], points[(i + 1) % count]) for i in range(count)]
    straight = tuple(i for i in range(count) if right[i] or right[(i + 1) % count])
    if not straight:
        straight = tuple(i for i in range(count) if lengths[i] > max(lengths) - 1e-6)
    measures = {"width": Reach(0).of(outline), "height": Reach(90).of(outline)}
    measures |= {f"side {i + 1}": length for i, length in enumerate(lengths)}
    if label is None:
        label = _polygon_label(measures)
    return Shape("polygon", label, outline, measures, straight)


class Labelled(Protocol):
    """A shape, or pieces of one: its kind, its label in inches and its measures in inches."""

    @property
    def kind(self) -> str: ...
    @property
    def label(self) -> str: ...
    @property
    def measures(self) -> Mapping[str, float]: ...


def label_in(shape: Labelled, units: Units) -> str:
    """Return the label of `shape` with its sizes in `units`.

    The label may carry more words behind; one that this catalogue did not write comes back as it
    is.

    >>> label_in(make_shape("rectangle", width=2, height=4.5), "cm")
    'rectangle, ~5.1 × ~11.4 cm'
    """
    entry, label, measures = KINDS.get(shape.kind), shape.label, shape.measures
    if entry is None:
        return label
    if entry.by_corners:
        written = {_polygon_label(measures): _polygon_label(measures, units)} if measures else {}
    else:
        # Which sizes were given shows in the label alone: `measures` holds all of them. The longer
        # sets come first, since a label of "length, width" starts like one of "length".
        known = [way for way in entry.takes if measures.keys() >= set(way)]
        ways = [{name: measures[name] for name in way} for way in sorted(known, key=len)[::-1]]
        written = {_label(entry, way): _label(entry, way, units) for way in ways}
    for inches, shown in written.items():
        if label == inches or label.startswith(f"{inches},"):
            return shown + label.removeprefix(inches)
    return label


def _is_right(before: Corner, corner: Corner, after: Corner) -> bool:
    ux, uy = before[0] - corner[0], before[1] - corner[1]
    vx, vy = after[0] - corner[0], after[1] - corner[1]
    return abs(ux * vx + uy * vy) < 1e-6 * math.hypot(ux, uy) * math.hypot(vx, vy)


def _label(entry: ShapeKind, measures: Mapping[str, float], units: Units = "in") -> str:
    if len(entry.takes) == 1 and len(measures) == 1:
        return f"{entry.title}, {format_length(next(iter(measures.values())), units)}"
    if set(measures) == {"width", "height"}:
        width, height = (format_length(measures[name], units) for name in ("width", "height"))
        return f"{entry.title}, {width.removesuffix(f' {units}')} × {height}"
    sizes = [f"{name.replace('_', ' ')} {format_length(v, units)}" for name, v in measures.items()]
    return ", ".join([entry.title, *sizes])


def _polygon_label(measures: Mapping[str, float], units: Units = "in") -> str:
    count = sum(name.startswith("side ") for name in measures)
    width, height = (format_length(measures[name], units) for name in ("width", "height"))
    return f"polygon of {count} corners, {width} × {height}"


def first_edge_side(kind: ShapeKind) -> str:
    """Return on which side of a shape, as it is drawn, its first edge lies."""
    if kind.by_corners:
        return "first corner to second"
    (x0, y0), (x1, y1) = corners_of(make_shape(kind.name, **kind.example).outline)[:2]
    # Corners run counter-clockwise, so the outside is at the right of an edge.
    out_x, out_y = y1 - y0, x0 - x1
    upper = "" if abs(out_y) < _LEVEL * abs(out_x) else "upper " if out_y > 0 else "lower "
    right = "" if abs(out_x) < _LEVEL * abs(out_y) else "right " if out_x > 0 else "left "
    return f"{upper}{right}side"

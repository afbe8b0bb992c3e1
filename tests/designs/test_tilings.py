"""Every design over random parameters: no gap, no overlap, each piece the shape of its line."""

import math
from collections import Counter
from collections.abc import Sequence
from typing import Any

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, Polygon, STRtree

from scrapstore.designs import DESIGNS, Design, PlacedPiece, make_design
from scrapstore.shapes import Shape, corners_of

EIGHTHS = st.integers(4, 40).map(lambda n: n / 8)
HEIGHTS = st.one_of(EIGHTHS, st.floats(0.25, 5))


@st.composite
def stars(draw: st.DrawFn) -> Design:
    fill = draw(st.sampled_from(["split", "hexagon", "rectangle"]))
    a_side = draw(st.integers(1, 5))
    piece = draw(HEIGHTS)
    rest = draw(st.sampled_from([None, 0.0, 0.5, 2.3]))
    strips = fill == "rectangle" and rest is not None
    pieced = draw(st.sampled_from([None, "halves", "fours"])) if piece >= 0.5 else None
    only = draw(st.one_of(st.none(), st.integers(1, 2 * a_side - 1))) if pieced else None
    size = 4 * a_side * piece + 2 * rest if strips and rest is not None else None
    return make_design(
        "star", piece=piece, size=size, a_side=a_side, fill=fill, seam=0.25, mark=0.125,
        pieced=pieced, pieced_round=only,
    )  # fmt: skip


FLIP = st.booleans()
COUNTS = {"a_side": 4, "rows": 4, "columns": 4, "rings": 3}
RECTANGLES = [name for name, kind in DESIGNS.items() if "border" in kind.takes and name != "star"]


@st.composite
def others(draw: st.DrawFn, names: list[str]) -> Design:
    """A design of some piece, with any of its words and counts, and perhaps a border."""
    kind = DESIGNS[draw(st.sampled_from(names))]
    words = {key: known for key, known in kind.words.items() if key != "pieced" or draw(FLIP)}
    own: dict[str, Any] = {key: draw(st.sampled_from(known)) for key, known in words.items()}
    own |= {key: draw(st.integers(1, COUNTS[key])) for key in kind.takes if key in COUNTS}
    if own.get("layout") not in (None, "sawtooth"):
        own |= {key: 2 * draw(st.integers(1, 2)) for key in ("rows", "columns")}
    if "length" in kind.takes:
        own["length"] = draw(st.one_of(st.none(), HEIGHTS))
    if "border" in kind.takes and draw(st.booleans()):
        own["border"] = draw(HEIGHTS)
        own["border_corners"] = draw(st.sampled_from(["straight", "mitred"]))
    piece = draw(HEIGHTS) + (0.25 if "pieced" in own else 0)
    return make_design(kind.name, piece=piece, seam=0.25, mark=0.125, **own)


def check(design: Design) -> None:
    outlines = [piece.outline for piece in design.pieces]
    whole = design.outline.area
    slack = 1e-12 * whole
    assert all(outline.is_valid and outline.exterior.is_ccw for outline in outlines)
    assert math.fsum(outline.area for outline in outlines) == pytest.approx(whole, rel=1e-12)
    union = shapely.union_all(outlines, grid_size=1e-9)
    assert union.symmetric_difference(design.outline, grid_size=1e-9).area < 1e-7
    tree = STRtree(outlines)
    for i, j in zip(*tree.query(outlines, predicate="intersects"), strict=True):
        if i < j:
            assert outlines[i].intersection(outlines[j]).area <= slack
    assert len({piece.position for piece in design.pieces}) == len(design.pieces)
    lines = {line.name: line for line in design.lines}
    assert Counter(piece.piece for piece in design.pieces) == {
        name: line.count for name, line in lines.items()
    }
    for piece in design.pieces:
        line = lines[piece.piece]
        assert piece.role == line.role
        assert runs_along_grain(line.shape, piece.outline, piece.grain_deg), piece
    # A border is sewn to the whole top: a mitred corner is set in, whatever meets it inside.
    own = [piece for piece in design.pieces if piece.role != "border"]
    border = design.parameters.get("border")
    top = (
        design.outline
        if border is None
        else design.outline.buffer(-float(border), join_style="mitre")
    )
    mitred = 4 * (design.parameters.get("border_corners") == "mitred")
    found = y_seams(own, top) + mitred
    # A pieced diamond is sewn first: that a seam of it runs on beside it makes no seam straight.
    if "pieced" in design.parameters:
        assert found <= design.set_in_seams
    else:
        assert found == design.set_in_seams


def steps(outline: Polygon) -> list[tuple[float, float]]:
    """The length and direction of each edge, in order."""
    corners = corners_of(outline)
    return [
        (math.dist(a, b), math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])))
        for a, b in zip(corners, corners[1:] + corners[:1], strict=True)
    ]


def runs_along_grain(shape: Shape, outline: Polygon, grain_deg: float) -> bool:
    """Whether `outline` is `shape`, turned and not mirrored, a straight edge along `grain_deg`."""
    drawn, placed = steps(shape.outline), steps(outline)
    for start in range(len(placed)):
        turned = placed[start:] + placed[:start]
        turn = turned[0][1] - drawn[0][1]
        if len(turned) == len(drawn) and all(
            abs(length - own) < 1e-9 and abs(math.sin(math.radians(deg - was - turn))) < 1e-9
            for (length, deg), (own, was) in zip(turned, drawn, strict=True)
        ):
            straight = [turned[edge][1] for edge in shape.straight_edges]
            if any(abs(math.sin(math.radians(deg - grain_deg))) < 1e-9 for deg in straight):
                return True
    return False


def y_seams(pieces: Sequence[PlacedPiece], top: Polygon) -> int:
    """Places inside the top where seams meet and none runs straight through: a seam is set in."""
    corners = {(round(x, 6), round(y, 6)) for p in pieces for x, y in corners_of(p.outline)}
    found = 0
    for x, y in corners:
        here = Point(x, y)
        if top.exterior.distance(here) < 1e-5:
            continue
        directions: list[float] = []
        through = False
        for piece in pieces:
            if piece.outline.distance(here) > 1e-5:
                continue
            points = corners_of(piece.outline)
            at = [i for i, point in enumerate(points) if math.dist(point, (x, y)) < 1e-5]
            through |= not at
            ends = [end for i in at for end in (points[i - 1], points[(i + 1) % len(points)])]
            directions += [math.degrees(math.atan2(end[1] - y, end[0] - x)) for end in ends]
        opposite = any(
            abs(math.cos(math.radians(one - other)) + 1) < 1e-9
            for one in directions for other in directions
        )  # fmt: skip
        found += not through and not opposite
    return found


@settings(max_examples=110)
@given(stars())
def test_stars_tile(design: Design) -> None:
    check(design)


@settings(max_examples=150)
@given(others(RECTANGLES))
def test_rectangles_tile_with_their_borders(design: Design) -> None:
    check(design)
    assert design.is_rectangle


@settings(max_examples=20)
@given(others([name for name, kind in DESIGNS.items() if "border" not in kind.takes]))
def test_hexagons_tile(design: Design) -> None:
    check(design)


@pytest.mark.parametrize("corners", ["straight", "mitred"])
def test_a_star_in_a_border_tiles(corners: str) -> None:
    check(
        make_design(
            "star", size=20, fill="rectangle", border=1.5, border_corners=corners, seam=0.25,
            mark=0.125,
        )
    )  # fmt: skip


@settings(max_examples=40)
@given(others([name for name in DESIGNS if name != "star"]))
def test_edges_of_the_top_are_on_the_straight_grain(design: Design) -> None:
    """At least one of each piece: the outer edges of a hexagon or diamond run in two directions."""
    for piece in design.pieces:
        corners = corners_of(piece.outline)
        off_grain = []
        for a, b in zip(corners, corners[1:] + corners[:1], strict=True):
            middle = Point((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
            if design.outline.exterior.distance(middle) < 1e-9:
                off = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) - piece.grain_deg
                off_grain.append(abs(math.sin(math.radians(2 * off))))
        assert not off_grain or min(off_grain) < 1e-9 or design.name == "hexagon-flower", piece

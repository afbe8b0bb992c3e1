"""The independent verifier: every plan passes it before anyone sees or stores it.

It shares no geometry with the packer. The packer works with sums of convex polygons and arrays of
positions; here each placed outline is drawn in by the tolerance and asked, with exact predicates,
whether the region covers it and whether it meets a neighbour; the orientation is found again from
the bare corners with plain arithmetic.
"""

import math
from collections.abc import Sequence

import shapely
from shapely.geometry import MultiPolygon, Polygon

from scrapstore.packing.pieces import Layout, PieceKind, Placement

__all__ = ["VERIFY_TOLERANCE", "verify"]

VERIFY_TOLERANCE = 1e-6
"""How far, in inches, a piece may reach over an edge or differ from its drawing."""


def verify(region: Polygon | MultiPolygon, kinds: Sequence[PieceKind], layout: Layout) -> list[str]:
    """Return the faults of a layout as sentences; an empty list means that it is sound.

    Checked: every piece is of a known kind and not more than wanted; its outline is the kind's
    outline in an allowed rotation, mirrored only where that is allowed; it lies inside the region;
    no two overlap; the value is the sum of the pieces' worth and no more than the bound.
    """
    by_name = {kind.name: kind for kind in kinds}
    faults: list[str] = []
    for number, placement in enumerate(layout.placements, start=1):
        kind = by_name.get(placement.kind)
        if kind is None:
            faults.append(f"piece {number}: there is no kind {placement.kind!r}")
        elif not _is_allowed_turn(kind, placement):
            faults.append(f"piece {number} ({placement.kind}): not an allowed turn of its outline")
    for name, count in layout.counts().items():
        if name in by_name and count > by_name[name].wanted:
            faults.append(f"{name}: {count} placed, {by_name[name].wanted} wanted")
    faults += _misplaced(region, layout.placements)
    value = math.fsum(by_name[p.kind].worth for p in layout.placements if p.kind in by_name)
    if abs(value - layout.value) > 1e-6 * max(1.0, value):
        faults.append(f"value {layout.value:.6f} is not the sum of the pieces, {value:.6f}")
    if layout.bound < layout.value - 1e-6 * max(1.0, value):
        faults.append(f"bound {layout.bound:.6f} is below the value {layout.value:.6f}")
    return faults


def _misplaced(region: Polygon | MultiPolygon, placements: Sequence[Placement]) -> list[str]:
    """Return the faults of place: outside the region, or over a neighbour."""
    faults = []
    drawn_in = [
        p.outline.buffer(-VERIFY_TOLERANCE, join_style="mitre", mitre_limit=10.0)
        for p in placements
    ]
    shapely.prepare(region)
    for number, (placement, inner) in enumerate(zip(placements, drawn_in, strict=True), start=1):
        if not placement.outline.is_valid or inner.is_empty or not region.covers(inner):
            faults.append(f"piece {number} ({placement.kind}): not inside the region")
    if not placements:
        return faults
    tree = shapely.STRtree([p.outline for p in placements])
    for i, j in tree.query(drawn_in, predicate="intersects").T.tolist():
        if i < j:
            a, b = placements[i].kind, placements[j].kind
            faults.append(f"pieces {i + 1} ({a}) and {j + 1} ({b}) overlap")
    return faults


def _is_allowed_turn(kind: PieceKind, placement: Placement) -> bool:
    """Tell whether the placed outline is the kind's, moved, in one of its allowed turns."""
    placed = _corners(placement.outline)
    drawn = _corners(kind.outline)
    if len(placed) != len(drawn) or placement.outline.interiors:
        return False
    ways = [(drawn, kind.rotations_deg)]
    if kind.mirror:
        mirrored = [(-x, y) for x, y in reversed(drawn)]
        turns = kind.mirrored_rotations_deg
        ways.append((mirrored, kind.rotations_deg if turns is None else turns))
    for corners, rotations_deg in ways:
        for rotation_deg in rotations_deg:
            c, s = math.cos(math.radians(rotation_deg)), math.sin(math.radians(rotation_deg))
            if _same_but_moved([(c * x - s * y, s * x + c * y) for x, y in corners], placed):
                return True
    return False


def _same_but_moved(drawn: list[tuple[float, float]], placed: list[tuple[float, float]]) -> bool:
    """Tell whether two rings, both counter-clockwise, differ by a move alone."""
    count = len(drawn)
    for first in range(count):
        dx, dy = placed[first][0] - drawn[0][0], placed[first][1] - drawn[0][1]
        if all(
            abs(placed[(first + k) % count][0] - drawn[k][0] - dx) <= VERIFY_TOLERANCE
            and abs(placed[(first + k) % count][1] - drawn[k][1] - dy) <= VERIFY_TOLERANCE
            for k in range(count)
        ):
            return True
    return False


def _corners(outline: Polygon) -> list[tuple[float, float]]:
    """Return the corners of an outline counter-clockwise, the first not repeated."""
    ring = [(float(x), float(y)) for x, y in list(outline.exterior.coords)[:-1]]
    doubled = sum(
        x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(ring, ring[1:] + ring[:1], strict=True)
    )
    return ring if doubled > 0 else ring[::-1]

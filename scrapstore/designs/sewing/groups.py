"""What pieces of a design belong together: wedges, rows of blocks, blocks, rows, units."""

from collections import defaultdict
from collections.abc import Hashable, Sequence

from shapely import Polygon

from scrapstore.designs.forms import PlacedPiece
from scrapstore.designs.sewing.subdivision import Assembly, Subdivision
from scrapstore.shapes import corners_of

__all__ = ["piece_groups", "ready_units"]


def piece_groups(pieces: Sequence[PlacedPiece], top: Subdivision) -> list[tuple[Hashable, ...]]:
    """Return for each piece its groups, the largest first, as many for each; None for no group.

    Positions such as 1.2.3 count from large to small, so each beginning names a group. A group that
    is not connected cannot be sewn first, nor can one that goes round others, such as a border: it
    is none, and what lies inside it is a group.
    """
    named = [one.position.split(".")[:-1] for one in pieces]
    deepest = max(map(len, named))
    groups: list[list[Hashable]] = [
        [
            one.wedge,
            *(".".join(name[:depth]) if depth <= len(name) else None
              for depth in range(1, deepest + 1)),
            one.unit,
        ]
        for one, name in zip(pieces, named, strict=True)
    ]  # fmt: skip
    inside: Assembly = frozenset()
    for depth in range(deepest + 2):
        members: dict[Hashable, list[int]] = defaultdict(list)
        for piece, own in enumerate(groups):
            members[own[depth]].append(piece)
        for group in members.values():
            whole = frozenset(group)
            frame = top.connected(whole) and top.encloses(whole)
            if frame and len(rest := frozenset(range(len(pieces))) - whole) > len(inside):
                inside = rest if top.connected(rest) else inside
            if frame or not top.connected(whole):
                for piece in group:
                    groups[piece][depth] = None
    return [("inside" if piece in inside else None, *own) for piece, own in enumerate(groups)]


def ready_units(pieces: Sequence[PlacedPiece], top: Subdivision) -> list[Assembly]:
    """Return the units of triangles that make a rectangle.

    They are cut out of squares that were sewn together first, so they are there as a whole.
    """
    members: dict[str, list[int]] = defaultdict(list)
    for at, piece in enumerate(pieces):
        members[piece.unit].append(at)
    found = []
    for own in members.values():
        unit = frozenset(own)
        triangles = all(len(corners_of(pieces[piece].outline)) == 3 for piece in own)
        if len(own) > 1 and triangles and top.connected(unit) and _is_rectangle(top.outline(unit)):
            found.append(unit)
    return found


def _is_rectangle(outline: Polygon) -> bool:
    box = outline.minimum_rotated_rectangle
    return box.area - outline.area < 1e-6 * outline.area

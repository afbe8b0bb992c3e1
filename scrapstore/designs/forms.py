"""A design as the rest of the program uses it: finished sizes, inches, y up, middle at 0, 0."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from shapely import Polygon

from scrapstore.shapes import Shape, make_shape

__all__ = [
    "Corners",
    "Design",
    "DesignPiece",
    "Lattice",
    "PlacedPiece",
    "Sizing",
    "design_piece",
]

Corners = Sequence[tuple[int, int]]
"""Corners of a piece in steps of a lattice, counter-clockwise."""


@dataclass(frozen=True, slots=True)
class DesignPiece:
    """One line of the piece list: a shape, how many of it, and the role its cloth plays.

    `sizes` are the finished sizes that define the shape; a polygon has none, its corners say it.
    """

    name: str
    shape: Shape
    sizes: Mapping[str, float] = field(hash=False)
    count: int
    role: str


@dataclass(frozen=True, slots=True)
class PlacedPiece:
    """One finished piece where it lies on the top.

    `position` is unique in its design. `piece` is the name of its line of the piece list. `ring`
    counts from the middle, `wedge` counter-clockwise from the one at the right; both are None where
    the design has none there. `unit` names what it is sewn into first. One of its straight edges
    runs along `grain_deg`, from 0 to below 180.
    """

    position: str
    piece: str
    role: str
    ring: int | None
    wedge: int | None
    unit: str
    outline: Polygon
    grain_deg: float


@dataclass(frozen=True, slots=True)
class Design:
    """A whole top: its pieces without gap or overlap, and the piece list they come from.

    `piece_size` is the finished measure that all others follow from; with a seam on both sides it
    is the width of the strip to cut. `size` is what the top measures, read as `measured` says, and
    `wanted` what was asked for, None where the piece was given. `set_in_seams` is how many seams
    meet in a Y, so that they cannot be sewn in one straight line. `shrinkage` is what quilting
    draws in, in per cent of each side. `notes` say what must be known to sew it. `parameters` are
    what `make_design` takes, beside the name, to make these very pieces again.
    """

    name: str
    title: str
    outline: Polygon
    lines: tuple[DesignPiece, ...]
    pieces: tuple[PlacedPiece, ...]
    piece_size: float
    size: float
    measured: str
    wanted: float | None
    set_in_seams: int
    notes: tuple[str, ...] = ()
    shrinkage: float = 0.0
    parameters: Mapping[str, float | int | str] = field(default_factory=dict, hash=False)

    @property
    def sides(self) -> tuple[float, float]:
        """Width and height of the upright rectangle round the top."""
        west, south, east, north = self.outline.bounds
        return east - west, north - south

    @property
    def finishes(self) -> float:
        """The size after quilting: of the cushion, trimmed a seam outside the points and sewn."""
        return self.size * (1 - self.shrinkage / 100)

    @property
    def difference(self) -> float | None:
        """How much larger than wanted it finishes, below zero where smaller; None if not wanted."""
        off = None if self.wanted is None else self.finishes - self.wanted
        return off if off is None or abs(off) > 1e-9 else 0.0

    @property
    def is_rectangle(self) -> bool:
        """Whether the top fills that rectangle."""
        width, height = self.sides
        return abs(self.outline.area - width * height) < 1e-6 * self.outline.area

    @property
    def rounds(self) -> tuple[int, ...]:
        """How many pieces are in each ring, from the middle outwards."""
        rings = Counter(one.ring for one in self.pieces if one.ring is not None)
        return tuple(rings[ring] for ring in sorted(rings))


@dataclass(frozen=True, slots=True)
class Sizing:
    """What was asked for: the finished `piece`, or the finished `size` of the top, or both.

    Strips of a finished piece and `seam` on both sides are to be on marks, which are `mark` apart.
    """

    piece: float | None
    size: float | None
    seam: float
    mark: float


@dataclass(frozen=True, slots=True)
class Lattice:
    """A lattice of points (`wide` · a, `high` · b) for whole a and b.

    Pieces that share a corner have it at the same point to the last bit.
    """

    wide: float
    high: float

    def outline(self, corners: Iterable[tuple[int, int]]) -> Polygon:
        """Return the polygon with these corners."""
        return Polygon([(self.wide * a, self.high * b) for a, b in corners])


def design_piece(name: str, count: int, role: str, kind: str, **sizes: float) -> DesignPiece:
    """Return a line of the piece list of the shape `kind`, as `make_shape` makes it."""
    return DesignPiece(name, make_shape(kind, **sizes), sizes, count, role)

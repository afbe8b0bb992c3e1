"""A sewing order as the rest of the program uses it. Finished sizes, inches, as the top lies."""

from dataclasses import dataclass

__all__ = ["Batch", "Bend", "Join", "JoinedPart", "Meet", "SewingOrder", "Side"]

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class JoinedPart:
    """What is joined: a single piece, by its place in the design, or what a join made, by number.

    The other one is None.
    """

    piece: int | None
    join: int | None


@dataclass(frozen=True, slots=True)
class Meet:
    """A point along a seam at which seams of both its sides end; pin there.

    `at` is how far it is from the start of the seam. `seams` are how many end there on the first
    side and on the second. `opposed` says whether their allowances lie to opposite sides, so that
    they nest; None where more come together than can lie so.
    """

    point: Point
    at: float
    seams: tuple[int, int]
    opposed: bool | None = None


@dataclass(frozen=True, slots=True)
class Bend:
    """A point at which a seam turns, so that it cannot be sewn in one straight line.

    `pieces` meet there. Where a straight line goes through it, the join `partly`, which lies on
    that line, may be left open next to the point and closed after this one: a partial seam.
    Otherwise one side is set in.
    """

    point: Point
    at: float
    pieces: tuple[int, ...]
    partly: int | None


@dataclass(frozen=True, slots=True)
class Join:
    """Two parts sewn together; `pieces` are all that hang together then.

    `path` runs with the first part on its left. `press_to_first`: the allowances go there.
    """

    number: int
    batch: int
    first: JoinedPart
    second: JoinedPart
    pieces: frozenset[int]
    path: tuple[Point, ...]
    length: float
    meets: tuple[Meet, ...]
    bends: tuple[Bend, ...]
    press_to_first: bool

    @property
    def seams(self) -> int:
        """How many straight seams it consists of."""
        return len(self.bends) + 1


@dataclass(frozen=True, slots=True)
class Side:
    """A measure of what was sewn, `finished`; with `allowances` seam allowances it is raw.

    ``across``: square between two parallel sides. ``along``: a straight side between the points
    where its seam lines end.
    """

    finished: float
    allowances: int
    how: str

    def raw(self, seam: float) -> float:
        """Return what the ruler reads with this seam allowance."""
        return self.finished + self.allowances * seam


@dataclass(frozen=True, slots=True)
class Batch:
    """Joins that are the same but for their place, to be sewn one after the other.

    `makes` says in a word what comes of each; `sides` are what it measures.
    """

    number: int
    joins: tuple[int, ...]
    makes: str
    sides: tuple[Side, ...]


@dataclass(frozen=True, slots=True)
class SewingOrder:
    """All joins of a top, in order; numbers count from 1.

    `set_in_at_least` is the number of bends that no order can do without: equal to `set_in` where
    this one is proven best. `units` are of triangles that come from squares which were sewn
    together; they are made first and never parted, and only orders that do so are compared.
    """

    joins: tuple[Join, ...]
    batches: tuple[Batch, ...]
    set_in_at_least: int
    units: tuple[frozenset[int], ...] = ()

    @property
    def seams(self) -> int:
        """Straight seams of all joins together."""
        return sum(join.seams for join in self.joins)

    @property
    def set_in(self) -> int:
        """Bends of all joins together: seams that are set in or sewn in part first."""
        return sum(len(join.bends) for join in self.joins)

    @property
    def meets(self) -> tuple[tuple[Join, Meet], ...]:
        """Every point where seams meet, with the join that brings them together."""
        return tuple((join, meet) for join in self.joins for meet in join.meets)

    def join(self, number: int) -> Join:
        """Return the join of this number."""
        return self.joins[number - 1]

"""How cloth is cut, as data: straight cuts in order, each with the way the ruler lies.

A cut parts one part of the cloth along a straight line. Part 0 is the outline; the parts that a cut
gives are numbered on. Carrying the cuts out in order on the outline ends with every piece in a part
of its own. Words, drawings and JSON are all made from these values, so they cannot differ.
"""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeVar

from shapely import MultiPolygon, Polygon, affinity

__all__ = [
    "Cut",
    "CutPiece",
    "CuttingPlan",
    "Frame",
    "Line",
    "RulerFrom",
    "labelled",
    "piece_letters",
]

_Shape = TypeVar("_Shape", Polygon, MultiPolygon)

Line = tuple[tuple[float, float], tuple[float, float]]
"""Two points (x, y), inches; the direction is from the first to the second."""

RulerFrom = int | Literal["edge"] | None
"""What a ruler is placed against: the index of an earlier cut, a straight edge of the cloth as it
was, or nothing (for the first cut, and for a cut from corner to corner)."""


@dataclass(frozen=True)
class Frame:
    """Where a drawing lies: a point p of it lies at `origin` + p turned by `turn_deg`.

    `origin` is in the cloth's own inches; angles counter-clockwise.
    """

    origin: tuple[float, float] = (0.0, 0.0)
    turn_deg: float = 0.0

    def drawn(self, shape: _Shape) -> _Shape:
        """Return a shape in the cloth's own inches as it lies in the drawing."""
        x, y = self.origin
        moved = affinity.translate(shape, -x, -y)
        return affinity.rotate(moved, -self.turn_deg, origin=(0, 0))

    def in_cloth(self, shape: _Shape) -> _Shape:
        """Return a shape of the drawing in the cloth's own inches."""
        turned = affinity.rotate(shape, self.turn_deg, origin=(0, 0))
        return affinity.translate(turned, *self.origin)


@dataclass(frozen=True)
class Cut:
    """One straight cut through `part`, and only through it; `line` may overshoot.

    `gives` are the new parts: those left of the line, seen in its direction, first, and each side
    in order along it. The ruler lies against `ruler_from`: `distance` inches from it, measured
    square to it and on a mark of the ruler, at `angle_deg` to it (0 is parallel). Where the angle
    is not 0 the two lines meet and `distance` is 0: the ruler's angle line lies on the earlier cut.
    Where such a cut lies along that line is said by `point`, a corner of the part: the cut is
    `point_distance` inches from it, measured square to the cut and on a mark; 0 is through it.
    Without a `point` it may lie anywhere that leaves the pieces whole.
    `corners`: the cut runs from corner to corner of the part, and there is nothing to measure.
    """

    part: int
    line: Line
    gives: tuple[int, ...]
    ruler_from: RulerFrom = None
    distance: float | None = None
    angle_deg: float | None = None
    corners: bool = False
    point: tuple[float, float] | None = None
    point_distance: float | None = None


@dataclass(frozen=True)
class CutPiece:
    """A piece of the layout: its `label`, unique in the plan, and the part in which it ends.

    `name` is the line of the piece list, `outline` lies in the plan's frame. Without `template`
    that part is the piece: never smaller, and larger by less than a ruler step a side. With it the
    piece is cut from that part round a template.
    """

    label: str
    name: str
    outline: Polygon
    part: int
    template: bool = False


@dataclass(frozen=True)
class CuttingPlan:
    """How one scrap, or one strip of yardage, is cut.

    `outline`, `cuts` and `pieces` lie in `frame`; `step` is the distance of ruler marks, inches.
    """

    frame: Frame
    outline: Polygon
    cuts: tuple[Cut, ...]
    pieces: tuple[CutPiece, ...]
    step: float


def piece_letters(names: Sequence[str]) -> dict[str, str]:
    """Return the letters for each line of a piece list: A to Z, then AA, AB and so on.

    >>> list(piece_letters([str(n) for n in range(28)]).values())[24:]
    ['Y', 'Z', 'AA', 'AB']
    """
    letters = {}
    for index, name in enumerate(names):
        letter, rest = "", index + 1
        while rest:
            rest, last = divmod(rest - 1, 26)
            letter = chr(ord("A") + last) + letter
        letters[name] = letter
    return letters


def labelled(
    plan: CuttingPlan,
    letters: Mapping[str, str],
    counts: Counter[str],
    given: Mapping[str, Sequence[str]] | None = None,
) -> CuttingPlan:
    """Return the plan with its pieces labelled: the letter of its line and a running number.

    Numbers follow the order in which the pieces come free. `counts` holds how many of each name
    have a label already and is counted on, so that one `counts` for all plans of an answer, scraps
    first, makes the labels unique in it. Pieces of a name in `given` have its labels, in order.
    """
    given = given or {}
    freed = {part: index for index, cut in enumerate(plan.cuts) for part in cut.gives}
    order = sorted(range(len(plan.pieces)), key=lambda i: (freed.get(plan.pieces[i].part, -1), i))
    labels = {}
    for i in order:
        name = plan.pieces[i].name
        counts[name] += 1
        own = given.get(name)
        labels[i] = own[counts[name] - 1] if own else f"{letters[name]}{counts[name]}"
    return replace(
        plan, pieces=tuple(replace(p, label=labels[i]) for i, p in enumerate(plan.pieces))
    )

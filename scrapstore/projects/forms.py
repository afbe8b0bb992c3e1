"""A project as the rest of the program uses it. Inches, degrees; see `scrapstore.shapes`."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from string import digits
from typing import Literal

from shapely import Polygon

from scrapstore.designs import Design, Makes
from scrapstore.finishing import BackWish, BindingWish, QuiltingWish
from scrapstore.shapes import (
    Grain,
    GrainDirection,
    GrainFree,
    Shape,
    Tips,
    is_mirror_symmetric,
    piece_letters,
    rotations_deg,
)

__all__ = ["PieceNeed", "Project", "Role"]


@dataclass(frozen=True, slots=True)
class Role:
    """The conditions on the cloth of one role; an empty condition allows everything.

    `families` and `values` are what the cloth may read as, `fabrics` the names and `fibres` the
    fibres it may have; with `scraps` only the scraps with these numbers will do. Of each piece,
    every fabric gives a multiple of `same_fabric_sets`; over the whole role there are at least
    `min_fabrics` fabrics and at most `max_per_fabric` pieces of any one.
    With `fill` it may be made of crumbs, too, which no plan counts.
    """

    name: str
    families: tuple[str, ...] = ()
    values: tuple[str, ...] = ()
    fabrics: tuple[str, ...] = ()
    fibres: tuple[str, ...] = ()
    scraps: tuple[int, ...] = ()
    same_fabric_sets: int | None = None
    min_fabrics: int | None = None
    max_per_fabric: int | None = None
    fill: Literal["scrappy"] | None = None


@dataclass(frozen=True, slots=True)
class PieceNeed:
    """One line of the piece list.

    `cut` is the cut outline in the frame of `shape`; `grain` the rule for how it lies on the cloth;
    `mirror` says that the mirrored piece will do as well. `makes` is what a square is cut and sewn
    into, where it is not a piece of the top itself; `becomes` says what a piece of the back is.
    """

    name: str
    shape: Shape
    cut: Polygon
    count: int
    role: str
    grain: Grain
    tips: Tips
    mirror: bool = False
    makes: Makes | None = None
    becomes: str | None = None

    @property
    def rotations_deg(self) -> tuple[float, ...]:
        """Return the rotations that the grain rule allows, with lengthwise grain at 0°."""
        return rotations_deg(self.shape, self.grain)

    @property
    def handed(self) -> bool:
        """Return whether left and right differ, so that the cloth's right side matters."""
        return not self.mirror and not is_mirror_symmetric(self.shape)

    @property
    def one_way(self) -> bool:
        """Return whether the piece has a direction that a one-way print must follow."""
        return isinstance(self.grain, GrainDirection)

    @property
    def needs_grain(self) -> bool:
        """Return whether the rule can only be kept where the grain of the cloth is known."""
        return not isinstance(self.grain, GrainFree)


@dataclass(frozen=True, slots=True)
class Project:
    """What a project file says. `cushion` is its finished width and height, where given.

    `design` has every piece in its place, where the file says so: its pieces name lines of `pieces`
    and their roles. `arranged` are the lines that the file's arrangement places; they are cut
    before others. `labels` holds the labels of the pieces by their names, where they have some
    already: those of pieces that are to be cut once more. `quilting`, `back` and `binding` are what
    the file says of finishing; the pieces of the back are among `pieces`.
    """

    name: str
    seam_allowance: float
    tips: Tips
    usable_width: float
    pieces: tuple[PieceNeed, ...]
    roles: Mapping[str, Role] = field(hash=False)
    cushion: tuple[float, float] | None = None
    notes: str = ""
    design: Design | None = None
    arranged: frozenset[str] = frozenset()
    labels: Mapping[str, tuple[str, ...]] = field(default_factory=dict, hash=False)
    quilting: QuiltingWish | None = None
    back: BackWish | None = None
    binding: BindingWish | None = None

    @property
    def letters(self) -> dict[str, str]:
        """The letters that stand for each line of the piece list."""
        letters = piece_letters([piece.name for piece in self.pieces])
        own = {name: labels[0].rstrip(digits) for name, labels in self.labels.items()}
        return letters | own

    @property
    def finished_area(self) -> float:
        """Return the finished area of all pieces of the top, square inches."""
        top = (piece for piece in self.pieces if piece.name not in self.back_names)
        return math.fsum(
            math.fsum(part.area for part in piece.makes.parts) * piece.count
            if piece.makes is not None
            else piece.shape.outline.area * piece.count
            for piece in top
        )

    @property
    def back_names(self) -> tuple[str, ...]:
        """The names of the pieces of the back."""
        if self.back is None:
            return ()
        return ("back",) if self.back.kind == "plain" else ("back left", "back right")

    @property
    def cover_seam(self) -> float:
        """The seam that the top is bound with, or the cover is sewn with where it is turned."""
        if self.binding is not None:
            return self.binding.seam
        own = None if self.back is None else self.back.seam
        return self.seam_allowance if own is None else own

    @property
    def covered(self) -> float | None:
        """Return the share of the cushion that the pieces cover, 1 when they make it up."""
        if self.cushion is None:
            return None
        return self.finished_area / (self.cushion[0] * self.cushion[1])

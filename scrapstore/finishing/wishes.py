"""How a top is to be finished, as a project says; inches, angles in degrees, None for a setting."""

from dataclasses import dataclass
from typing import Literal

__all__ = ["BackKind", "BackWish", "BindingWish", "QuiltingWish"]

BackKind = Literal["envelope", "zip", "plain"]


@dataclass(frozen=True, kw_only=True)
class QuiltingWish:
    """How the top is quilted. `shrinkage` is what it draws in, in per cent of each side.

    `overhang` is how far batting and backing reach beyond the pieced top on each side.
    """

    shrinkage: float | None = None
    overhang: float | None = None
    batting: bool = True
    backing: bool = True


@dataclass(frozen=True, kw_only=True)
class BackWish:
    """The back of a cover: two pieces that overlap, two with a zip between them, or one.

    A hem of an envelope takes `hem` once for each of `hem_turns`. `zip_allowance` is sewn to each
    side of a zip. `seam` is that of the cover where it is turned and not bound; None is the
    project's own allowance. `plumpness` is how much larger than its pocket the form is.
    """

    kind: BackKind = "envelope"
    overlap: float = 4.0
    hem: float = 0.25
    hem_turns: int = 2
    zip_allowance: float = 0.75
    seam: float | None = None
    plumpness: float | None = None
    role: str = "back"


@dataclass(frozen=True, kw_only=True)
class BindingWish:
    """A double-fold binding; strips are as wide as `strip_width`, None for what its sizes take.

    `turn` is what batting and the turn of the cloth take of that width: 2 1/4 in strips for a
    binding of 1/4 in are common practice, and 3/4 in more than the flat folds need. A back is
    basted on `baste` from the edge with long stitches; lengths of stitches are in millimetres.
    """

    finished_width: float = 0.25
    strip_width: float | None = None
    seam: float = 0.25
    turn: float = 0.75
    bias: bool = False
    baste: float = 0.125
    baste_stitch_mm: float = 4.0
    stitch_mm: float = 2.5

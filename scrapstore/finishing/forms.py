"""What is given to a plan of the binding, and what comes of it. Inches and degrees."""

from dataclasses import dataclass
from typing import NamedTuple

__all__ = ["BindingPlan", "PlacedStrip", "StripEnds"]


class StripEnds(NamedTuple):
    r"""A strip lying level with its right side up, and how its ends are cut.

    `length` is measured along the centre line. A slope is the angle of the end from straight
    across: 0 is a square end, 45 leans to the right going up (``/``), -45 to the left (``\``).
    """

    length: float
    width: float
    start_slope_deg: float = 0.0
    end_slope_deg: float = 0.0


class PlacedStrip(NamedTuple):
    """A strip in the binding; `index` is its place among the strips given.

    `turned`: turned end for end, so that its stored end comes first. Start and end below are those
    of the strip as it is joined. A slope says that this end must be cut anew to it; None that it
    is joined as it is. `length` is what is used of it, from seam line to seam line along the centre
    line.
    """

    index: int  # type: ignore[assignment]  # hides the method that a tuple has
    turned: bool
    recut_start_deg: float | None
    recut_end_deg: float | None
    length: float


@dataclass(frozen=True)
class BindingPlan:
    """Whether strips reach round an outline, how they are joined and where the binding starts.

    `needed` is the length of a closed binding along its seam; `available` what all the strips give
    that add any length, joined into a ring with least loss. `strips` are the fewest that reach, in
    the order they are joined (all that add any length, where they do not reach); what they
    give beyond what is needed is cut off before the join (`taken_off`). `width` is that of the
    narrowest strip, to which the others are cut.

    `joins` has, in inches along the trimmed edge from corner 0, where each strip begins: the first
    is the closing join. `clearance` is the least distance of a join to a corner,
    `kept_off` to the stretches that joins were to keep off. There are none where the strips do
    not reach: `joins` is then empty, and both are None, as `kept_off` is without stretches.

    `extra` is the length of the shortest strip with square ends that makes up for what is short,
    None where nothing is. `stops` has how far before each corner sewing stops.
    """

    needed: float
    available: float
    width: float
    strips: tuple[PlacedStrip, ...]
    joins: tuple[float, ...]
    slopes_deg: tuple[float, ...]
    """The slope of each join, in the order of `joins`; 45 or -45."""
    taken_off: tuple[float, ...]
    """What is cut off each strip beyond its joins, in the order of `strips`."""
    clearance: float | None
    kept_off: float | None
    corner_clearance: float
    """How far off the corners joins were to be."""
    extra: float | None
    stops: tuple[float, ...]

    @property
    def short(self) -> float:
        """What the strips lack; 0.0 where they reach."""
        return max(0.0, self.needed - self.available)

    @property
    def spare(self) -> float:
        """What all the strips give beyond what is needed; 0.0 where they are short."""
        return max(0.0, self.available - self.needed)

    @property
    def clear(self) -> bool:
        """Whether every join is as far off corners and stretches as was asked."""
        least = [each for each in (self.clearance, self.kept_off) if each is not None]
        return bool(least) and min(least) >= self.corner_clearance - 1e-6

"""How each strip of yardage is cut, its pieces labelled on from those of the scraps."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from scrapstore.planning.result import MatchResult
from scrapstore.shapes import CuttingPlan, labelled
from scrapstore.yardage import Strip

__all__ = ["RoleCuttings", "StripCuttings", "strip_cuttings"]

StripCuttings = tuple[CuttingPlan, ...]
"""The plans of one entry of `strips`: as many as strips are cut alike, with labels of their own."""


@dataclass(frozen=True)
class RoleCuttings:
    """The plans of one role's strips: of each length at hand, and of each purchase.

    Where a purchase is of several cloths, those of one cloth come after those of another.
    """

    on_hand: tuple[tuple[StripCuttings, ...], ...]
    bought: tuple[tuple[StripCuttings, ...], ...]


def strip_cuttings(result: MatchResult) -> tuple[RoleCuttings, ...]:
    """Return the plans of all strips, in the order of the answer's shortages."""
    project = result.project
    letters = project.letters
    counts = Counter(piece.name for cut in result.cuts for piece in cut.cutting.pieces)

    def plans(strips: Sequence[Strip], cloths: int = 1) -> tuple[StripCuttings, ...]:
        return tuple(
            tuple(
                labelled(strip.cutting, letters, counts, project.labels)
                for _ in range(strip.times * cloths)
            )
            for strip in strips
        )

    return tuple(
        RoleCuttings(
            tuple(plans(length.plan.strips) for length in shortage.on_hand),
            tuple(plans(one.plan.strips, one.times) for one in shortage.purchases),
        )
        for shortage in result.shortages
    )

"""The sizes of a top from the pieced one to the finished cover and its form; inches."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from scrapstore.errors import ShapeError
from scrapstore.finishing.outline import TopOutline

__all__ = ["POINTS_CUT", "FinishNeeds", "FinishSizes", "plan_sizes"]

POINTS_CUT: Final = 1 / 32
"""Inches; points that lose less than this look whole."""
_NEAR: Final = 1e-6


@dataclass(frozen=True, kw_only=True)
class FinishSizes:
    """The outlines of one top, in the order of the work.

    `pieced` has the seam allowance outside its points; `planned` is that after quilting, by the
    shrinkage that was stated; `quilted` as it was measured, else as planned. `points` runs through
    the outermost points of the quilted top, `trimmed` is what it is cut to. `pocket` lies between
    the seams and `cover` is the finished outside.

    By measure (see `TopOutline.measures`): `outside` is what trimming leaves outside the points,
    `may_lose` what may come off each side of the quilted top, less than 0 where it is too small.
    """

    pieced: TopOutline
    planned: TopOutline
    quilted: TopOutline
    points: TopOutline
    trimmed: TopOutline
    pocket: TopOutline
    cover: TopOutline
    seam: float
    measured: bool
    outside: tuple[float, ...]
    may_lose: tuple[float, ...]

    @property
    def cut_points(self) -> float:
        """How much of the outermost points the seam takes; 0.0 for less than can be seen."""
        most = self.seam - min(self.outside)
        return most if most > POINTS_CUT else 0.0

    def form(self, plumpness: float) -> tuple[float, ...]:
        """Return the measures of a form so much larger than the pocket."""
        return tuple(one + plumpness for one in self.pocket.measures)

    def layer(self, overhang: float) -> tuple[float, float]:
        """Return width and height of a layer that reaches so far beyond the pieced top."""
        width, height = self.pieced.bounds
        return width + 2 * overhang, height + 2 * overhang

    def overhang_left(self, overhang: float) -> float:
        """Return how far such a layer, drawn in with the top, still lies outside it when quilted.

        It is less than the overhang by the shrinkage, since batting and backing are quilted too.
        """
        kept = zip(self.layer(overhang), self.quilted.bounds, self.pieced.bounds, strict=True)
        return min((layer * quilted / pieced - quilted) / 2 for layer, quilted, pieced in kept)


@dataclass(frozen=True, kw_only=True)
class FinishNeeds:
    """What a project needs beside its pieces, in inches; None for what it does not ask for.

    `batting` and `backing` are width and height of one piece each. `binding_length` goes once
    round, in strips `strip_width` wide; `binding_strips` are how many that takes, cut square
    across fabric of the project's usable width. `form` has width and height, or the depth alone of
    a form that is no rectangle. The pieces of the back stand in the piece list.
    """

    batting: tuple[float, float] | None = None
    backing: tuple[float, float] | None = None
    binding_length: float | None = None
    strip_width: float | None = None
    binding_strips: int | None = None
    bias: bool = False
    form: tuple[float, ...] | None = None
    zip_length: float | None = None


def plan_sizes(
    finished: TopOutline,
    *,
    allowance: float,
    seam: float,
    binding: float | None,
    shrinkage: float = 0.0,
    measured: Sequence[float] | None = None,
    trim: Sequence[float] | None = None,
) -> FinishSizes:
    """Return all sizes of a top whose outermost points span `finished`.

    `allowance` lies outside the points of the pieced top, `seam` is that the cover is bound or
    sewn with, `binding` the finished width of a binding, None for a cover that is turned.
    `shrinkage` is in per cent; `measured`, of the quilted top, counts before it. The top is
    trimmed to `trim`, else so that the seam lies outside the points where there is cloth for that.

    Raises ShapeError for measures that cannot be.
    """
    if not 0 <= shrinkage < 50:
        raise ShapeError("shrinkage: give per cent from 0 to less than 50, such as 3")
    pieced = finished.moved(allowance)
    planned = pieced.with_measures([one * (1 - shrinkage / 100) for one in pieced.measures])
    quilted = planned if measured is None else planned.with_measures(measured)
    kept = [now / then for now, then in zip(quilted.measures, pieced.measures, strict=True)]
    points = finished.with_measures(
        [one * share for one, share in zip(finished.measures, kept, strict=True)]
    )
    least = points.moved(seam)
    if trim is None:
        trimmed = least.with_measures(list(map(min, least.measures, quilted.measures)))
    else:
        trimmed = least.with_measures(trim)
        if any(map(lambda own, has: own > has + _NEAR, trimmed.measures, quilted.measures)):
            raise ShapeError("trim: that is larger than the quilted top; give less, or measure it")
    return FinishSizes(
        pieced=pieced,
        planned=planned,
        quilted=quilted,
        points=points,
        trimmed=trimmed,
        pocket=trimmed.moved(-seam),
        cover=trimmed.moved(-seam if binding is None else binding - seam),
        seam=seam,
        measured=measured is not None,
        outside=points.room_in(trimmed),
        may_lose=least.room_in(quilted),
    )

"""Where the pieces of a back come from, in an answer that has the whole project."""

from collections.abc import Mapping
from dataclasses import dataclass

from scrapstore.finishing import FinishSizes, lap_of, lapped_hems
from scrapstore.planning.cut_sources import cut_sources
from scrapstore.planning.result import MatchResult
from scrapstore.projects import Project
from scrapstore.store import PlanPiece

__all__ = ["BackFit", "BackSources", "back_fit", "back_hems", "back_sources"]


@dataclass(frozen=True)
class BackSources:
    """Where the pieces of a back are to be cut from, or what became of them.

    Numbers of scraps and lengths hold what is still to be cut, `ready` what is ready-cut or cut
    already. `lost` are the labels of pieces that were spoilt or not cut, and `to_buy` how many
    want cloth that is yet to be bought.
    """

    scraps: tuple[int, ...] = ()
    ready: tuple[int, ...] = ()
    lengths: tuple[int, ...] = ()
    lost: tuple[str, ...] = ()
    to_buy: int = 0


def back_sources(result: MatchResult, became: Mapping[str, PlanPiece]) -> BackSources:
    """Return where the pieces of the back come from in the answer of a kept plan.

    `became` has what became of pieces by label (`Plan.pieces`).
    """
    names = set(result.project.back_names)
    scraps: dict[int, None] = {}
    lengths: dict[int, None] = {}
    ready = dict.fromkeys(use.lot.id for use in result.ready if use.need in names)
    lost = []
    for source in cut_sources(result):
        labels = [
            piece.label for plan in source.plans for piece in plan.pieces if piece.name in names
        ]
        for label in labels:
            piece = became.get(label)
            if piece is None and source.scrap is not None:
                scraps[source.scrap.id] = None
            elif piece is None and source.length is not None:
                lengths[source.length.id] = None
            elif piece is not None and piece.ready_cut_id is not None:
                ready[piece.ready_cut_id] = None
            elif piece is not None:
                lost.append(label)
    bought = sum(
        count
        for one in result.shortages
        for pieces in one.bought_pieces
        for name, count in pieces.items()
        if name in names
    )
    return BackSources(tuple(scraps), tuple(ready), tuple(lengths), tuple(lost), bought)


@dataclass(frozen=True)
class BackFit:
    """How the pieces of a back, cut before quilting, lie on the trimmed top; inches.

    `pieces` have width and height as cut. `beyond` is how far they reach over the edge, less than 0
    where they are short. `lap` is how far an envelope overlaps, `planned_lap` how far it was to,
    None for other backs.
    """

    pieces: tuple[tuple[str, float, float], ...]
    beyond: float
    lap: float | None
    planned_lap: float | None


def back_fit(project: Project, sizes: FinishSizes) -> BackFit | None:
    """Return how the back of a project fits its top; None where it has none."""
    if project.back is None:
        return None
    names = project.back_names
    pieces = [(one.name, *_sides(one.cut.bounds)) for one in project.pieces if one.name in names]
    width, height = sizes.trimmed.bounds
    _, wide, high = pieces[0]
    beyond = (high - height) / 2
    if project.back.kind == "envelope":
        lap = lap_of(project.back, wide, width)
        return BackFit(tuple(pieces), beyond, lap, project.back.overlap)
    if project.back.kind == "zip":
        wide = 2 * (wide - project.back.zip_allowance)
    return BackFit(tuple(pieces), min(beyond, (wide - width) / 2), None, None)


def back_hems(project: Project, sizes: FinishSizes) -> tuple[tuple[float, float], ...]:
    """Return where the hems of an envelope lie over the edge, from corner 0."""
    fit = back_fit(project, sizes)
    return () if fit is None or not fit.lap else lapped_hems(sizes.trimmed, fit.lap)


def _sides(bounds: tuple[float, float, float, float]) -> tuple[float, float]:
    left, bottom, right, top = bounds
    return right - left, top - bottom

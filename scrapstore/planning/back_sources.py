"""Where the pieces of a back come from, in an answer that has the whole project."""

from dataclasses import dataclass

from scrapstore.finishing import FinishSizes, lap_of, lapped_hems
from scrapstore.planning.result import MatchResult
from scrapstore.projects import Project

__all__ = ["BackFit", "BackSources", "back_fit", "back_hems", "back_sources"]


@dataclass(frozen=True)
class BackSources:
    """Numbers of scraps, of ready-cut lots and of lengths; and how many pieces are to be bought."""

    scraps: tuple[int, ...]
    ready: tuple[int, ...]
    lengths: tuple[int, ...]
    to_buy: int


def back_sources(result: MatchResult) -> BackSources:
    """Return where the pieces of the back come from in a match."""
    names = set(result.project.back_names)
    short = [one for one in result.shortages if names & one.pieces.keys()]
    on_hand = {hand.yardage.id: hand.plan.pieces for one in short for hand in one.on_hand}
    lengths = {number for number, pieces in on_hand.items() if names & pieces.keys()}
    bought = sum(
        count
        for one in short
        for pieces in one.bought_pieces
        for name, count in pieces.items()
        if name in names
    )
    return BackSources(
        scraps=tuple(cut.scrap.id for cut in result.cuts if names & cut.counts.keys()),
        ready=tuple(use.lot.id for use in result.ready if use.need in names),
        lengths=tuple(sorted(lengths)),
        to_buy=bought,
    )


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

"""Several answers side by side: what each covers, takes and leaves to be bought."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scrapstore.packing import ruler_measure
from scrapstore.planning.result import MatchResult

__all__ = ["Figures", "figures", "unlike"]


@dataclass(frozen=True)
class Figures:
    """One answer in figures.

    `cloth` is the true area of the scraps it takes and `cut` that of the pieces cut from them,
    square inches; `cuts` the straight cuts with the ruler; `sources` maps each role to the numbers
    of its scraps. `unlike` is what share of the pieces from scraps, by area, each earlier answer
    cuts otherwise.
    """

    covered: int
    scraps: int
    fabrics: int
    cloth: float
    cut: float
    cuts: int
    sources: Mapping[str, tuple[int, ...]]
    unlike: tuple[float, ...]


def figures(results: Sequence[MatchResult]) -> tuple[Figures, ...]:
    """Return the figures of each answer, in their order."""
    return tuple(_figures(result, results[:number]) for number, result in enumerate(results))


def _figures(result: MatchResult, earlier: Sequence[MatchResult]) -> Figures:
    role_of = {piece.name: piece.role for piece in result.project.pieces}
    sources: dict[str, set[int]] = {role: set() for role in role_of.values()}
    fabrics: set[object] = set()
    for cut in result.cuts:
        for placement in cut.placements:
            sources[role_of[placement.kind]].add(cut.scrap.id)
        fabrics.add(cut.scrap.fabric.id if cut.scrap.fabric else ("scrap", cut.scrap.id))
    for use in result.ready:
        fabrics.add(use.lot.fabric.id if use.lot.fabric else ("lot", use.lot.id))
    return Figures(
        covered=result.together.covered,
        scraps=len(result.cuts),
        fabrics=len(fabrics),
        cloth=sum(cut.scrap.outline.area for cut in result.cuts),
        cut=sum(p.outline.area for cut in result.cuts for p in cut.placements),
        cuts=sum(ruler_measure(cut.placements).cuts for cut in result.cuts),
        sources={role: tuple(sorted(ids)) for role, ids in sources.items()},
        unlike=tuple(unlike(other, result) for other in earlier),
    )


def unlike(one: MatchResult, other: MatchResult) -> float:
    """Return what share of the pieces that `one` cuts from scraps `other` cuts otherwise.

    By area. A piece is cut alike where it is the same line of the list from the same scrap; 0 for
    an answer that cuts nothing.
    """
    mine, theirs = _cut_area(one), _cut_area(other)
    whole = sum(mine.values())
    alike = sum(min(area, theirs.get(key, 0.0)) for key, area in mine.items())
    return 1 - alike / whole if whole else 0.0


def _cut_area(result: MatchResult) -> dict[tuple[int, str], float]:
    area: dict[tuple[int, str], float] = defaultdict(float)
    for cut in result.cuts:
        for placement in cut.placements:
            area[cut.scrap.id, placement.kind] += placement.outline.area
    return area

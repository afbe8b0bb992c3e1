"""Fill one region with pieces: rows and corner placement first, then guided local search."""

from collections.abc import Sequence

from shapely.geometry import MultiPolygon, Polygon

from scrapstore.packing.corner_placement import place_in_corners, place_more
from scrapstore.packing.pieces import Layout, PieceKind, check_kinds
from scrapstore.packing.problem import PackingProblem, Pose
from scrapstore.packing.regions import as_region
from scrapstore.packing.rows import best_rows
from scrapstore.packing.ruler_cuts import ruler_measure

__all__ = ["fill"]

_DIRECTIONS = 4  # of corner placement
_ROW_HEIGHTS = 600  # heights at which rows are tried, when rows are all that is asked for
_ROW_KINDS = 6  # kinds that rows are tried of
_SEED_HEIGHTS = 40  # and when they are only where the search starts
_MOST_TO_IMPROVE = 150  # pieces; the search looks at all pairs


def fill(
    region: Polygon | MultiPolygon,
    kinds: Sequence[PieceKind],
    seconds: float = 2.0,
    seed: int = 0,
    *,
    rows_only: bool = False,
    workers: int = 2,
) -> Layout:
    """Return a layout of the pieces on the region that is worth as much as could be found.

    The region's holes are its flaws; an empty region gives an empty layout. `rows_only` keeps to
    rows of one kind between straight lines. `seconds` stands for an amount of work, not for time on
    a clock: what each of `workers` searches, on threads, does in that time with a core of an
    ordinary computer of 2024 to itself. So the same region, kinds, `seconds`, `seed` and `workers`
    give the same layout, byte for byte, on a slow machine or a single core too; it only takes
    longer there. The erosion of the region comes on top (milliseconds for each allowed turn
    of an outline of a hundred corners). The search ends early when the layout is proven best.

    Raises ShapeError for a region that crosses itself or kinds of one name.
    """
    check_kinds(kinds)
    problem = PackingProblem(as_region(region), kinds)
    if not problem.turns:
        return problem.layout([], 0.0)
    bound = _bound(problem)
    best = _rows(problem, bound, _ROW_HEIGHTS if rows_only else _SEED_HEIGHTS // len(kinds))
    if rows_only or problem.value(best) >= bound - 1e-9:
        return problem.layout(best, bound)
    if _most_pieces(problem) > _MOST_TO_IMPROVE:
        best = max(place_more(problem, best), *_corner_placements(problem), key=problem.value)
        return problem.layout(best, bound)
    # numba takes most of a second to load, so only a search pays for it.
    from scrapstore.packing.guided_local_search import improve

    found = problem.layout(improve(problem, best, bound, seconds, seed, workers), bound)
    # Of layouts worth the same, the one that is easier to cut.
    return max(found, problem.layout(best, bound), key=_ease_of_cutting)


def _ease_of_cutting(layout: Layout) -> tuple[float, int, bool]:
    measure = ruler_measure(layout.placements)
    return round(layout.value, 6), -measure.cuts, measure.edge_to_edge


def _rows(problem: PackingProblem, bound: float, heights: int) -> list[Pose]:
    """Return the best rows of a single kind, of the kinds whose pieces are worth most together.

    The first that are worth `bound` will do: none are worth more.
    """
    kinds = sorted(
        {turn.kind for turn in problem.turns},
        key=lambda k: (-problem.kinds[k].worth * problem.kinds[k].wanted, k),
    )
    best: list[Pose] = []
    for kind in kinds[:_ROW_KINDS]:
        most = min(problem.kinds[kind].wanted, int(bound / problem.kinds[kind].worth + 1e-6))
        for axis in (0, 1):
            found = best_rows(problem, kind, axis, most, heights)
            best = max(best, found, key=problem.value)
            if problem.value(best) >= bound - 1e-9:
                return best
    return best


def _corner_placements(problem: PackingProblem) -> list[list[Pose]]:
    return [place_in_corners(problem, 360.0 * k / _DIRECTIONS) for k in range(_DIRECTIONS)]


def _most_pieces(problem: PackingProblem) -> float:
    """Return the most pieces that could be placed."""
    least = min(turn.area for turn in problem.turns)
    return min(problem.reachable_area / least, float(sum(problem.wanted())))


def _bound(problem: PackingProblem) -> float:
    """Return an upper limit: the best worth of the reachable area if pieces could be divided."""
    area = problem.reachable_area
    total = 0.0
    kinds = sorted(
        {turn.kind for turn in problem.turns},
        key=lambda k: -problem.kinds[k].worth / problem.kinds[k].outline.area,
    )
    for kind in kinds:
        piece = problem.kinds[kind]
        count = min(float(piece.wanted), area / piece.outline.area)
        if len(kinds) == 1:
            count = float(int(count + 1e-6))
        total += count * piece.worth
        area -= count * piece.outline.area
    return total

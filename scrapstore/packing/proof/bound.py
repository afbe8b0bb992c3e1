"""How good a layout can be at most.

Two upper limits, each valid by itself:

* **Reachable area.** No layout covers more than the part of the region that some placement can
  reach, so the pieces' worth is at most that of the best cut of so much area, pieces divided at
  will. `fill` gives this one along with every layout.
* **Prices.** Put a price, not below 0, on every square inch of the region, the same all over each
  cell of a grid, and a price on a piece of each kind. Suppose that a piece, wherever it can lie in
  the region and however turned, covers cloth whose price, with the price of its kind, is at least
  its worth. Pieces of a layout do not overlap, so together they cover at most the price of the
  whole region and of all wanted pieces: no layout is worth more. If pieces are only sure to cover a
  share of their worth, prices of cloth divided by that share do the same.

These are the dual prices of the linear relaxation in which pieces may be placed by fractions. The
cheapest are those of a linear program with a demand for every position, and prices for a sample of
positions are a good guess. `prove` guesses so, lets `inspection` examine *all* positions, which are
a continuum, and adds to the prices where a piece covers too little, until nothing is lacking. What
proves the bound is only the inspection and a sum: a solver that errs makes the bound worse, never
wrong. Where the limit of the relaxation is above the best layout no finer grid closes the gap; what
is left is closed by rounding down to what whole pieces can be worth.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from shapely.geometry import MultiPolygon, Polygon

from scrapstore.packing.pieces import Layout, PieceKind, believed
from scrapstore.packing.problem import PackingProblem
from scrapstore.packing.proof.inspection import NEARLY_NOTHING, Inspection
from scrapstore.packing.proof.prices import PriceProgram
from scrapstore.packing.regions import as_region

__all__ = ["prove"]

_WORK_PER_SECOND = 60_000  # see `PriceProgram`
_BOXES_PER_SECOND = 70_000
_GUESS = 3e-3  # the relative error of the prices for it
_FIRST_LOOK = 2  # parts of a cell's side that the first inspection goes down to
_ROUNDS = 12
_MOST_SUMS = 300_000


def prove(
    region: Polygon | MultiPolygon,
    kinds: Sequence[PieceKind],
    layout: Layout,
    seconds: float = 3.0,
) -> Layout:
    """Return `layout` with the lowest bound that about `seconds` of work could prove.

    The placements stay as they are. `seconds` sets the grids and how closely they are examined,
    no clock is read: the same call gives the same bound. It is an effort, not a limit of time:
    pieces that fit exactly, and many turns, take longer.
    """
    problem = PackingProblem(as_region(region), kinds)
    if not problem.turns or layout.proven or seconds <= 0:
        return layout
    for spent in _efforts(seconds):
        found = _rounded_down(problem, _price_bound(problem, spent))
        layout = replace(layout, bound=min(layout.bound, believed(found, layout.value)))
        if layout.proven:
            break
    return layout


def _efforts(seconds: float) -> list[float]:
    """Return the seconds for each grid, coarse grids first."""
    return [seconds] if seconds < 10 else [3.0, seconds / 6]


def _price_bound(problem: PackingProblem, seconds: float) -> float:
    """Return the limit that prices on one grid prove."""
    program = PriceProgram(problem, _WORK_PER_SECOND * seconds)
    boxes = int(_BOXES_PER_SECOND * seconds)
    demands = program.samples()
    slack = 0.003 if seconds < 5 else 0.001
    for _ in range(1 if seconds < 5 else 2):
        # A quick inspection of the first prices finds positions that the sample left out.
        prices = program.cheapest(demands, roughly=True, error=_GUESS)
        if prices is None:
            return float("inf")
        lacking = Inspection(program, slack).inspect(prices, boxes, program.step / _FIRST_LOOK)
        demands += [program.full_price(found.turn, found.at) for found in lacking]
    prices = program.cheapest(demands, roughly=True)
    if prices is None:
        return float("inf")
    inspection = Inspection(program, slack)
    best = float("inf")
    # Pieces that need cover next to nothing are not examined; so much may be short in all.
    areas = np.array([kind.outline.area for kind in problem.kinds])
    most = np.minimum(program.wanted, problem.region.area / areas)
    spare = NEARLY_NOTHING * float(np.sum(most * [kind.worth for kind in problem.kinds]))
    for _ in range(_ROUNDS):
        lacking = inspection.inspect(prices, boxes)
        if inspection.least > 0:
            cloth = program.worth_of(prices) / inspection.least
            best = min(best, cloth + float(np.sum(prices.kind * program.wanted)) + spare)
        more = program.cheapest(lacking, roughly=False) if lacking else None
        if more is None:
            break
        prices = prices + more
    return best


def _rounded_down(problem: PackingProblem, bound: float) -> float:
    """Round the bound down to a value that whole pieces, no more than are wanted, can have."""
    if not np.isfinite(bound):
        return bound
    used = sorted({turn.kind for turn in problem.turns})
    by_worth: dict[float, int] = {}
    for kind in (problem.kinds[k] for k in used):
        by_worth[kind.worth] = by_worth.get(kind.worth, 0) + kind.wanted
    most = [min(n, int(bound / worth + 1e-7)) for worth, n in by_worth.items()]
    if np.prod([float(n + 1) for n in most]) > _MOST_SUMS:
        return bound
    sums = np.zeros(1)
    for worth, n in zip(by_worth, most, strict=True):
        sums = (sums[:, None] + worth * np.arange(n + 1)).ravel()
    return float(sums[sums <= bound + 1e-7 * min(by_worth)].max())

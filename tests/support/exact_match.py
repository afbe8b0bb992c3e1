"""The best choice among small rectangular scraps, worked out on its own.

Every way to cut a rectangle is enumerated: whether so many pieces of each size lie on it is asked
of CP-SAT, piece by piece; then CP-SAT chooses one way for each scrap. It shares no code with the
program's packer or choice. All measures are whole numbers of half inches; pieces may be turned by a
quarter.
"""

import itertools
import random
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from ortools.sat.python import cp_model
from shapely import box

from scrapstore.matching import Need, RoleRule, ScrapStock

HALF = 0.5
Size = tuple[int, int]
ROLES = {"star": RoleRule("star")}


@dataclass(frozen=True)
class SmallStore:
    """Scraps and pieces, in half inches; so many `wanted` of each piece."""

    scraps: tuple[Size, ...]
    pieces: tuple[Size, ...]
    wanted: tuple[int, ...]

    def stock(self) -> list[ScrapStock]:
        """Return the scraps as they are offered; the whole of each may be cut."""
        return [
            ScrapStock(id=number, region=box(0, 0, w * HALF, h * HALF))
            for number, (w, h) in enumerate(self.scraps)
        ]

    def needs(self) -> list[Need]:
        """Return the piece list."""
        return [
            Need(f"piece {k}", "star", box(0, 0, w * HALF, h * HALF), count, (0.0, 90.0))
            for k, ((w, h), count) in enumerate(zip(self.pieces, self.wanted, strict=True))
        ]


@cache
def lies_on(scrap: Size, pieces: tuple[Size, ...]) -> bool:
    """Tell whether all `pieces` lie on the scrap side by side; tried to the end."""
    wide, tall = scrap
    if sum(w * h for w, h in pieces) > wide * tall:
        return False
    model = cp_model.CpModel()
    across, up = [], []
    spots: dict[Size, list[cp_model.IntVar]] = {}
    for w, h in pieces:
        turned = model.new_bool_var("")
        x, y = model.new_int_var(0, wide, ""), model.new_int_var(0, tall, "")
        width, height = (model.new_int_var(min(w, h), max(w, h), "") for _ in range(2))
        right, top = model.new_int_var(0, wide, ""), model.new_int_var(0, tall, "")
        model.add(width == w + (h - w) * turned)
        model.add(height == h + (w - h) * turned)
        across.append(model.new_interval_var(x, width, right, ""))
        up.append(model.new_interval_var(y, height, top, ""))
        spots.setdefault((w, h), []).append(x)
    for alike in spots.values():
        for one, other in itertools.pairwise(alike):
            model.add(one <= other)
    model.add_no_overlap_2d(across, up)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_deterministic_time = 20.0
    status = solver.solve(model)
    assert status != cp_model.UNKNOWN, "this store is too large for the exact model"
    return status in (cp_model.OPTIMAL, cp_model.FEASIBLE)


@cache
def ways_to_cut(
    scrap: Size, pieces: tuple[Size, ...], wanted: tuple[int, ...]
) -> tuple[tuple[int, ...], ...]:
    """Return the greatest counts of each piece that can be cut: none gives no more than another."""
    best: list[tuple[int, ...]] = []
    every = itertools.product(*(range(n, -1, -1) for n in wanted))
    for counts in sorted(every, key=sum, reverse=True):
        if any(all(b >= c for b, c in zip(other, counts, strict=True)) for other in best):
            continue
        laid = tuple(p for p, n in zip(pieces, counts, strict=True) for _ in range(n))
        if lies_on(scrap, laid):
            best.append(counts)
    return tuple(best)


def least_cost(store: SmallStore, costs: Sequence[int]) -> int | None:
    """Return the least that cutting into scraps may cost, all pieces covered; None: short."""
    model = cp_model.CpModel()
    given: list[list[cp_model.LinearExprT]] = [[] for _ in store.wanted]
    spent: list[cp_model.LinearExprT] = []
    for scrap, cost in zip(store.scraps, costs, strict=True):
        ways = ways_to_cut(scrap, store.pieces, store.wanted)
        taken = [model.new_bool_var("") for _ in ways]
        model.add(sum(taken) <= 1)
        for one, counts in zip(taken, ways, strict=True):
            spent.append(cost * one)
            for k, count in enumerate(counts):
                given[k].append(count * one)
    for terms, count in zip(given, store.wanted, strict=True):
        model.add(sum(terms) >= count)
    model.minimize(sum(spent))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    if solver.solve(model) != cp_model.OPTIMAL:
        return None
    return round(solver.objective_value)


def small_store(seed: int, *, large: bool) -> SmallStore:
    """Return a store drawn from `seed` in which nothing is short; with `large`, of large ones too.

    Large is a scrap of 60 sq in or more.
    """
    draw = random.Random(seed)
    while True:
        kinds = draw.randint(2, 3)
        pieces = tuple((draw.randint(3, 7), draw.randint(3, 7)) for _ in range(kinds))
        wanted = tuple(draw.randint(1, 6 if large else 4) for _ in pieces)
        few = draw.randint(1, 4) if large else draw.randint(2, 6)
        scraps = [(draw.randint(6, 15), draw.randint(5, 11)) for _ in range(few)]
        if large:
            sizes = [
                (draw.randint(16, 28), draw.randint(16, 24)) for _ in range(draw.randint(2, 4))
            ]
            scraps += sizes
        store = SmallStore(tuple(scraps), pieces, wanted)
        if len(set(pieces)) == kinds and least_cost(store, [1] * len(scraps)) is not None:
            return store

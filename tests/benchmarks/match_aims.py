"""How well the aims are kept, beside exact answers: fewest scraps, large ones whole, small first.

Run from the top of the repository: ``.venv/bin/python -m tests.benchmarks.match_aims``. Takes
minutes, most of them for the exact answers.
"""

import argparse
import time

import numpy as np
from shapely import box

from scrapstore.matching import Need, RoleRule, ScrapStock, match
from scrapstore.packing import usable_region
from tests.support.big_store import scraps
from tests.support.exact_match import ROLES, least_cost, small_store
from tests.support.stock import SQUARE

LARGE = 60.0  # square inches


def fewest(count: int) -> None:
    """Print in how many small stores as few scraps are cut into as can be."""
    best, spent = 0, time.process_time()
    for seed in range(count):
        store = small_store(seed, large=False)
        answer = match(store.stock(), [], store.needs(), ROLES, aims=("cover", "scraps"))
        least = least_cost(store, [1] * len(store.scraps))
        if answer.together.covered < answer.together.wanted:
            print(f"  store {seed}: short of pieces that all can be had")
        elif len(answer.scrap_uses) != least:
            print(f"  store {seed}: {len(answer.scrap_uses)} scraps where {least} would do")
        else:
            best += 1
    print(f"fewest scraps: in {best} of {count} small stores as few as can be "
          f"({time.process_time() - spent:.0f} s)", flush=True)  # fmt: skip


def large_kept(count: int) -> None:
    """Print in how many small stores the large scraps left whole come near the best."""
    near, exact = 0, 0
    for seed in range(1000, 1000 + count):
        store = small_store(seed, large=True)
        stock = store.stock()
        costs = [round(4 * s.region.area) if s.region.area >= LARGE else 0 for s in stock]
        answer = match(stock, [], store.needs(), ROLES)
        if answer.together.covered < answer.together.wanted:
            print(f"  store {seed}: short of pieces that all can be had")
            continue
        used = {use.scrap_id for use in answer.scrap_uses}
        least = least_cost(store, costs)
        assert least is not None
        best = sum(costs) - least
        left = sum(cost for s, cost in zip(stock, costs, strict=True) if s.id not in used)
        near += left >= 0.95 * best
        exact += left == best
        if left < best:
            print(f"  store {seed}: {left / 4:.0f} sq in left whole where {best / 4:.0f} could be")
    print(f"large scraps: left whole within 5 % of the best in {near} of {count} small stores, "
          f"the best in {exact}", flush=True)  # fmt: skip


def random_store(size: int, seed: int) -> list[ScrapStock]:
    """Return scraps of many outlines, irregular ones among them; margin 1/8 in."""
    return [
        ScrapStock(
            id=number,
            region=usable_region(new.outline, new.flaws, new.margin),
            true_area=new.outline.area,
        )
        for number, new in enumerate(scraps(size, seed))
    ]


def smallest_first(sizes: list[int], seeds: int) -> None:
    """Print whether 28 small pieces come out of the smallest third, where that covers them."""
    roles = {"star": RoleRule("star")}
    lists = {
        "28 squares of 2 in": [Need("square", "star", SQUARE, 28, (0.0,))],
        "14 squares, 14 rectangles": [
            Need("square", "star", SQUARE, 14, (0.0,)),
            Need("oblong", "star", box(0, 0, 1.5, 2.5), 14, (0.0, 90.0)),
        ],
    }
    print(f"{'scraps':>7} {'':26} {'seed':>4} {'third can':>9} {'covered':>8} "
          f"{'used':>5} {'of them in the third':>21} {'looked at':>10} {'CPU s':>6}")  # fmt: skip
    for size in sizes:
        for name, needs in lists.items():
            for seed in range(seeds):
                stock = random_store(size, seed)
                third = float(np.quantile([s.area for s in stock], 1 / 3))
                small = [s for s in stock if s.area <= third]
                can = match(small, [], needs, roles).together.covered
                start = time.process_time()
                answer = match(stock, [], needs, roles)
                spent = time.process_time() - start
                used = [stock[use.scrap_id].area for use in answer.scrap_uses]
                inside = sum(area <= third for area in used)
                print(f"{size:7} {name:26} {seed:4} {can:9} {answer.together.covered:8} "
                      f"{len(used):5} {inside:21} {answer.scraps_looked_at:10} {spent:6.1f}",
                      flush=True)  # fmt: skip


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--stores", type=int, default=60, help="small ones, beside exact answers")
    parser.add_argument("--sizes", type=int, nargs="*", default=[300, 3000])
    parser.add_argument("--seeds", type=int, default=3)
    chosen = parser.parse_args()
    if chosen.stores:
        fewest(chosen.stores)
        large_kept(chosen.stores)
    smallest_first(chosen.sizes, chosen.seeds)


if __name__ == "__main__":
    main()

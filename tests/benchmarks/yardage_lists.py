"""Fabric for random piece lists: beside what the area needs, plain arithmetic and free packing.

    python -m tests.benchmarks.yardage_lists [LISTS] [SEED] [BESIDE]

Each list has two to five kinds of piece (`tests.support.strip_lists`), cut from 40 in of width on
eighths. Plain arithmetic cuts each kind from strips of its own, the closest way it can lie. On
BESIDE lists of at most 60 pieces a general packer looks for the shortest length that holds all
pieces anywhere, by halving, with 20 s of work: no straight cuts, no ruler marks.
"""

import math
import sys
import time
from pathlib import Path
from statistics import mean

sys.path.insert(0, str(Path(__file__).parents[2]))

from scrapstore.planning.nested import TRIES, nested_length
from scrapstore.yardage import length_to_buy, plan_role
from tests.support.strip_lists import random_list
from tests.support.strips import alone

WIDTH, STEP, STRAIGHTENING = 40.0, 1 / 8, 1.0
WORK = 20 / TRIES
"""Of the general packer for each length that it tries: 20 s in all."""
MOST_PIECES = 60


def main(count: int = 300, seed: int = 0, beside: int = 20) -> None:
    less: dict[str, list[float]] = {"two kinds": [], "three kinds or more": []}
    bought: dict[str, list[float]] = {key: [] for key in less}
    spent, wrong, over_least = [], [], []
    freely: list[tuple[int, float, float, float, float]] = []
    for number in range(seed, seed + count):
        wanted = random_list(number)
        start = time.process_time()
        plan = plan_role("r", wanted, WIDTH, straightening=STRAIGHTENING, step=STEP)
        spent.append(time.process_time() - start)
        # What a shop's step would round away: the same list, bought to the ruler mark.
        exact = plan_role("r", wanted, WIDTH, straightening=0.0, step=STEP, shop_step=STEP).length
        plain = math.fsum(one.strips * one.strip_width for one in (alone(p, WIDTH) for p in wanted))
        area = math.fsum(piece.cut.area * piece.count for piece in wanted)
        plain_yards, _ = length_to_buy(plain, STRAIGHTENING)
        if min(plan.length, exact) * WIDTH < area - 1e-6:
            wrong.append(f"list {number}: less cloth than the pieces' area")
        if exact > plain + 1e-6 or plan.buy_yards > plain_yards:
            wrong.append(f"list {number}: {exact:g} in, plainly {plain:g}")
        key = "two kinds" if len(wanted) == 2 else "three kinds or more"
        less[key].append(1 - exact / plain)
        bought[key].append(1 - plan.buy_yards / plain_yards)
        over_least.append(exact * WIDTH / area)
        if len(freely) < beside and sum(piece.count for piece in wanted) <= MOST_PIECES:
            start = time.process_time()
            free = nested_length(wanted, WIDTH, exact, work=WORK, workers=1)
            work = time.process_time() - start
            freely.append((number, exact, free, exact / free - 1, work))
    print(f"{count} lists from seed {seed}, {len(wrong)} faults", *wrong[:5], sep="\n  ")
    for key, shares in less.items():
        if shares:
            print(
                f"{key:20} {len(shares):4} lists: {100 * mean(shares):5.1f} % less fabric than "
                f"plain arithmetic, {100 * mean(bought[key]):5.1f} % less bought"
            )
    print(f"fabric over the area of the pieces: {100 * (mean(over_least) - 1):.1f} % on the mean")
    print(f"CPU a list {mean(spent):.2f} s, worst {max(spent):.2f} s")
    for number, ours, free, more, work in freely:
        print(f"  list {number:4}: {ours:7.3f} in, freely {free:7.3f} in, {100 * more:5.1f} % more"
              f" ({work:.0f} s of CPU)")  # fmt: skip
    if freely:
        more = sum(one[1] for one in freely) / sum(one[2] for one in freely) - 1
        each = [one[3] for one in freely]
        print(
            f"{len(freely)} lists beside the general packer: {100 * mean(each):.1f} % more on the "
            f"mean, {100 * more:.1f} % of all length, worst {100 * max(each):.1f} %"
        )


if __name__ == "__main__":
    main(*(int(word) for word in sys.argv[1:]))

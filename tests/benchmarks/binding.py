"""The binding beside the obvious way: orders, turns and recuts; and where it starts.

Run from the top of the repository: ``.venv/bin/python -m tests.benchmarks.binding``. Random sets of
strips beside brute force over every order, turn and slope of the joins, and random rounds beside a
scan of every half inch, where a best place must be. Takes minutes.
"""

import argparse
import time

from scrapstore.finishing import StripEnds, plan_binding
from scrapstore.finishing.start import widest_margin
from tests.support.binding_rings import (
    longest_ring,
    random_course,
    random_strips,
    scanned_margin,
)


def main() -> None:
    """Print how many differ, by how much at most, and the time of the plans."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sets", type=int, default=2000)
    parser.add_argument("--most", type=int, default=5, help="strips in a set")
    parser.add_argument("--first", type=int, default=0, help="seed of the first set")
    chosen = parser.parse_args()
    seeds = range(chosen.first, chosen.first + chosen.sets)
    apart = [_off_brute_force(random_strips(seed, chosen.most)) for seed in seeds]
    _say("order, turning and recuts", apart)
    apart = []
    for seed in seeds:
        course = random_course(seed)
        margin = widest_margin(*course)
        assert margin is not None
        apart.append(abs(margin - scanned_margin(*course)))
    _say("start", apart)
    slowest = 0.0
    for seed in seeds:
        begun = time.perf_counter()
        plan_binding([18.0] * 4, random_strips(seed, chosen.most))
        slowest = max(slowest, time.perf_counter() - begun)
    print(f"slowest whole plan of a cover of 18 in: {slowest:.2f} s")


def _off_brute_force(strips: list[StripEnds]) -> float:
    width = min(strip.width for strip in strips)
    return abs(plan_binding([500.0] * 4, strips).available - longest_ring(strips, width, 0.25))


def _say(what: str, apart: list[float]) -> None:
    differ = sum(each > 1e-6 for each in apart)
    print(f"{what}: {len(apart)} compared, {differ} differ, by {max(apart):.1e} in at most")


if __name__ == "__main__":
    main()

"""How long the colour room takes, for more and more scraps.

``python -m tests.benchmarks.colour_speed`` prints a table. "families" is everything a contact sheet
needs: reading every scrap, grouping by family, the order along the hue circle, relative values.
"growth" is the time against the line above, divided by what n log n would allow: at most 1 is no
faster than n log n.
"""

import math
import time
from collections.abc import Callable
from typing import Any

import numpy as np
import psutil

from scrapstore.colour import (
    Swatch,
    dominant_colours,
    family_groups,
    go_together,
    group_into_piles,
    most_like,
    read_many,
    relative_values,
    swatch,
)

Cloth = tuple[Swatch, ...]


def cloths(count: int, seed: int = 0) -> list[Cloth]:
    """Random cloths of one to five colours."""
    rng = np.random.default_rng(seed)
    return [
        tuple(swatch(rng.integers(0, 256, 3), share) for share in rng.dirichlet(np.ones(many)))
        for many in rng.integers(1, 6, count)
    ]


def seconds(job: Callable[[Any], object], given: object, repeats: int = 3) -> float:
    """Return the shortest of the repeats."""
    taken = []
    for _ in range(repeats):
        begin = time.perf_counter()
        job(given)
        taken.append(time.perf_counter() - begin)
    return min(taken)


def contact_sheet(many: list[Cloth]) -> object:
    readings = read_many(many)
    return family_groups(readings), relative_values(readings)


def main() -> None:
    group_into_piles(cloths(50), 3)  # loads scikit-learn
    jobs: dict[str, Callable[[list[Cloth]], object]] = {
        "families": contact_sheet,
        "12 piles": lambda many: group_into_piles(many, 12),
        "20 most like": lambda many: most_like(many[0], many),
        "go together": lambda many: go_together(0, read_many(many)),
    }
    print("| scraps | " + " | ".join(f"{name}, s | growth" for name in jobs) + " | memory, MB |")
    print("|---" * (2 * len(jobs) + 2) + "|")
    before: dict[str, tuple[int, float]] = {}
    for count in (1_000, 10_000, 100_000):
        many = cloths(count)
        cells = []
        for name, job in jobs.items():
            took = seconds(job, many)
            growth = ""
            if name in before:
                fewer, earlier = before[name]
                allowed = count * math.log(count) / (fewer * math.log(fewer))
                growth = f"{took / earlier / allowed:.2f}"
            before[name] = count, took
            cells.append(f"{took:.3f} | {growth}")
        memory = psutil.Process().memory_info().rss / 1e6
        print(f"| {count:,} | " + " | ".join(cells) + f" | {memory:.0f} |", flush=True)
    pixels = np.random.default_rng(1).integers(0, 256, (1_000_000, 3), dtype=np.uint8)
    print(f"dominant colours of a million pixels: {seconds(dominant_colours, pixels):.3f} s")


if __name__ == "__main__":
    main()

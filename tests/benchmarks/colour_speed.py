"""How long grouping by colour takes, for more and more scraps: alone, and out of a store.

``python -m tests.benchmarks.colour_speed`` prints two tables. "families" is everything a contact
sheet needs: reading every scrap, grouping by family, the order along the hue circle, relative
values. "growth" is the time against the line above, divided by what n log n would allow: at most 1
is no faster than n log n. Out of a store it is the same with reading the rows of its database, and
then what ``families --json`` prints, which holds a line for each scrap. Times are the best of three
on the clock, and of the processor alone: the two differ where others use the machine.
"""

import json
import math
import sqlite3
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import psutil

from scrapstore.actions.families import Grouped, group_by_family
from scrapstore.colour import (
    Swatch,
    dominant_colours,
    go_together,
    group_into_piles,
    most_like,
    read_many,
    relative_values,
    sheet_order,
    swatch,
)
from scrapstore.json_output.colours import families_out
from scrapstore.store import StockFilter, Store, open_store
from tests.support.coloured_store import fill_coloured, random_cloths

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
    return sheet_order(readings), relative_values(readings)


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
    print(f"dominant colours of a million pixels: {seconds(dominant_colours, pixels):.3f} s\n")
    out_of_a_store()


def out_of_a_store() -> None:
    print("| scraps in a store | grouped, s | processor, s | growth | as JSON, s | memory, MB |")
    print("|---|---|---|---|---|---|")
    before: tuple[int, float] | None = None
    for count in (1_000, 10_000, 100_000):
        with tempfile.TemporaryDirectory() as folder, open_store(Path(folder)) as store:
            fill_quickly(store, count)
            took, worked, grouped = timed(partial(group_by_family, store, StockFilter()))
            assert len(grouped.members) == count
            written = seconds(lambda given: families_out(given).model_dump_json(), grouped)
            growth = ""
            if before is not None:
                fewer, earlier = before
                allowed = count * math.log(count) / (fewer * math.log(fewer))
                growth = f"{worked / earlier / allowed:.2f}"
            before = count, worked
            memory = psutil.Process().memory_info().rss / 1e6
            print(
                f"| {count:,} | {took:.2f} | {worked:.2f} | {growth} | {written:.2f} | "
                f"{memory:.0f} |",
                flush=True,
            )


def timed(job: Callable[[], Grouped]) -> tuple[float, float, Grouped]:
    """Return the shortest times of three, on the clock and of the processor, and the result."""
    clock, processor = [], []
    for _ in range(3):
        begin, worked = time.perf_counter(), time.process_time()
        grouped = job()
        clock.append(time.perf_counter() - begin)
        processor.append(time.process_time() - worked)
    return min(clock), min(processor), grouped


def fill_quickly(store: Store, count: int) -> None:
    """Put `count` scraps of random cloths into an empty store.

    One goes in as scraps do; the others are copies of its row with colours of their own, for a
    history of a hundred thousand single scraps would take minutes and is not read here.
    """
    fill_coloured(store, 1)
    many = random_cloths(count - 1, seed=1)
    with closing(sqlite3.connect(store.database)) as connection, connection:
        connection.row_factory = sqlite3.Row
        first = dict(connection.execute("SELECT * FROM scraps").fetchone())
        del first["id"]
        names = ", ".join(first)
        marks = ", ".join(f":{name}" for name in first)
        connection.executemany(
            f"INSERT INTO scraps ({names}) VALUES ({marks})",  # noqa: S608 - our own names
            (
                first
                | {
                    "swatches": json.dumps(
                        [{"rgb": s.rgb, "lab": s.lab, "share": s.share} for s in cloth]
                    ),
                    "family": read.family,
                    "accents": json.dumps(read.accents),
                    "value": read.value,
                }
                for cloth, read in zip(many, read_many(many), strict=True)
            ),
        )


if __name__ == "__main__":
    main()

"""Arrangements of 60 pieces from 300 scraps: how long they take, and whether each can be cut.

    python -m tests.benchmarks.arrange [--scraps 300] [--ways 20]

The scraps are those of `tests.support.big_store` (forty fabrics and scraps without a name). Aims:
the first arrangement within 3 s, twenty within 15 s, with two workers. Each row is one call of the
action; "pieces" are those of all its arrangements, verified anew here with shapely alone, and
"wrong" counts those that lie outside their scrap, over another, or beside their own fabric where
the scheme forbids it.
"""

import argparse
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from scrapstore.actions.arrange import arrange_project
from scrapstore.designs import make_design
from scrapstore.designs.arranging import SCHEMES
from scrapstore.planning.arranging.result import Arranged, ArrangeWish, CuttableWay
from scrapstore.projects import design_text
from scrapstore.settings import Settings
from scrapstore.store import Store, open_store
from scrapstore.workers import workers
from tests.support.big_store import fill_store

SETTINGS = Settings()
TOPS = (
    (
        "60 squares of 2 in",
        make_design("squares", piece=2.0, rows=6, columns=10, seam=0.25, mark=0.125),
    ),
    ("54 diamonds of 1 1/2 in", make_design("star", piece=1.5, seam=0.25, mark=0.125)),
    ("64 sails of 2 in", make_design("pinwheels", piece=2.0, seam=0.25, mark=0.125)),
)


def wrong_pieces(store: Store, arranged: Arranged, ways: Sequence[CuttableWay]) -> tuple[int, int]:
    """Return how many pieces there are, and how many of them cannot be cut where they lie."""
    with store.read() as reader:
        scraps = {scrap.id: scrap for scrap in reader.cuttable_scraps()}
    job = arranged.job
    count = wrong = 0
    for way in ways:
        placed: dict[int, list[Polygon]] = {}
        for piece in way.pieces:
            lies = arranged.own_placement(piece)
            count += 1
            if piece.scrap is not None and lies is not None:
                placed.setdefault(piece.scrap, []).append(lies.outline)
        for number, outlines in placed.items():
            scrap = scraps[number]
            cloth: BaseGeometry = scrap.outline.buffer(
                -scrap.edge, join_style="mitre", mitre_limit=2.0
            )
            for flaw in scrap.flaws:
                cloth = cloth.difference(flaw)
            cloth = cloth.buffer(1e-5)  # the rounding of a sharp corner
            wrong += sum(not cloth.covers(outline) for outline in outlines)
            # Two pieces may each reach a millionth of an inch over the edge that they share.
            over = sum(outline.area for outline in outlines) - shapely.union_all(outlines).area
            wrong += over > 2e-6 * sum(outline.length for outline in outlines)
        if "scattered" in way.arrangement.schemes:
            fabric = [job.cloths[c].fabric for c in way.arrangement.cloth_of]
            wrong += sum(
                fabric[i] == fabric[j] for i, near in enumerate(job.top.neighbours) for j in near
            )
    return count, wrong


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("--scraps", type=int, default=300)
    parser.add_argument("--ways", type=int, default=20)
    given = parser.parse_args()
    heads = ("top", "schemes", "asked", "found", "seconds", "pieces", "wrong")
    print("{:<24} {:<12} {:>5} {:>5} {:>7} {:>6} {:>5}".format(*heads))
    with (
        tempfile.TemporaryDirectory() as folder,
        workers() as pool,
        open_store(Path(folder) / "store", make=True) as store,
    ):
        fill_store(store, given.scraps)
        for word, design in TOPS:
            file = Path(folder) / f"{design.name}.toml"
            file.write_text(design_text(design, 0.25), encoding="utf-8")
            calls = [((), 1), ((), given.ways), *(((one,), given.ways) for one in SCHEMES)]
            for schemes, count in calls:
                began = time.perf_counter()
                wish = ArrangeWish(schemes=schemes, count=count)
                arranged = arrange_project(store, file, wish, SETTINGS, pool.pack_all)
                seconds = time.perf_counter() - began
                pieces, wrong = wrong_pieces(store, arranged, arranged.ways)
                said = schemes[0] if schemes else "all"
                found = len(arranged.ways)
                print(
                    f"{word:<24} {said:<12} {count:>5} {found:>5} {seconds:>7.2f} "
                    f"{pieces:>6} {wrong:>5}",
                    flush=True,
                )


if __name__ == "__main__":
    main()

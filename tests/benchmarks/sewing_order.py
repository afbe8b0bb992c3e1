"""How long a sewing order takes, and what it is.

Run from the top of the repository: ``.venv/bin/python -m tests.benchmarks.sewing_order``. Large
designs of every kind, then random small tops beside every order that can be tried. Takes a minute.
"""

import argparse
import time
from collections.abc import Mapping
from typing import Any, Final

from scrapstore.designs import PlacedPiece, make_design
from scrapstore.designs.sewing import order_of_pieces, sewing_order
from tests.support.tilings import fewest_bends, merged_triangles

_TOPS: Final[tuple[tuple[str, Mapping[str, Any]], ...]] = (
    ("star", {"a_side": 3}),
    ("star", {"a_side": 8}),
    ("star", {"a_side": 8, "fill": "hexagon"}),
    ("eight-point-star", {"a_side": 8}),
    ("pinwheels", {"rows": 10, "columns": 10}),
    ("squares", {"rows": 30, "columns": 30}),
    ("nine-patch", {"rows": 10, "columns": 10}),
    ("three-diamonds", {"rows": 10, "columns": 10}),
    ("hexagon-flower", {"rings": 6}),
)


def main() -> None:
    """Print a line for each design, then how many random tops have not the fewest bends."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--tops", type=int, default=2000, help="random small tops")
    chosen = parser.parse_args()
    print(f"{'design':40} {'pieces':>6} {'seams':>6} {'set in':>6} {'batches':>7} {'seconds':>8}")
    for name, options in _TOPS:
        design = make_design(name, piece=2, seam=0.25, mark=0.125, **options)
        begun = time.perf_counter()
        order = sewing_order(design)
        took = time.perf_counter() - begun
        called = f"{name} {' '.join(str(value) for value in options.values())}"
        print(
            f"{called:40} {len(design.pieces):6} {order.seams:6} {order.set_in:6} "
            f"{len(order.batches):7} {took:8.2f}"
        )
    worse = 0
    for seed in range(chosen.tops):
        outlines = merged_triangles(seed, 4 + seed % 6)
        order = order_of_pieces(
            [
                PlacedPiece(f"{at}", "piece", "role", None, None, f"{at}", outline, 0.0)
                for at, outline in enumerate(outlines)
            ]
        )
        worse += order.set_in != fewest_bends(outlines)
    print(f"random tops: {worse} of {chosen.tops} with other than the fewest set-in seams")


if __name__ == "__main__":
    main()

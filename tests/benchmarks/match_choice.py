"""The choice among patterns by CP-SAT and by HiGHS: how much each covers, proves and takes.

Run from the top of the repository: ``.venv/bin/python -m tests.benchmarks.match_choice``. Both get
the very same programme (the patterns of one store, the conditions of the sixty pieces, or of three
times as many) and cover as much area as they can. Seconds are of the processor, one thread each;
CP-SAT stops at its count of work, HiGHS after as many seconds of its own.
"""

import argparse
import math
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

from scrapstore.matching.model import EFFORT, Model
from scrapstore.matching.patterns import pack_all
from scrapstore.matching.programme import programme_of
from scrapstore.matching.screen import screen
from scrapstore.matching.search import ScrapSearch
from tests.benchmarks.main_job import SIXTY
from tests.benchmarks.match_store import instance


def by_highs(model: Model, cost: dict[int, int], seconds: float) -> tuple[float, float]:
    """Return the cost reached and the bound proven by HiGHS on the same rows."""
    where = [(r, c, a) for r, (terms, *_) in enumerate(model.rows) for c, a in terms.items()]
    r, c, a = (np.array(part) for part in zip(*where, strict=True))
    shape = (len(model.rows), len(model.upper))
    low = np.array([-np.inf if row[1] is None else row[1] for row in model.rows])
    high = np.array([np.inf if row[2] is None else row[2] for row in model.rows])
    weights = np.zeros(len(model.upper))
    weights[list(cost)] = list(cost.values())
    found = milp(
        weights,
        integrality=np.ones(len(model.upper), np.int64),
        bounds=Bounds(0, np.array(model.upper)),
        constraints=LinearConstraint(coo_array((a, (r, c)), shape=shape).tocsr(), low, high),
        options={"time_limit": seconds, "mip_rel_gap": 0.0},
    )
    reached = math.nan if found.x is None else float(weights @ np.round(found.x))
    bound = found.mip_dual_bound
    return reached, math.nan if bound is None else float(bound)


def main() -> None:
    """Print the table and its sums."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--instances", type=int, default=20)
    parser.add_argument("--times", type=int, default=3, help="every second list is so much longer")
    chosen = parser.parse_args()
    print(f"{'':4} {'':>8} {'':>6} {'CP-SAT':>26}   {'HiGHS':>26}")
    print(f"{'no':>4} {'columns':>8} {'rows':>6} {'sq in':>8} {'at most':>9} {'s':>6}    "
          f"{'sq in':>8} {'at most':>9} {'s':>6}")  # fmt: skip
    better = [0, 0]
    spent = [0.0, 0.0]
    with tempfile.TemporaryDirectory() as scratch:
        top = Path(scratch)
        (top / "sixty.toml").write_text(SIXTY, encoding="utf-8")
        for seed in range(chosen.instances):
            stock, needs, roles = instance(top, seed)
            if seed % 2:
                needs = [replace(need, wanted=chosen.times * need.wanted) for need in needs]
            search = ScrapSearch(screen(stock, needs, roles), [], needs, roles, 0.1, 0, pack_all)
            for _ in search.look(3.0, 1500):
                pass
            held = {r.name: r.min_fabrics for r in roles.values() if r.min_fabrics}
            programme = programme_of(stock, search.patterns(), [], needs, roles, held)
            model, cost = programme.model, {c: -v for c, v in programme.covered.items()}
            start = time.process_time()
            sat = model.minimise(cost)
            middle = time.process_time()
            reached, bound = by_highs(model, cost, EFFORT)
            end = time.process_time()
            ours = (math.nan, math.nan) if sat is None else (-sat.cost / 1000, -sat.bound / 1000)
            theirs = -reached / 1000, -bound / 1000
            better[0] += ours[0] > theirs[0] + 1e-6 or math.isnan(theirs[0])
            better[1] += theirs[0] > ours[0] + 1e-6
            spent[0] += middle - start
            spent[1] += end - middle
            print(
                f"{seed:4} {len(model.upper):8} {len(model.rows):6} "
                f"{ours[0]:8.1f} {ours[1]:9.1f} {middle - start:6.2f}    "
                f"{theirs[0]:8.1f} {theirs[1]:9.1f} {end - middle:6.2f}",
                flush=True,
            )
    print(f"CP-SAT covers more in {better[0]}, HiGHS in {better[1]} of {chosen.instances}; "
          f"seconds {spent[0]:.1f} and {spent[1]:.1f}")  # fmt: skip


if __name__ == "__main__":
    main()

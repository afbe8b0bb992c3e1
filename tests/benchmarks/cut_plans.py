"""Cutting plans measured on random scraps: damage, marks, templates, value, work.

    python -m tests.benchmarks.cut_plans [SCRAPS] [SEED] [plenty]

Every layout of the packer becomes a cutting plan, and a cutter who shares nothing with the program
carries it out. With `plenty` more pieces are wanted than fit, so that the layouts are dense.
"""

import sys
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from scrapstore.packing import Layout, cut_faults, plan_cuts, verify
from tests.support.cut_scraps import as_json, as_plan, corners, scraps_to_cut
from tests.support.cutter import cut_out


def main(count: int = 500, seed: int = 0, *, plenty: bool = False) -> None:
    pieces: Counter[str] = Counter()
    template: Counter[str] = Counter()
    faults: list[str] = []
    spent, before, after, cuts, lost = [], 0.0, 0.0, 0, 0
    for number, scrap in enumerate(scraps_to_cut(count, seed, plenty=plenty)):
        start = time.process_time()
        planned = plan_cuts(
            scrap.outline, scrap.region, scrap.kinds, scrap.layout.placements, scrap.step
        )
        spent.append(time.process_time() - start)
        plan = as_plan(scrap.outline, planned, scrap.step)
        value = sum(piece.outline.area for piece in plan.pieces)
        bench = cut_out(as_json(plan), corners(scrap.outline), scrap.step)
        layout = Layout(planned.placements, value, scrap.layout.bound)
        wrong = [*bench.faults, *cut_faults(plan), *verify(scrap.region, scrap.kinds, layout)]
        faults += [f"scrap {number}: {fault}" for fault in wrong]
        before, after, cuts = before + scrap.layout.value, after + value, cuts + len(plan.cuts)
        lost += value < scrap.layout.value - 1e-6
        for piece in plan.pieces:
            for key in (piece.name, scrap.ruler, "all"):
                pieces[key] += 1
                template[key] += piece.template
    for key in sorted(pieces):
        share = 100 * template[key] / pieces[key]
        print(f"{key:32}{pieces[key]:6} pieces{share:8.1f} % by template")
    small = sum("damaged or small" in fault for fault in faults)
    marks = sum("mark" in fault or "does not" in fault for fault in faults)
    print(f"{count} scraps, {cuts} cuts, {len(faults)} faults", *faults[:5], sep="\n  ")
    print(f"{small} pieces damaged or small, {marks} figures off the marks")
    print(f"value placed {after:.2f} sq in, before {before:.2f}; scraps that lost: {lost}")
    print(f"CPU a scrap {1000 * sum(spent) / count:.0f} ms, worst {1000 * max(spent):.0f} ms")


if __name__ == "__main__":
    figures = [int(word) for word in sys.argv[1:] if word.isdigit()]
    main(*figures, plenty="plenty" in sys.argv)

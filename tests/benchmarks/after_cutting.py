"""What cuts leave, measured on random plans: areas, overlaps, spoilt pieces, pieces not cut.

    python -m tests.benchmarks.after_cutting [PLANS] [SEED]

Every plan is looked at twice: cut as planned, and as it may really go, with pieces spoilt and not
cut. Areas are sums over corners. A cutter who shares nothing with the program carries out the cuts
and says how large each part is; which cuts are not made is worked out from the plan anew.
"""

import math
import random
import sys
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

import shapely
from shapely import Polygon

from scrapstore.packing import plan_cuts
from scrapstore.planning.after_cutting import SIDES, AfterCutting, Side, Spoilt, after_cutting
from scrapstore.shapes import Cut, CutPiece, CuttingPlan
from tests.support.cut_scraps import as_json, as_plan, corners, scraps_to_cut
from tests.support.cutter import Corner, area, cut_out, one_side

CLOSE = 1e-6  # square inches
CLOSE_SPOILT = 1e-5
"""Square inches. A spoilt piece is compared with its planned outline, which may lie over the edge
of its part by what cuts are rounded to (some 1e-7 in); what came out ends at the edge."""
SMALLEST = 1.5


def main(count: int = 1000, seed: int = 0) -> None:
    draw = random.Random(seed)
    found: Counter[str] = Counter()
    worst: dict[str, float] = {}
    spent, faults = [], []
    for number, scrap in enumerate(scraps_to_cut(count, seed)):
        planned = plan_cuts(
            scrap.outline, scrap.region, scrap.kinds, scrap.layout.placements, scrap.step
        )
        plan = as_plan(scrap.outline, planned, scrap.step)
        bench = cut_out(as_json(plan), corners(scrap.outline), scrap.step)
        parts = {part: Polygon(ring) for part, ring in bench.parts.items()}
        spoilt, not_cut = _as_it_went(draw, plan)
        for one, left in (({}, set()), (spoilt, not_cut)):
            start = time.process_time()
            after = after_cutting(plan, smallest=SMALLEST, spoilt=one, not_cut=left)
            spent.append(time.process_time() - start)
            faults += [f"plan {number}: {fault}" for fault in bench.faults]
            for kind, off in _errors(plan, after, one, parts).items():
                worst[kind] = max(worst.get(kind, 0.0), off)
                if off > (CLOSE_SPOILT if "spoilt" in kind else CLOSE):
                    faults.append(f"plan {number}: {kind} {off:.3g}")
            found += Counter({
                "pieces": len(after.pieces), "spoilt pieces": len(after.spoilt),
                "pieces not cut": len(after.not_cut), "offcuts": len(after.offcuts),
                "parts of waste": len(after.waste), "plans": 1,
            })  # fmt: skip
    for kind, some in found.items():
        print(f"{kind:28}{some:8}")
    for kind, off in worst.items():
        print(f"{kind:28}{off:12.2e} worst")
    print(f"{len(faults)} faults", *faults[:10], sep="\n  ")
    print(f"CPU a call {1000 * sum(spent) / len(spent):.1f} ms, worst {1000 * max(spent):.0f} ms")


def _as_it_went(draw: random.Random, plan: CuttingPlan) -> tuple[dict[str, Spoilt], set[str]]:
    """Return random pieces that were spoilt, most of them short at one edge, and not cut."""
    spoilt: dict[str, Spoilt] = {}
    not_cut = set()
    for piece in plan.pieces:
        chance = draw.random()
        if chance < 0.25:
            not_cut.add(piece.label)
        elif chance < 0.5:
            sides = [side for side in SIDES if _edge_on(piece, side) is not None]
            side = draw.choice([*sides, None])
            short = draw.choice((0.0625, 0.125, 0.25))
            spoilt[piece.label] = Spoilt(short, side) if side else Spoilt()
    return spoilt, not_cut


def _edge_on(piece: CutPiece, side: Side) -> tuple[Corner, Corner] | None:
    """Return the edge that looks most to a side; None where two do so within two degrees."""
    ring = _ring(piece.outline)
    off = []
    for a, b in zip(ring, [*ring[1:], ring[0]], strict=True):
        outward = math.degrees(math.atan2(a[0] - b[0], b[1] - a[1]))
        off.append((abs((outward - SIDES[side] + 180) % 360 - 180), (a, b)))
    (nearest, edge), (second, _), *_ = sorted(off)
    return edge if second - nearest > 2 else None


def _ring(outline: Polygon) -> list[Corner]:
    """Return the corners of an outline, counter-clockwise."""
    ring = corners(outline)
    return ring if area(ring) > 0 else ring[::-1]


def _area(outline: Polygon) -> float:
    """Return the area as a sum over corners, holes off."""
    holes = [abs(area(corners(Polygon(hole)))) for hole in outline.interiors]
    return abs(area(corners(outline))) - math.fsum(holes)


def _errors(
    plan: CuttingPlan, after: AfterCutting, spoilt: dict[str, Spoilt], parts: dict[int, Polygon]
) -> dict[str, float]:
    """Return by how many square inches what is left differs from what it has to be."""
    pieces = [piece.outline for piece in after.pieces]
    rests = [*after.offcuts, *after.waste]
    shapes = [*pieces, *after.spoilt.values(), *rests]
    tree = shapely.STRtree(shapes)
    one, other = tree.query(shapes, predicate="intersects")
    pairs = one < other
    shared = shapely.intersection(
        tree.geometries[one[pairs]], tree.geometries[other[pairs]], grid_size=1e-9
    )
    errors = {
        "sum of areas": abs(math.fsum(map(_area, shapes)) - _area(plan.outline)),
        "overlap of any two": max(shapely.area(shared), default=0.0),
    }
    made = {piece.part for piece in plan.pieces if piece.label not in after.not_cut}
    lineage = {number: cut for cut in plan.cuts for number in cut.gives}
    cuts = {id(cut) for part in made for cut in _cuts_to(part, lineage)}
    standing: dict[int, list[Polygon]] = {}
    for number, shape in parts.items():
        at = number
        for cut in _cuts_to(number, lineage):
            if id(cut) not in cuts:
                at = cut.part
        standing.setdefault(at, []).append(shape)
        inside = shapely.area(shapely.intersection(shapes, shape, grid_size=1e-9)).sum()
        off = abs(float(inside) - abs(area(corners(shape))))
        errors["area of a part"] = max(errors.get("area of a part", 0.0), off)
    wholes = [shapely.union_all(some) for some in standing.values()]
    for rest in rests:
        off = min(
            _area(rest) - shapely.intersection(rest, whole, grid_size=1e-9).area for whole in wholes
        )
        errors["rest over an uncut edge"] = max(errors.get("rest over an uncut edge", 0.0), off)
    outlines = {piece.label: piece for piece in plan.pieces}
    for label, came in after.spoilt.items():
        short, side = spoilt[label].short, spoilt[label].side
        edge = _edge_on(outlines[label], side) if side else None
        expected = _area(outlines[label].outline)
        if short and edge:
            (ax, ay), (bx, by) = edge
            x, y = ((by - ay) / math.dist(*edge) * -short, (bx - ax) / math.dist(*edge) * short)
            moved = [(ax + x, ay + y), (bx + x, by + y)]
            expected = max(map(area, one_side(_ring(outlines[label].outline), moved, 1)))
        off = abs(_area(came) - expected)
        errors["area of a spoilt piece"] = max(errors.get("area of a spoilt piece", 0.0), off)
    return errors


def _cuts_to(part: int, lineage: dict[int, Cut]) -> list[Cut]:
    """Return the cuts that free a part, the last first."""
    found = []
    while part in lineage:
        found.append(lineage[part])
        part = lineage[part].part
    return found


if __name__ == "__main__":
    main(*[int(word) for word in sys.argv[1:]])

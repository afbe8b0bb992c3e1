"""Checks of drawn strips, by shapely alone; and one piece's row on strips of its own."""

import math
from collections import Counter
from dataclasses import dataclass
from itertools import combinations

from shapely import Polygon, box, unary_union

from scrapstore.shapes import CuttingPlan, cut_parts
from scrapstore.yardage import Row, Strip, StripPiece, rows_to_lie
from tests.support.cutter import Bench, cut_out, off


def lie_sound(outlines: tuple[Polygon, ...], length: float, width: float) -> None:
    """All inside the strip, no two overlapping."""
    strip = box(0, 0, length, width).buffer(1e-6)
    for outline in outlines:
        assert strip.covers(outline)
    for a, b in combinations(outlines, 2):
        assert a.intersection(b, grid_size=1e-9).area < 1e-6


def cut_sound(strip: Strip, length: float) -> None:
    """Pieces lie sound, and every one inside the strip or the narrower strip it is cut from.

    Whoever carries out the cuts has them.
    """
    lie_sound(tuple(o for run in strip.all_runs for o in run.outlines), length, strip.width)
    for run in strip.runs:
        assert run.width == strip.width
        assert box(0, 0, run.end, strip.width).buffer(1e-6).covers(unary_union(run.outlines))
    faults = carried_out(strip.cutting).faults
    assert not faults, faults
    assert strip.cutting.outline.equals(box(0, 0, length, strip.width))
    assert Counter(piece.name for piece in strip.cutting.pieces) == {
        name: count // strip.times for name, count in strip.counts().items()
    }
    if strip.rest is None:
        return
    assert strip.rest.start >= max(run.end for run in strip.runs) - 1e-9
    assert strip.rest.end <= length + 1e-9
    low = 0.0
    for narrow in strip.rest.strips:
        assert narrow.low >= low - 1e-9
        low = narrow.low + narrow.width
        assert narrow.width == narrow.runs[0].width
        width = narrow.width
        for run in narrow.runs:
            room = box(strip.rest.start, narrow.low, run.end, narrow.low + run.width)
            assert room.buffer(1e-6).covers(unary_union(run.outlines))
            assert run.width <= width
            width = run.width
    assert low <= strip.width + 1e-9


def carried_out(plan: CuttingPlan) -> Bench:
    """Let the cutter who has only the outline and the cuts carry out a plan."""
    cuts = [
        {
            "part": cut.part, "line": cut.line, "gives": list(cut.gives), "from": cut.ruler_from,
            "distance": cut.distance, "angle_deg": cut.angle_deg, "corners": cut.corners,
        }
        for cut in plan.cuts
    ]  # fmt: skip
    placements = [
        {
            "label": piece.label, "outline": list(piece.outline.exterior.coords)[:-1],
            "part": piece.part, "template": piece.template,
        }
        for piece in plan.pieces
    ]  # fmt: skip
    outline = [(x, y) for x, y in plan.outline.exterior.coords][:-1]
    bench = cut_out({"cuts": cuts, "placements": placements}, outline, plan.step)
    bench.faults += _unsure(plan)
    return bench


def _unsure(plan: CuttingPlan) -> list[str]:
    """Return complaints about cuts whose place is not known, or measured from what is not there."""
    parts = cut_parts(plan)
    faults = []
    for number, cut in enumerate(plan.cuts):
        if cut.corners:
            continue
        corners = [(x, y) for x, y, *_ in parts[cut.part].exterior.coords]
        if cut.angle_deg:
            if cut.point is None or cut.point_distance is None:
                faults.append(f"cut {number}: nothing says where it lies")
                continue
            marks = cut.point_distance / plan.step
            if abs(marks - round(marks)) > 1e-5:
                faults.append(f"cut {number}: {cut.point_distance} is on no mark")
            if abs(abs(off(cut.point, cut.line)) - cut.point_distance) > 1e-6:
                faults.append(f"cut {number} is not {cut.point_distance} from its corner")
            if not any(math.dist(cut.point, corner) < 1e-6 for corner in corners):
                faults.append(f"cut {number}: there is no corner {cut.point}")
        if isinstance(cut.ruler_from, int):
            beside = plan.cuts[cut.ruler_from].line
            on_it = [corner for corner in corners if abs(off(corner, beside)) < 1e-6]
            if len({(round(x, 5), round(y, 5)) for x, y in on_it}) < 2:
                faults.append(f"cut {number}: cut {cut.ruler_from} is no side of the part")
    return faults


@dataclass(frozen=True)
class Alone:
    """One piece cut from strips of nothing else, the way that takes least fabric."""

    row: Row
    strip_width: float
    per_strip: int
    strips: int
    on_last_strip: int
    outlines: tuple[Polygon, ...]


def alone(
    piece: StripPiece, room: float = 40.0, *, step: float = 1 / 8, along_grain: bool = False
) -> Alone:
    def fabric(row: Row) -> tuple[float, int, int]:
        strips = math.ceil(piece.count / row.fits(room))
        return round(strips * row.width, 9), strips, -row.fits(room)

    row = min(rows_to_lie(piece, room, step, along_grain=along_grain), key=fabric)
    per_strip = row.fits(room)
    strips = math.ceil(piece.count / per_strip)
    return Alone(
        row=row,
        strip_width=row.width,
        per_strip=per_strip,
        strips=strips,
        on_last_strip=piece.count - per_strip * (strips - 1),
        outlines=row.outlines(per_strip),
    )

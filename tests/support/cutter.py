"""A cutter who has only the outline and the cuts: carries them out and looks at what is there.

Shares nothing with the program, and uses no geometry library: outlines are lists of corners.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

Corner = tuple[float, float]
Ring = list[Corner]

ON_LINE = 1e-7
CLOSE = 2e-6


@dataclass
class Bench:
    """What the cutter found: `parts` by number, and every complaint."""

    parts: dict[int, Ring]
    faults: list[str] = field(default_factory=list)


def area(ring: Sequence[Corner]) -> float:
    """Signed: positive counter-clockwise."""
    return 0.5 * sum(
        ax * by - bx * ay for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]], strict=True)
    )


def off(point: Corner, line: Sequence[Corner]) -> float:
    """How far a point lies to the left of a line."""
    (ax, ay), (bx, by) = line
    return ((bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)) / math.dist(*line)


def along(point: Corner, line: Sequence[Corner]) -> float:
    (ax, ay), (bx, by) = line
    return ((bx - ax) * (point[0] - ax) + (by - ay) * (point[1] - ay)) / math.dist(*line)


def one_side(ring: Ring, line: Sequence[Corner], way: int) -> list[Ring]:
    """The parts of a ring left (way 1) or right (-1) of a line, in order along it."""
    heights = [way * off(p, line) for p in ring]
    heights = [0.0 if abs(h) < ON_LINE else h for h in heights]
    chains: list[Ring] = []
    count = len(ring)
    start = next((i for i in range(count) if heights[i] <= 0), None)
    if start is None:
        return [ring]
    chain: Ring | None = None
    for k in range(count):
        i, j = (start + k) % count, (start + k + 1) % count
        (ax, ay), (bx, by), ha, hb = ring[i], ring[j], heights[i], heights[j]
        if ha <= 0 < hb:
            share = ha / (ha - hb)
            chain = [(ax + share * (bx - ax), ay + share * (by - ay)), ring[j]]
        elif ha > 0 >= hb:
            share = ha / (ha - hb)
            assert chain is not None
            chain.append((ax + share * (bx - ax), ay + share * (by - ay)))
            chains.append(chain)
            chain = None
        elif chain is not None and hb > 0:
            chain.append(ring[j])
    ends = sorted(
        (along(c[e], line), -abs(along(c[0], line) - along(c[-1], line)) * (e == 0), n, e)
        for n, c in enumerate(chains)
        for e in (0, -1)
    )
    partner: dict[tuple[int, int], tuple[int, int]] = {}
    for (_, _, n, e), (_, _, m, f) in zip(ends[::2], ends[1::2], strict=True):
        partner[n, e], partner[m, f] = (m, f), (n, e)
    found: list[Ring] = []
    left = set(range(len(chains)))
    while left:
        first = at = min(left)
        loop: Ring = []
        while True:
            left.discard(at)
            loop += chains[at]
            at, _ = partner[at, -1]
            if at == first:
                break
        found.append(loop)
    found = [loop for loop in found if abs(area(loop)) > 1e-9]
    return sorted(
        found, key=lambda loop: min(along(p, line) for p in loop if abs(off(p, line)) < 1e-6)
    )


def bare(ring: Ring) -> Ring:
    """Without corners at which it goes straight on; close ones are one for whoever cuts."""
    apart = [
        b for a, b in zip([ring[-1], *ring[:-1]], ring, strict=True) if math.dist(a, b) > CLOSE
    ]
    return [
        b
        for a, b, c in zip([apart[-1], *apart[:-1]], apart, [*apart[1:], apart[0]], strict=True)
        if abs(off(b, (a, c))) > 1e-9
    ]


def cut_out(plan: Mapping[str, Any], outline: Ring, step: float) -> Bench:
    """Carry out a plan as `match --json` prints it, on an outline in the plan's frame."""
    ring = outline if area(outline) > 0 else outline[::-1]
    bench = Bench({0: ring})
    made: list[Sequence[Corner]] = []
    numbers = 1
    for index, cut in enumerate(plan["cuts"]):
        line = [tuple(p) for p in cut["line"]]
        ring = bench.parts.pop(cut["part"], [])
        if not ring:
            bench.faults.append(f"cut {index}: there is no part {cut['part']}")
            return bench
        left, right = one_side(ring, line, 1), one_side(ring, line, -1)
        gives = list(range(numbers, numbers + len(left) + len(right)))
        if not left or not right or gives != cut["gives"]:
            bench.faults.append(f"cut {index} gives {gives}, not {cut['gives']}")
            return bench
        bench.parts.update(zip(gives, [*left, *right], strict=True))
        numbers += len(gives)
        bench.faults += _ruler(index, cut, line, made, ring, outline, step)
        made.append(line)
    _pieces(bench, plan["placements"], step)
    return bench


def _ruler(
    index: int, cut: Mapping[str, Any], line: Sequence[Corner], made: Sequence[Sequence[Corner]],
    part: Ring, outline: Ring, step: float,
) -> list[str]:  # fmt: skip
    if cut.get("corners"):
        touched = [p for p in bare(part) if abs(off(p, line)) < CLOSE]
        return [] if len(touched) == 2 else [f"cut {index} does not run from corner to corner"]
    source, distance, angle = cut["from"], cut["distance"], cut["angle_deg"]
    if source is None:
        return [] if index == 0 else [f"cut {index} is measured from nothing"]
    if abs(distance / step - round(distance / step)) > 1e-5:
        return [f"cut {index}: {distance} is on no mark"]
    lines = (
        [made[source]]
        if source != "edge"
        else [
            pair
            for pair in zip(outline, [*outline[1:], outline[0]], strict=True)
            if math.dist(*pair) >= 0.5
        ]
    )
    for other in lines:
        turned = (
            math.degrees(
                math.atan2(other[1][1] - other[0][1], other[1][0] - other[0][0])
                - math.atan2(line[1][1] - line[0][1], line[1][0] - line[0][0])
            )
            % 180
        )
        between = min(turned, 180 - turned)
        if abs(between - angle) > 1e-3:
            continue
        if angle == 0:
            if all(abs(abs(off(p, other)) - distance) < CLOSE * max(1, distance) for p in line):
                return []
        elif distance == 0 and abs(angle / 15 - round(angle / 15)) < 1e-4:
            return _at_corner(index, cut, line, part, step)
    return [f"cut {index} does not lie {distance} at {angle}° from {source}"]


def _at_corner(
    index: int, cut: Mapping[str, Any], line: Sequence[Corner], part: Ring, step: float
) -> list[str]:
    """What is wrong with where a cut at an angle lies, if that is told."""
    point, distance = cut.get("point"), cut.get("point_distance")
    if point is None or distance is None:
        return []
    if not any(math.dist(point, p) < CLOSE for p in bare(part)):
        return [f"cut {index}: {point} is no corner of the part"]
    if abs(distance / step - round(distance / step)) > 1e-5:
        return [f"cut {index}: {distance} from a corner is on no mark"]
    if abs(abs(off(point, line)) - distance) > CLOSE:
        return [f"cut {index} does not lie {distance} from {point}"]
    return []


def _pieces(bench: Bench, placements: Sequence[Mapping[str, Any]], step: float) -> None:
    labels = [p["label"] for p in placements]
    if len(set(labels)) != len(labels):
        bench.faults.append("two pieces have one label")
    for piece in placements:
        label, outline = piece["label"], [tuple(p) for p in piece["outline"]]
        part = bench.parts.get(piece["part"])
        if part is None:
            bench.faults.append(f"{label}: there is no part {piece['part']} at the end")
            continue
        if area(outline) < 0:
            outline.reverse()
        if piece["template"]:
            if not _inside(outline, part):
                bench.faults.append(f"{label} is not inside its part")
            continue
        others = [p["label"] for p in placements if p["part"] == piece["part"]]
        if others != [label]:
            bench.faults.append(f"{label} shares its part with {others}")
        sides = list(zip(outline, [*outline[1:], outline[0]], strict=True))
        if not _inside(outline, part):
            bench.faults.append(f"{label} is damaged or small")
        over = [(max(-off(p, side) for p in part), side) for side in sides]
        if max(over)[0] >= step:
            bench.faults.append(f"{label} is too large by {max(over)[0]:.4f}")


def _inside(outline: Ring, part: Ring) -> bool:
    """Whether a part has all of a piece: no edge of the part runs through it, and one point is in.

    The piece is taken a hair smaller towards its middle.
    """
    cx, cy = (sum(p[k] for p in outline) / len(outline) for k in (0, 1))
    reach = max(math.dist(p, (cx, cy)) for p in outline)
    shrink = 1 - 3 * CLOSE / min(1.0, reach)
    inner = [(cx + (x - cx) * shrink, cy + (y - cy) * shrink) for x, y in outline]
    edges = list(zip(part, [*part[1:], part[0]], strict=True))
    for side in zip(inner, [*inner[1:], inner[0]], strict=True):
        for edge in edges:
            if _cross(side, edge):
                return False
    return _contains(part, inner[0])


def _cross(a: Sequence[Corner], b: Sequence[Corner]) -> bool:
    if math.dist(*a) == 0 or math.dist(*b) < 1e-12:
        return False
    return off(a[0], b) * off(a[1], b) < 0 and off(b[0], a) * off(b[1], a) < 0


def _contains(ring: Ring, point: Corner) -> bool:
    x, y = point
    inside = False
    for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]], strict=True):
        if (ay > y) != (by > y) and x < ax + (y - ay) / (by - ay) * (bx - ax):
            inside = not inside
    return inside

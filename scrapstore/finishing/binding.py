"""The binding of a trimmed top: does it reach, how is it joined, where does it start."""

import math
from collections.abc import Sequence
from dataclasses import replace
from itertools import accumulate, islice
from math import inf
from typing import Final

from scrapstore.errors import ShapeError
from scrapstore.finishing.forms import BindingPlan, PlacedStrip, StripEnds
from scrapstore.finishing.joining import Joined, best_rings, least_length, ring_orders
from scrapstore.finishing.outline import TopOutline
from scrapstore.finishing.start import Gap, fewest_shortened, widest_margin

__all__ = [
    "binding_length",
    "plan_binding",
    "plan_without_strips",
    "sewing_stops",
    "strip_width",
    "strips_across",
]

_NEAR: Final = 1e-9
_ALL_ORDERS: Final = 6
"""Of a ring of so many strips all orders are compared by where their joins can lie."""
_FEW: Final = 8
"""Strips of a ring that is looked for first."""
_MOST: Final = 100
"""Strips of a ring; its orders are walked by recursion, and nobody sews more."""
_LOOKED_AT: Final = 160
"""Strips in all the orders of a larger ring that are compared; one order at least is."""
_STEEPEST: Final = 80.0

Order = tuple[tuple[Joined, bool], ...]
Stretch = tuple[float, float]


def strip_width(finished_width: float, seam: float, turn: float = 0.0) -> float:
    """Return the width to cut for a double-fold binding; `turn` is for loft and folds."""
    return 4 * finished_width + 2 * seam + turn


def binding_length(outline: TopOutline, finished_width: float, seam: float) -> float:
    """Return the length of a closed binding round a trimmed outline; see `plan_binding`."""
    return outline.perimeter + sum(_extras(outline.corners_deg, finished_width, seam))


def plan_without_strips(
    outline: TopOutline, width: float, *, seam: float, finished_width: float
) -> BindingPlan:
    """Return the plan where no strip is there yet: nothing of what is needed reaches.

    One strip of `width`, crossed with itself, must be longer than is needed by that width.
    """
    needed = binding_length(outline, finished_width, seam)
    return BindingPlan(
        needed=needed, available=0.0, width=width, strips=(), joins=(), slopes_deg=(),
        taken_off=(), clearance=None, kept_off=None, corner_clearance=0.0, extra=needed + width,
        stops=sewing_stops(outline.corners_deg, seam),
    )  # fmt: skip


def strips_across(needed: float, fabric_width: float, width: float) -> int:
    """Return how many square-ended strips, as long as the fabric is wide, reach so far.

    Each loses its width at the joins, which are crossed. Raises ShapeError for a fabric so narrow
    that nothing is left of a strip.
    """
    if fabric_width - width <= width:
        raise ShapeError("binding: the fabric is too narrow for strips of that width")
    return math.ceil((needed - _NEAR) / (fabric_width - width))


def _extras(corners_deg: Sequence[float], finished_width: float, seam: float) -> list[float]:
    """Return what the binding takes at each corner beyond the trimmed edge."""
    return [2 * (finished_width - seam) / math.tan(math.radians(a) / 2) for a in corners_deg]


def sewing_stops(corners_deg: Sequence[float], seam: float) -> tuple[float, ...]:
    """Return how far before each corner the seam lines cross, where sewing stops; inches."""
    return tuple(seam / math.tan(math.radians(angle) / 2) for angle in corners_deg)


def plan_binding(
    sides: Sequence[float],
    strips: Sequence[StripEnds],
    *,
    seam: float = 0.25,
    finished_width: float = 0.25,
    corners_deg: Sequence[float] | None = None,
    corner_clearance: float = 2.0,
    keep_off: Sequence[Stretch] = (),
    start: float | None = None,
) -> BindingPlan:
    """Plan the binding round an outline, by its geometry; lengths in inches.

    `sides` are the trimmed edges in order, `corners_deg` the angle after each (90 when not given).
    Corner 0 is where the first side begins. `keep_off` are stretches of the edge that joins should
    keep off as they do corners, from and to in inches from corner 0; one whose end is before its
    beginning runs over corner 0. Joins come to lie as far off all of these as can be: exactly, for
    the recuts that lose least, over all orders of up to six strips, and some of more. With `start`,
    in inches from corner 0, the ends meet there wherever it is, and the other joins keep off.

    The length needed is the perimeter, and at each corner 2 (finished_width - seam) cot(angle / 2):
    the binding turns round a corner that lies so much outside the trimmed one.

    Raises ShapeError for an outline, strips or a width that no binding can have.
    """
    angles = _checked(sides, strips, seam, finished_width, corners_deg)
    extras = _extras(angles, finished_width, seam)
    needed = sum(sides) + sum(extras)
    if min(side + extra for side, extra in zip(sides, extras, strict=True)) <= 0:
        raise ShapeError("binding: a side is too short for a seam so much wider than the binding")
    width = min(strip.width for strip in strips)
    longest, ring = _rings(strips, width, seam, needed)
    available = _length(longest)
    if ring is not None:
        available = max(available, needed)  # not short by what rounding leaves
    plan = BindingPlan(
        needed=needed, available=available, width=width, strips=(), joins=(),
        slopes_deg=(), taken_off=(), clearance=None, kept_off=None,
        corner_clearance=corner_clearance, extra=None, stops=sewing_stops(angles, seam),
    )  # fmt: skip
    if len(ring or longest) > _MOST:
        msg = f"binding: more than {_MOST} strips would have to be joined; sew from longer ones"
        raise ShapeError(msg)
    if ring is None:
        if longest:
            order = next(ring_orders(longest))
            plan = _ordered(plan, order, strips, [one.length for one, _ in order])
        return replace(plan, extra=_shortest_extra(strips, width, seam, needed))
    edge = _Edge(sides, extras, keep_off)
    first = None if start is None else edge.along(start)
    order, margin = _best_order(ring, edge, needed, width, first)
    limits = _limits(order, needed, width)
    joins = fewest_shortened(margin - _NEAR, edge.gaps, needed, *limits, first)
    after = (*joins[1:], joins[0] + needed)
    plan = _ordered(plan, order, strips, [b - a for a, b in zip(joins, after, strict=True)])
    on_edge = tuple(edge.at(join % needed) for join in joins)
    return replace(
        plan,
        joins=on_edge,
        clearance=min(map(edge.to_corner, on_edge)),
        kept_off=min(map(edge.to_stretch, on_edge)) if keep_off else None,
    )


def _checked(
    sides: Sequence[float],
    strips: Sequence[StripEnds],
    seam: float,
    finished_width: float,
    corners_deg: Sequence[float] | None,
) -> tuple[float, ...]:
    """Return the angles of the corners; ShapeError for what no binding can have."""
    if len(sides) < 3 or not all(0 < side < inf for side in sides):
        raise ShapeError("binding: give three trimmed sides or more, each longer than nothing")
    angles = (90.0,) * len(sides) if corners_deg is None else tuple(corners_deg)
    if len(angles) != len(sides):
        msg = f"binding: {len(sides)} sides have as many corners, not {len(angles)}"
        raise ShapeError(msg)
    if not all(0 < angle < 180 for angle in angles):
        raise ShapeError("binding: every corner must be between 0° and 180°, as the inside has it")
    if not (0 < seam < inf and 0 < finished_width < inf):
        raise ShapeError("binding: seam and finished width must be more than nothing")
    if not strips:
        raise ShapeError("binding: there are no strips to plan with; give one at least")
    for strip in strips:
        if not (0 < strip.length < inf and 0 < strip.width < inf):
            raise ShapeError("binding: every strip needs a length and a width")
        if max(abs(strip.start_slope_deg), abs(strip.end_slope_deg)) > _STEEPEST:
            msg = f"binding: an end sloping more than {_STEEPEST:g}° is cut off before it is used"
            raise ShapeError(msg)
    return angles


def _length(ring: Sequence[Joined]) -> float:
    return sum(one.length for one in ring)


def _rings(
    strips: Sequence[StripEnds], width: float, seam: float, needed: float
) -> tuple[tuple[Joined, ...], tuple[Joined, ...] | None]:
    """Return the longest ring, and the longest of the fewest strips that reach; None for no such.

    Rings of few strips are looked at first, since a store may hold strips by the thousand.
    """
    apart = _FEW
    while True:
        rings = best_rings(strips, width, seam, apart=apart)
        longest = max(rings.values(), key=_length, default=())
        reaching = [count for count, ring in rings.items() if _length(ring) >= needed - _NEAR]
        if not reaching:
            return longest, None
        if min(reaching) <= apart or apart > _MOST:
            return longest, rings[min(reaching)]
        apart *= 4


def _shortest_extra(strips: Sequence[StripEnds], width: float, seam: float, needed: float) -> float:
    """Return the length of the shortest strip with square ends that closes what is short.

    Square, since of all pieces that a rectangle of cloth gives a crossed one reaches furthest: both
    ends lose the width, where a slanted pair loses as much in the cutting and its allowances too.
    Its own seams lie so far apart that their allowances do not overlap.
    """
    apart = 2 * seam / math.cos(math.radians(45))
    found: list[float] = []
    for start_deg, end_deg in ((45.0, 45.0), (-45.0, -45.0), (45.0, -45.0)):
        extra = Joined(len(strips), 0.0, start_deg, end_deg)
        rings = best_rings(strips, width, seam, apart=0, needs=extra).values()
        lacks = needed - max(map(_length, rings), default=-inf)
        found.append(width + max(lacks, least_length(extra, width) + apart))
    return min(found)


class _Edge:
    """The trimmed edge as the binding passes it, and what joins keep off on it."""

    def __init__(
        self, sides: Sequence[float], extras: Sequence[float], keep_off: Sequence[Stretch]
    ) -> None:
        self._corners = list(accumulate(sides, initial=0.0))
        self._sides = sides
        self._extras = extras
        around = self._corners[-1]
        # Half of what a corner takes lies before it, half behind it, and the binding is counted
        # from corner 0 itself.
        self._begins = list(
            accumulate((s + e for s, e in zip(sides, extras, strict=True)), initial=0.0)
        )[:-1]
        self._stretches: list[Stretch] = []
        for low, high in keep_off:
            low, high = low % around, high if high == around else high % around
            self._stretches += [(low, high)] if low <= high else [(low, around), (0.0, high)]
        self.gaps = self._gaps()

    def _gaps(self) -> tuple[Gap, ...]:
        found: list[Gap] = []
        for begins, corner, side in zip(self._begins, self._corners, self._sides, strict=False):
            at = corner
            for low, high in sorted(self._stretches):
                if low < corner + side and high > corner:
                    if low > at:
                        found.append((at - corner + begins, low - corner + begins))
                    at = max(at, high)
            if at < corner + side:
                found.append((at - corner + begins, side + begins))
        if not found:
            raise ShapeError("binding: joins can keep off nothing that takes up the whole edge")
        return tuple(found)

    def at(self, along: float) -> float:
        """Return where on the edge a place along the binding is, from corner 0."""
        for begins, corner, side, extra in zip(
            self._begins, self._corners, self._sides, self._extras, strict=False
        ):
            if along <= begins + side + extra / 2 + _NEAR:
                return corner + min(max(along - begins, 0.0), side)
        return 0.0

    def along(self, at: float) -> float:
        """Return where along the binding a place on the edge is, given from corner 0."""
        at %= self._corners[-1]
        for begins, corner, side in zip(self._begins, self._corners, self._sides, strict=False):
            if at <= corner + side:
                return begins + at - corner
        return 0.0

    def to_corner(self, at: float) -> float:
        """Return the distance along the edge to the nearest corner."""
        return min(abs(at - corner) for corner in self._corners)

    def to_stretch(self, at: float) -> float:
        """Return the distance along the edge to the nearest stretch to keep off."""
        around = self._corners[-1]
        return min(
            max(0.0, low - place, place - high)
            for low, high in self._stretches
            for place in (at - around, at, at + around)
        )


def _limits(order: Order, needed: float, width: float) -> tuple[list[float], list[float]]:
    """Return the least and greatest lengths of the strips in order.

    A strip is not shortened to less than its width between its joins, where that can be helped.
    """
    most = [one.length for one, _ in order]
    sewable = [min(one.length, least_length(one, width) + width) for one, _ in order]
    bare = [least_length(one, width) for one, _ in order]
    least = next((each for each in (sewable, bare) if sum(each) <= needed), [0.0] * len(most))
    return least, most


def _best_order(
    ring: Sequence[Joined], edge: _Edge, needed: float, width: float, start: float | None
) -> tuple[Order, float]:
    """Return the order whose joins can lie furthest off, the first of several, and the margin."""
    best: tuple[Order, float] | None = None
    seen: set[tuple[tuple[float, float], ...]] = set()
    looked_at = None if len(ring) <= _ALL_ORDERS else max(1, _LOOKED_AT // len(ring))
    orders = islice(ring_orders(ring), looked_at)
    for order in orders:
        least, most = _limits(order, needed, width)
        alike = tuple(zip(least, most, strict=True))
        if alike in seen:
            continue
        seen.add(alike)
        beyond = None if best is None else best[1] + 1e-7
        if (margin := widest_margin(edge.gaps, needed, least, most, beyond, start)) is not None:
            best = order, margin
    assert best is not None, "a ring that reaches has an order, and with no margin a start"
    return best


def _ordered(
    plan: BindingPlan, order: Order, strips: Sequence[StripEnds], lengths: Sequence[float]
) -> BindingPlan:
    placed = []
    slopes = []
    for (one, backwards), length in zip(order, lengths, strict=True):
        strip = strips[one.strip]
        ends = [(strip.start_slope_deg, one.start_deg), (strip.end_slope_deg, one.end_deg)]
        if backwards:
            ends.reverse()
        recut = [
            None if abs(slope) < 1e-6 or abs(slope - join) < 1e-6 else join for slope, join in ends
        ]
        # With both ends alike, turning changes nothing.
        turned = backwards and strip.start_slope_deg != strip.end_slope_deg
        placed.append(PlacedStrip(one.strip, turned, recut[0], recut[1], length))
        slopes.append(ends[0][1])
    off = [max(0.0, one.length - length) for (one, _), length in zip(order, lengths, strict=True)]
    # What rounding leaves is nothing to cut off.
    taken_off = tuple(each if each > 1e-6 else 0.0 for each in off)
    return replace(plan, strips=tuple(placed), slopes_deg=tuple(slopes), taken_off=taken_off)

"""Pieced from two: where no scrap holds a piece, two parts sewn together might give it.

The piece is divided by a straight seam through its middle; each part gets the seam allowance along
it. Both parts must be of one fabric, keep the grain of the whole, and lie on scraps that the plan
leaves. Each layout is drawn by the packer and looked through by its verifier.
"""

import math
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from shapely import MultiPolygon, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from scrapstore.matching.forms import Answer, Need, ReadyStock, RoleRule, ScrapStock
from scrapstore.matching.patterns import fits_on, kind_on
from scrapstore.matching.screen import min_width
from scrapstore.matching.shares import Shares
from scrapstore.packing import Layout, PieceKind, Placement, fill, verify

__all__ = ["Pieced", "pieced_from_two"]

_SCRAPS = 6  # looked at for one need, the largest
_SECONDS = 0.1  # to find room for both parts on one scrap


@dataclass(frozen=True)
class Pieced:
    """One piece of a need that two parts give, sewn together before it is cut to shape.

    `parts` are the two cut outlines in the piece's own frame, seam allowance included; the seam
    runs at `seam_deg` there. `placements[i]` is part i on scrap `scrap_ids[i]`, in its grain frame;
    both may come from one scrap.
    """

    need: str
    scrap_ids: tuple[int, int]
    parts: tuple[Polygon, Polygon]
    placements: tuple[Placement, Placement]
    seam_deg: float


def pieced_from_two(
    answer: Answer,
    scraps: Sequence[ScrapStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    seam_allowance: float,
    *,
    ready: Sequence[ReadyStock] = (),
) -> tuple[Pieced, ...]:
    """Return, for each need that stays short, one way to piece it from two, if one was found.

    The largest scraps that the plan leaves are tried; `seam_allowance` in inches. A single piece
    that the role's conditions would not let count is not offered.
    """
    shares = Shares(answer, scraps, ready, needs, roles)
    used = {use.scrap_id for use in answer.scrap_uses}
    short = {supply.need for supply in answer.supplies if supply.short}
    found = []
    for need in needs:
        role = roles[need.role]
        if need.name not in short or (role.same_fabric_sets or 1) > 1:
            continue
        left = [
            s for s in scraps
            if s.id not in used and role.allows(s) and shares.left(role, s) >= 1
        ]  # fmt: skip
        left.sort(key=lambda s: (-s.region.area, s.id))
        if any(fits_on(need, scrap) for scrap in left[:_SCRAPS]):
            continue  # what is in the way is a condition, not want of room
        by_cloth: dict[str, list[ScrapStock]] = defaultdict(list)
        for scrap in left[:_SCRAPS]:
            by_cloth[scrap.cloth_key].append(scrap)
        ways = (
            way
            for seam_deg, parts in _halves(need.outline, seam_allowance)
            for cloths in by_cloth.values()
            for way in _ways(need, seam_deg, parts, cloths)
        )
        first = next(ways, None)
        if first is not None:
            found.append(first)
    return tuple(found)


def _halves(outline: Polygon, allowance: float) -> Iterator[tuple[float, tuple[Polygon, Polygon]]]:
    """Yield seams through the middle, across the piece's length first, and the two parts."""
    around = outline.minimum_rotated_rectangle
    assert isinstance(around, Polygon)
    corners = list(around.exterior.coords)
    sides = sorted(
        ((math.dist(a, b), math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])))
         for a, b in pairwise(corners[:3])),
    )  # fmt: skip
    middle = around.centroid
    far = 4 * max(outline.bounds[2] - outline.bounds[0], outline.bounds[3] - outline.bounds[1])
    for _, seam_deg in sides:
        halves = []
        for side in (1, -1):
            # The half plane on one side of the seam, and the allowance beyond it.
            low, high = sorted((-side * allowance, side * far))
            half = box(-far, low, far, high)
            half = affinity.rotate(half, seam_deg, origin=(0, 0))
            half = affinity.translate(half, middle.x, middle.y)
            halves.append(outline.intersection(half))
        one, other = halves
        if isinstance(one, Polygon) and isinstance(other, Polygon):
            yield seam_deg % 180, (one, other)


def _ways(
    need: Need, seam_deg: float, parts: tuple[Polygon, Polygon], cloths: Sequence[ScrapStock]
) -> Iterator[Pieced]:
    """Yield how both parts can be had from scraps of one fabric."""
    on: tuple[list[tuple[int, Placement]], ...] = ([], [])
    for scrap in cloths:
        whole = kind_on(need, scrap)
        if whole is None:
            continue
        kinds = [
            replace(whole, name=f"part {number}", outline=part, wanted=1, value=1.0)
            for number, part in enumerate(parts)
        ]
        both = _packed(scrap.region, kinds)
        if len(both) == 2:
            placements = both["part 0"], both["part 1"]
            yield Pieced(need.name, (scrap.id, scrap.id), parts, placements, seam_deg)
        for number, kind in enumerate(kinds):
            placement = both.get(kind.name) or _packed(scrap.region, [kind]).get(kind.name)
            if placement is not None:
                on[number].append((scrap.id, placement))
    for one_id, one in on[0]:
        for other_id, other in on[1]:
            if one_id != other_id:
                yield Pieced(need.name, (one_id, other_id), parts, (one, other), seam_deg)


def _packed(region: Polygon | MultiPolygon, kinds: Sequence[PieceKind]) -> dict[str, Placement]:
    """Return where each kind lies on the region, those that find room; checked."""
    if _too_small(region, kinds):
        return {}
    layout = fill(region, kinds, seconds=_SECONDS, rows_only=len(kinds) == 1)
    checked = Layout(layout.placements, layout.value, math.inf)
    if verify(region, kinds, checked):
        return {}
    return {placement.kind: placement for placement in layout.placements}


def _too_small(region: BaseGeometry, kinds: Sequence[PieceKind]) -> bool:
    assert isinstance(region, Polygon | MultiPolygon)
    least = min(kinds, key=lambda kind: kind.outline.area).outline
    return region.area < least.area or min_width(region) < min_width(least) - 1e-9

"""What "why short" says, applied to the stock and the piece list, and matched again."""

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import pairwise

from shapely import MultiPolygon, Polygon, affinity, box, get_parts, union_all
from shapely.geometry.base import BaseGeometry

from scrapstore.matching import (
    Answer,
    HelpfulChange,
    Miss,
    Need,
    ReadyStock,
    RoleRule,
    ScrapStock,
    helpful_changes,
    match,
    nearest_misses,
)
from tests.support.stock import random_stock

QUARTER = box(0, 0, 17.5, 20)
TURNS = tuple(float(turn) for turn in range(0, 360, 15))
POINTED = Polygon([(0, 0), (3, 0), (0, 3)])
TRIMMED = Polygon([(0, 0), (2.6, 0), (2.6, 0.4), (0.4, 2.6), (0, 2.6)])
Case = tuple[list[ScrapStock], list[ReadyStock], list[Need], dict[str, RoleRule]]


def random_case(seed: int) -> Case:
    """Return a store in which something is short as a rule; some scraps turned, tips pointed."""
    scraps, ready, needs, roles = random_stock(seed, 9)
    draw = random.Random(seed)
    scraps = [
        replace(s, region=affinity.rotate(s.region, draw.choice((0, 0, 90, 30, 45)), origin=(0, 0)))
        for s in scraps
    ]
    needs = [
        replace(n, outline=POINTED, sews_as=(POINTED, TRIMMED)) if n.name == "corner" else n
        for n in needs
    ]
    needs[0] = replace(needs[0], needs_grain=draw.random() < 0.3)
    return scraps, ready, needs, roles


def matched(case: Case, effort: float) -> Answer:
    scraps, ready, needs, roles = case
    return match(scraps, ready, needs, roles, seconds_per_scrap=0.05, effort=effort)


def claims(case: Case, answer: Answer) -> Iterator[tuple[str, Case, int]]:
    """Yield each claim in words, the case with the claim applied, and how many more it promises."""
    scraps, ready, needs, roles = case
    for miss in nearest_misses(answer, scraps, needs, roles, ready=ready):
        yield from _applied_miss(miss, case)
    quarters = dict.fromkeys(roles, QUARTER)
    for change in helpful_changes(answer, scraps, needs, roles, ready=ready, fat_quarters=quarters):
        yield f"{change.role}: {change.what}", _applied_change(change, case), change.more


def _applied_miss(miss: Miss, case: Case) -> Iterator[tuple[str, Case, int]]:
    scraps, ready, needs, roles = case
    (scrap,) = (s for s in scraps if s.id == miss.scrap_id)
    (need,) = (n for n in needs if n.name == miss.need)
    rule = roles[need.role]

    def with_scrap(other: ScrapStock) -> Case:
        return [other if s.id == miss.scrap_id else s for s in scraps], ready, needs, roles

    def with_rule(other: RoleRule) -> Case:
        return scraps, ready, needs, roles | {need.role: other}

    def with_needs(of_role: list[Need]) -> Case:
        return scraps, ready, of_role, roles

    says = f"{miss.need}: scrap {miss.scrap_id} {miss.reason}"
    if miss.lacking is not None:
        region = larger(scrap.region, miss)
        yield f"{says} {miss.lacking}", with_scrap(replace(scrap, region=region)), 1
    for grain in miss.grain_deg:
        turned = affinity.rotate(scrap.region, -grain, origin=(0, 0))
        known = replace(scrap, region=turned, grain_known=True)
        yield f"{says} at {grain}", with_scrap(known), 1
    if miss.reason == "share":
        yield says, with_rule(replace(rule, max_per_fabric=None)), 1
    if miss.reason == "set":
        yield says, with_rule(replace(rule, same_fabric_sets=None)), 1
    if miss.off_grain:
        off = replace(need, rotations_deg=TURNS, needs_grain=False, one_way=False)
        yield f"{says} off grain", with_needs([off if n is need else n for n in needs]), 1
    if miss.trimmed:
        small = replace(need, outline=min(need.sews_as, key=lambda o: o.area))
        yield f"{says} trimmed", with_needs([small if n is need else n for n in needs]), 1


def larger(region: Polygon | MultiPolygon, miss: Miss) -> MultiPolygon:
    """Return the scrap larger by what lacks; it must be convex, so that hulls draw it out."""
    assert region.convex_hull.area < region.area + 1e-9
    assert miss.lacking is not None
    around = region.minimum_rotated_rectangle
    assert isinstance(around, Polygon)
    sides = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(list(around.exterior.coords)[:3])]
    sides.sort(key=lambda side: math.hypot(*side))
    chosen = {"narrow": sides[:1], "short": sides[1:], "small": sides}[miss.reason]
    shape: BaseGeometry = region
    for x, y in chosen:
        far = miss.lacking / math.hypot(x, y)
        shape = union_all([shape, affinity.translate(shape, x * far, y * far)]).convex_hull
    parts = get_parts(shape.buffer(1e-6, join_style="mitre")).tolist()
    return MultiPolygon([part for part in parts if isinstance(part, Polygon)])


def _applied_change(change: HelpfulChange, case: Case) -> Case:
    scraps, ready, needs, roles = case
    rule = roles[change.role]

    def with_needs(altered: Sequence[Need]) -> Case:
        return scraps, ready, list(altered), roles

    what = change.what
    if what == "one fat quarter bought":
        cloth = ScrapStock(
            id=10_000, fabric=min(rule.fabrics, default=None), families=rule.families,
            value=min(rule.values, default=None), region=QUARTER,
        )  # fmt: skip
        return [*scraps, cloth], ready, needs, roles
    if what == "pieces laid off the grain":
        return with_needs([
            replace(n, rotations_deg=TURNS, needs_grain=False, one_way=False)
            if n.role == change.role else n for n in needs
        ])  # fmt: skip
    if what == "tips trimmed":
        return with_needs([
            replace(n, outline=min(n.sews_as, key=lambda o: o.area))
            if n.role == change.role and n.sews_as else n for n in needs
        ])  # fmt: skip
    if what == "any value allowed":
        other = replace(rule, values=frozenset())
    elif what.startswith("sets of"):
        other = replace(rule, same_fabric_sets=None)
    else:
        family = what.removesuffix(" allowed")
        assert family != what, what
        other = replace(rule, families=rule.families | {family})
    return scraps, ready, needs, roles | {change.role: other}

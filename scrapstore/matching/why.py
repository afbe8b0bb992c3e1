"""Why pieces stay short: scraps that only just will not do, and the one change that helps most."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely import MultiPolygon, Polygon, box

from scrapstore.matching.forms import Answer, Need, RoleRule, ScrapStock
from scrapstore.matching.match import match
from scrapstore.matching.patterns import LayAll, fits_on, lay_all
from scrapstore.matching.screen import min_width, min_widths

__all__ = ["Change", "Miss", "helpful_changes", "nearest_misses"]

_STEP = 1 / 8  # inches: a miss is told to the ruler's mark
_FURTHEST = 2.0  # inches: what lacks more is no near miss
_TURNS = tuple(float(turn) for turn in range(0, 360, 15))
_LOOKS = 40  # scraps looked at for one change
_EFFORT = 1.0  # and seconds of work that go into better patterns for it
FAT_QUARTER = (22.0, 18.0)  # inches, lengthwise grain along the second side or the first


@dataclass(frozen=True)
class Miss:
    """A scrap that keeps the conditions of a need but does not hold the piece.

    It would if it were `lacking` inches larger across (to the next eighth; None: more than two).
    `trimmed` and `off_grain` tell that the piece fits with its tips trimmed, or laid at another
    angle to the grain.
    """

    need: str
    scrap_id: int
    lacking: float | None
    trimmed: bool
    off_grain: bool


@dataclass(frozen=True)
class Change:
    """One condition let go of: `what` in words, and how many more pieces a plan then covered."""

    role: str
    what: str
    more: int


def nearest_misses(
    answer: Answer,
    scraps: Sequence[ScrapStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    *,
    most: int = 3,
) -> tuple[Miss, ...]:
    """Return, for each need that stays short, up to `most` unused scraps that lack least."""
    used = {use.scrap_id for use in answer.scrap_uses}
    short = {supply.need for supply in answer.supplies if supply.short}
    found = []
    for need in needs:
        if need.name not in short:
            continue
        offered = [
            s for s in scraps
            if s.id not in used and roles[need.role].allows(s) and not s.region.is_empty
        ]  # fmt: skip
        widths = min_widths(np.array([s.region for s in offered], dtype=object))
        area = np.array([s.region.area for s in offered])
        lack = np.maximum(min_width(need.outline) - widths, 0)
        lack += np.maximum(need.outline.area**0.5 - np.sqrt(area), 0)
        own: list[Miss] = []
        for at in np.lexsort((np.arange(len(offered)), -area, lack))[: 4 * most]:
            miss = _miss(need, offered[int(at)])
            if miss is not None:
                own.append(miss)
            if len(own) == most:
                break
        found += sorted(own, key=lambda m: (m.lacking or _FURTHEST + 1, m.scrap_id))
    return tuple(found)


def helpful_changes(
    answer: Answer,
    scraps: Sequence[ScrapStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    *,
    lay_all: LayAll = lay_all,
) -> tuple[Change, ...]:
    """Return the single changes that cover more of what is short, the most helpful first.

    Each is tried on the scraps that the plan leaves, up to forty of them, so it may help more than
    is said here; it does not help less.
    """
    used = {use.scrap_id for use in answer.scrap_uses}
    left = [scrap for scrap in scraps if scrap.id not in used]
    cloth_of = {scrap.id: scrap.cloth_key for scrap in scraps}
    lacking = {supply.need: supply.short for supply in answer.supplies}
    found = []
    for role in roles.values():
        own = [
            replace(need, wanted=lacking[need.name])
            for need in needs
            if need.role == role.name and lacking[need.name]
        ]
        # Sets begun in the plan could be finished otherwise; that is not gone into here.
        free = replace(role, min_fabrics=None)
        begun: set[str] = set()
        if role.max_per_fabric:
            # What the plan has of a fabric counts; how much is left of its share is not gone into.
            names = {need.name for need in needs if need.role == role.name}
            begun = {
                cloth_of[use.scrap_id] for use in answer.scrap_uses if names & use.counts.keys()
            }
        for what, stock, changed, rule in _changes(own, left, free) if own else ():
            offered = [scrap for scrap in stock if scrap.cloth_key not in begun]
            tried = match(
                offered, [], changed, {role.name: rule}, most_looks=_LOOKS, effort=_EFFORT,
                lay_all=lay_all,
            )  # fmt: skip
            if tried.together.covered:
                found.append(Change(role.name, what, tried.together.covered))
    return tuple(sorted(found, key=lambda c: (-c.more, c.role, c.what)))


def _changes(
    needs: Sequence[Need], left: Sequence[ScrapStock], role: RoleRule
) -> Iterator[tuple[str, Sequence[ScrapStock], Sequence[Need], RoleRule]]:
    if role.families:
        area: dict[str, float] = {}
        for scrap in left:
            for family in scrap.families - role.families:
                area[family] = area.get(family, 0.0) + scrap.region.area
        for family in sorted(area, key=lambda f: (-area[f], f))[:3]:
            yield f"{family} allowed", left, needs, replace(role, families=role.families | {family})
    if role.same_fabric_sets:
        what = f"sets of {role.same_fabric_sets} no longer from one fabric"
        yield what, left, needs, replace(role, same_fabric_sets=None)
    if role.values:
        yield "any value allowed", left, needs, replace(role, values=frozenset())
    yield "pieces laid off the grain", left, [_off_grain(need) for need in needs], role
    trimmed = [_trimmed(need) for need in needs]
    if any(a.outline is not b.outline for a, b in zip(trimmed, needs, strict=True)):
        yield "tips trimmed", left, trimmed, role
    bought = ScrapStock(
        id=-1,
        fabric=min(role.fabrics, default="a fat quarter"),
        families=role.families,
        value=min(role.values, default=None),
        region=box(0, 0, *FAT_QUARTER),
    )
    yield "one fat quarter bought", [bought], needs, role


def _off_grain(need: Need) -> Need:
    return replace(need, rotations_deg=_TURNS, needs_grain=False, one_way=False)


def _trimmed(need: Need) -> Need:
    smaller = [o for o in need.sews_as if o.area < need.outline.area - 1e-9]
    return replace(need, outline=min(smaller, key=lambda o: o.area)) if smaller else need


def _miss(need: Need, scrap: ScrapStock) -> Miss | None:
    """Return what keeps the piece from lying on the scrap; None when it does lie there."""
    if fits_on(need, scrap):
        return None
    steps = int(_FURTHEST / _STEP)
    low, high = 0, steps + 1
    while high - low > 1:
        middle = (low + high) // 2
        grown = scrap.region.buffer(middle * _STEP / 2, join_style="mitre", mitre_limit=2.0)
        assert isinstance(grown, Polygon | MultiPolygon)
        if fits_on(need, replace(scrap, region=grown)):
            high = middle
        else:
            low = middle
    trimmed = _trimmed(need)
    miss = Miss(
        need=need.name,
        scrap_id=scrap.id,
        lacking=high * _STEP if high <= steps else None,
        trimmed=trimmed is not need and fits_on(trimmed, scrap),
        off_grain=fits_on(_off_grain(need), scrap),
    )
    return miss if miss.lacking is not None or miss.trimmed or miss.off_grain else None

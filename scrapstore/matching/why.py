"""Why pieces stay short: scraps that only just will not do, and the one change that helps most."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final, Literal

import numpy as np
from shapely import MultiPolygon, Polygon, affinity

from scrapstore.matching.forms import Answer, Need, ReadyStock, RoleRule, ScrapStock
from scrapstore.matching.match import match
from scrapstore.matching.patterns import PackAll, fits_on, pack_all
from scrapstore.matching.screen import min_width, min_widths
from scrapstore.matching.shares import Shares
from scrapstore.matching.stretch import grown, long_direction_deg

__all__ = ["HelpfulChange", "Miss", "Reason", "helpful_changes", "nearest_misses"]

_STEP = 1 / 8  # inches: a miss is rounded to the ruler's mark
_FURTHEST = 2.0  # inches: what lacks more is no near miss
_TURNS = tuple(float(turn) for turn in range(0, 360, 15))
_LOOKS = 40  # scraps looked at for one change
_OFF_GRAIN, _TRIMMED = "pieces laid off the grain", "tips trimmed"
_EFFORT = 1.0  # and seconds of work that go into better patterns for it

Reason = Literal["narrow", "short", "small", "shape", "grain", "share", "set"]
"""Why a scrap does not give a piece: `lacking` inches across its length, along it, or both ways;
more than that; its grain is not known; its fabric has given all that one fabric may; it does not
give a whole set."""

_ORDER: Final[Mapping[Reason, int]] = {"grain": 1, "share": 2, "set": 2, "shape": 3}


@dataclass(frozen=True)
class Miss:
    """A scrap that keeps the conditions on cloth but does not give a piece of the need, and why.

    `lacking` is rounded up to an eighth of an inch; None where size is not the reason, or more than
    two inches lack. `trimmed` and `off_grain` say that the piece fits with its tips trimmed, or
    placed at another angle to the grain. Where the grain is not known, the piece would fit if the
    lengthwise grain lay at one of `grain_deg`, degrees in the scrap's own frame.
    """

    need: str
    scrap_id: int
    lacking: float | None
    trimmed: bool
    off_grain: bool
    reason: Reason = "small"
    grain_deg: tuple[float, ...] = ()


@dataclass(frozen=True)
class HelpfulChange:
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
    ready: Sequence[ReadyStock] = (),
    most: int = 3,
) -> tuple[Miss, ...]:
    """Return, for each need that stays short, up to `most` unused scraps that lack least.

    What a miss says holds in a new match: with so much more cloth, its grain known, or the
    condition let go of, the scrap gives a piece that counts.
    """
    used = {use.scrap_id for use in answer.scrap_uses}
    short = {supply.need: supply.short for supply in answer.supplies if supply.short}
    shares = Shares(answer, scraps, ready, needs, roles)
    found = []
    for need in needs:
        role = roles[need.role]
        if short.get(need.name, 0) < (role.same_fabric_sets or 1):
            continue
        offered = [
            s for s in scraps if s.id not in used and role.allows(s) and not s.region.is_empty
        ]
        widths = min_widths(np.array([s.region for s in offered], dtype=object))
        area = np.array([s.region.area for s in offered])
        lack = np.maximum(min_width(need.outline) - widths, 0)
        lack += np.maximum(need.outline.area**0.5 - np.sqrt(area), 0)
        own: list[Miss] = []
        for at in np.lexsort((np.arange(len(offered)), -area, lack))[: 4 * most]:
            scrap = offered[int(at)]
            miss = _miss(need, scrap, role.same_fabric_sets or 1, shares.left(role, scrap))
            if miss is not None:
                own.append(miss)
        own.sort(key=lambda m: (_ORDER.get(m.reason, 0), m.lacking or 0.0, m.scrap_id))
        found += own[:most]
    return tuple(found)


def helpful_changes(
    answer: Answer,
    scraps: Sequence[ScrapStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    *,
    ready: Sequence[ReadyStock] = (),
    fat_quarters: Mapping[str, Polygon] | None = None,
    pack_all: PackAll = pack_all,
) -> tuple[HelpfulChange, ...]:
    """Return the single changes that cover more of what is short, the most helpful first.

    Each is tried on the scraps that the plan leaves, up to forty of them, so it may help more than
    is said here; it does not help less. `fat_quarters` says for each role what can be used of a fat
    quarter bought for it, its lengthwise grain at 0°; without, none is tried.
    """
    used = {use.scrap_id for use in answer.scrap_uses}
    left = [scrap for scrap in scraps if scrap.id not in used]
    shares = Shares(answer, scraps, ready, needs, roles)
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
        changes = _changes(own, left, free, (fat_quarters or {}).get(role.name)) if own else ()
        for what, stock, changed, rule in changes:
            # What the plan has of a fabric counts; how much is left of its share is not gone into.
            offered = [scrap for scrap in stock if not shares.begun(role, scrap)]
            tried = match(
                offered, [], changed, {role.name: rule}, aims=(), most_looks=_LOOKS,
                effort=_EFFORT, pack_all=pack_all,
            )  # fmt: skip
            if not tried.together.covered:
                continue
            # Matched anew, larger pieces may take the place of more: what is promised is what a
            # match of all that is cut then, and of the whole piece list, covers more.
            cut = used | {use.scrap_id for use in tried.scrap_uses}
            together = {scrap.id: scrap for scrap in (*scraps, *stock) if scrap.id in cut}
            altered = {need.name: need for need in changed}
            whole = [
                replace(altered[need.name], wanted=need.wanted) if need.name in altered
                else _as_changed(need, what) if need.role == role.name
                else need
                for need in needs
            ]  # fmt: skip
            again = match(
                list(together.values()), ready, whole,
                {**roles, role.name: replace(rule, min_fabrics=role.min_fabrics)},
                aims=(), effort=_EFFORT, pack_all=pack_all,
            )  # fmt: skip
            more = min(tried.together.covered, again.together.covered - answer.together.covered)
            if more > 0:
                found.append(HelpfulChange(role.name, what, more))
    return tuple(sorted(found, key=lambda c: (-c.more, c.role, c.what)))


def _changes(
    needs: Sequence[Need],
    left: Sequence[ScrapStock],
    role: RoleRule,
    fat_quarter: Polygon | None,
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
    if role.scraps:
        yield "other scraps allowed", left, needs, replace(role, scraps=frozenset())
    if role.values:
        yield "any value allowed", left, needs, replace(role, values=frozenset())
    yield _OFF_GRAIN, left, [_off_grain(need) for need in needs], role
    trimmed = [_trimmed(need) for need in needs]
    if any(a.outline is not b.outline for a, b in zip(trimmed, needs, strict=True)):
        yield _TRIMMED, left, trimmed, role
    if fat_quarter is not None:
        bought = ScrapStock(
            id=-1,
            fabric=min(role.fabrics, default="a fat quarter"),
            families=role.families,
            value=min(role.values, default=None),
            fibre=min(role.fibres, default=None),
            region=fat_quarter,
        )
        yield "one fat quarter bought", [bought], needs, role


def _as_changed(need: Need, what: str) -> Need:
    """Return a need of the role that is not short, under a change that touches all its pieces."""
    if what == _OFF_GRAIN:
        return _off_grain(need)
    return _trimmed(need) if what == _TRIMMED else need


def _off_grain(need: Need) -> Need:
    return replace(need, rotations_deg=_TURNS, needs_grain=False, one_way=False)


def _trimmed(need: Need) -> Need:
    smaller = [o for o in need.sews_as if o.area < need.outline.area - 1e-9]
    return replace(need, outline=min(smaller, key=lambda o: o.area)) if smaller else need


def _miss(need: Need, scrap: ScrapStock, size: int, left: float) -> Miss | None:
    """Return what keeps `size` pieces of the need from counting; None when nothing is found."""
    if fits_on(need, scrap):
        if (left < 1) == (size > 1):
            return None  # no condition is in the way, or two are
        reason: Reason = "set" if size > 1 else "share"
        return Miss(need.name, scrap.id, None, trimmed=False, off_grain=False, reason=reason)
    # More cloth for one piece makes no set, and none helps where the share is used up.
    if size > 1 or left < 1:
        return None
    trimmed = _trimmed(need)
    reason = "grain"
    lacking: float | None = None
    grain_deg: tuple[float, ...] = ()
    if need.needs_grain and not scrap.grain_known:
        grain_deg = _grains(need, scrap)
    else:
        reason, lacking = _lack(need, scrap)
    miss = Miss(
        need=need.name,
        scrap_id=scrap.id,
        lacking=lacking,
        trimmed=trimmed is not need and fits_on(trimmed, scrap),
        off_grain=fits_on(_off_grain(need), scrap),
        reason=reason,
        grain_deg=grain_deg,
    )
    said = lacking is not None or grain_deg or miss.trimmed or miss.off_grain
    return miss if said else None


def _grains(need: Need, scrap: ScrapStock) -> tuple[float, ...]:
    """Return at which of 0° and 90° the lengthwise grain of a scrap must lie for the piece."""
    fits = []
    for grain in (0.0, 90.0):
        turned = affinity.rotate(scrap.region, -grain, origin=(0, 0))
        if fits_on(need, replace(scrap, region=turned, grain_known=True)):
            fits.append(grain)
    return tuple(fits)


def _lack(need: Need, scrap: ScrapStock) -> tuple[Reason, float | None]:
    """Return in which way the scrap lacks least for the piece, and how many inches."""
    along = long_direction_deg(scrap.region)
    across = _least(need, scrap, (along + 90,))
    length = _least(need, scrap, (along,))
    if across is not None and (length is None or across <= length):
        return "narrow", across
    if length is not None:
        return "short", length
    both = _least(need, scrap, (along, along + 90))
    return "shape" if both is None else "small", both


def _least(need: Need, scrap: ScrapStock, directions_deg: Sequence[float]) -> float | None:
    """Return how far the scrap must be drawn out in these directions, to the next eighth."""
    low, high = 0, int(_FURTHEST / _STEP) + 1
    while high - low > 1:
        middle = (low + high) // 2
        region: Polygon | MultiPolygon = scrap.region
        for direction in directions_deg:
            region = grown(region, direction, middle * _STEP)
        if fits_on(need, replace(scrap, region=region)):
            high = middle
        else:
            low = middle
    return high * _STEP if high * _STEP <= _FURTHEST else None

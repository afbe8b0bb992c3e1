"""One list for the shop: fabric of several projects, and what finishing them takes beside it."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Final, Literal

from shapely import box

from scrapstore.finishing import FinishNeeds, strips_across
from scrapstore.planning.allocate import Shortage, cloth_of
from scrapstore.planning.notions import batting_for, form_for, zip_for
from scrapstore.planning.purchases import Length, Shop
from scrapstore.planning.result import MatchResult
from scrapstore.planning.spoken_for import left_after
from scrapstore.planning.strip_supply import StripLength, lengths_for_piece, lengths_for_strips
from scrapstore.store import BindingStrip, Notion, NotionKind, Yardage
from scrapstore.yardage import StripPiece

__all__ = [
    "FabricLine",
    "FinishLine",
    "Here",
    "RoleShare",
    "ShoppingFor",
    "ShoppingList",
    "shopping_list",
]

_PANEL_SEAM: Final = 0.5
"""Inches that each of two panels of a backing loses to their seam: common practice."""
_SAVED: Final = 1e-6
_BIAS_SPARE: Final = 3.0
"""Inches added to the side of a square that bias strips are cut from: common practice."""

FinishKind = Literal["batting", "backing", "binding", "form", "zip"]


@dataclass(frozen=True)
class ShoppingFor:
    """A project on the list by its name; `plan` where it is a kept one.

    `bound`: the strips of its binding are set aside for it, and reach.
    """

    name: str
    result: MatchResult
    needs: FinishNeeds
    plan: str | None = None
    bound: bool = False


@dataclass(frozen=True)
class RoleShare:
    """What one role of one project wants from yardage; `kept` with sheets that do not change."""

    project: str
    shortage: Shortage
    kept: bool = False

    @property
    def across(self) -> float:
        """Inches of strips across one fabric; 0 where one length is not what is bought.

        A plan that is not kept may do without its precuts.
        """
        one = self.shortage.purchases[0]
        if self.shortage.fabrics_to_buy > 1 or one.plan.too_long:
            return 0.0
        if one.instead is not None:
            return 0.0 if self.kept else one.instead.used
        return 0.0 if one.plan.along_grain else one.plan.length


@dataclass(frozen=True)
class FabricLine:
    """Fabric to buy for one role; or for several that take less from one `together`."""

    parts: tuple[RoleShare, ...]
    together: Length | None = None


@dataclass(frozen=True)
class FinishLine:
    """What finishing one project takes: `size` in inches, as `FinishNeeds` has it.

    `length` is what that is off the bolt, `panels` how many pieces are sewn side by side for it;
    of a binding `strips` are to be cut, and `on_hand` inches of it are in the store, joins taken
    off. `have` is what of the store will do: batting, in two pieces perhaps, a form, a zip.
    `lengths` are those in the store that backing or binding could be cut from instead, least first.
    """

    project: str
    kind: FinishKind
    size: tuple[float, ...]
    length: Length | None = None
    panels: int = 1
    strips: int = 0
    on_hand: float = 0.0
    bias: bool = False
    have: tuple[Notion, ...] = ()
    lengths: tuple[StripLength, ...] = ()

    @property
    def length_ids(self) -> list[int]:
        """The numbers of those lengths."""
        return [one.yardage.id for one in self.lengths]

    @property
    def have_ids(self) -> list[int]:
        """The numbers of what the store has."""
        return [one.id for one in self.have]

    @property
    def buy(self) -> bool:
        """Whether any of it is to be bought."""
        return not self.have and (self.kind != "binding" or self.length is not None)


@dataclass(frozen=True)
class Here:
    """A length in the store that would do for what a kept plan says to buy."""

    project: str
    role: str
    yardage: Yardage


@dataclass(frozen=True)
class ShoppingList:
    """What to buy for `wanted`, margins as the `shop` has them.

    `here` are lengths that came since a plan was kept, perhaps for it.
    """

    wanted: tuple[ShoppingFor, ...]
    shop: Shop
    fabrics: tuple[FabricLine, ...]
    finishing: tuple[FinishLine, ...]
    here: tuple[Here, ...] = ()

    @property
    def price(self) -> float | None:
        """What all fabric costs; None without prices, or where a fabric must be wider."""
        inch = self.shop.price_inch
        if inch is None:
            return None
        total = 0.0
        for line in self.fabrics:
            bought = [one for part in line.parts for one in part.shortage.purchases]
            if any(one.plan.too_long for one in bought):
                return None
            total += _cost(line, self.shop)
        lengths = [line.length for line in self.finishing if line.length]
        return total + sum(self.shop.inches(length) * inch for length in lengths)


def shopping_list(
    wanted: Sequence[ShoppingFor],
    shop: Shop,
    lengths: Sequence[Yardage] = (),
    strips: Sequence[BindingStrip] = (),
    notions: Sequence[Notion] = (),
) -> ShoppingList:
    """Return the list for `wanted`, in their order.

    `lengths`, binding `strips` and `notions` are those in the store that are available. What roles
    of several projects take of one fabric is bought together where that is less.
    """
    parts = [
        RoleShare(one.name, shortage, kept=one.plan is not None)
        for one in wanted
        for shortage in one.result.shortages
        if shortage.buy
    ]
    groups: dict[object, list[RoleShare]] = {}
    for number, part in enumerate(parts):
        groups.setdefault(_cloth_key(part) or number, []).append(part)
    fabrics = [line for group in groups.values() for line in _lines(group, shop)]
    left = list(strips)
    free = {one.id: one for one in notions}
    finishing: list[FinishLine] = []
    unkept = [one.result for one in wanted if one.plan is None]
    not_spoken_for = left_after(unkept, (), (), lengths)[2]
    for one in wanted:
        finishing += _finishing(one, shop, not_spoken_for, left, free)
    return ShoppingList(
        tuple(wanted), shop, tuple(fabrics), tuple(finishing), tuple(_here(wanted, lengths))
    )


def _cloth_key(part: RoleShare) -> object | None:
    """Return what parts of one cloth have in common; None where one length is not enough.

    A fabric that is named alone is one cloth whatever it is for; else the roles are called alike
    and ask for the same. Only strips across the fabric can follow one another on one length.
    """
    rule = part.shortage.rule
    if not part.across or part.shortage.other_than or rule.scraps:
        return None
    asks = rule.fabrics, rule.families, rule.values, rule.fibres
    role = "" if len(rule.fabrics) == 1 else part.shortage.role
    # Half of it for a fat quarter: a length has the whole width.
    plan = part.shortage.plan
    return role, asks, plan.usable_width * (1 if plan.bought_as == "length" else 2)


def _lines(group: Sequence[RoleShare], shop: Shop) -> list[FabricLine]:
    """Return what to buy of one cloth: two lines become one, those that save most first."""
    lines = [FabricLine((part,)) for part in group]
    while len(lines) > 1:
        pairs = [
            (_cost(one, shop) + _cost(other, shop) - _cost(both, shop), one, other, both)
            for one, other in combinations(lines, 2)
            for both in [_together((*one.parts, *other.parts), shop)]
        ]
        saved, one, other, both = max(pairs, key=lambda pair: pair[0])
        if saved < _SAVED:
            break
        lines = [both if line is one else line for line in lines if line is not other]
    return lines


def _together(parts: tuple[RoleShare, ...], shop: Shop) -> FabricLine:
    return FabricLine(parts, shop.length(math.fsum(part.across for part in parts)))


def _cost(line: FabricLine, shop: Shop) -> float:
    """Return what a line costs, as `Shop.cost` has it."""
    if line.together is not None:
        return shop.inches(line.together) * (1.0 if shop.price_inch is None else shop.price_inch)
    return shop.cost([one for part in line.parts for one in part.shortage.purchases])


def _finishing(
    wanted: ShoppingFor,
    shop: Shop,
    lengths: Sequence[Yardage],
    strips: list[BindingStrip],
    notions: dict[int, Notion],
) -> Iterator[FinishLine]:
    needs, name = wanted.needs, wanted.name
    width = wanted.result.project.usable_width
    if needs.batting:
        yield FinishLine(
            name, "batting", needs.batting, have=_have("batting", needs.batting, notions)
        )
    if needs.backing:
        yield replace(
            _backing(name, needs.backing, width, shop),
            lengths=lengths_for_piece(lengths, *needs.backing, width, shop),
        )
    if needs.binding_length and needs.strip_width:
        size = (needs.binding_length, needs.strip_width)
        if wanted.bound:
            yield FinishLine(name, "binding", size, on_hand=needs.binding_length)
        else:
            yield _binding(name, needs, width, shop, lengths, strips)
    if needs.form:
        yield FinishLine(name, "form", needs.form, have=_have("form", needs.form, notions))
    if needs.zip_length:
        long = (needs.zip_length,)
        yield FinishLine(name, "zip", long, have=_have("zip", long, notions))


def _have(
    kind: NotionKind, size: tuple[float, ...], notions: dict[int, Notion]
) -> tuple[Notion, ...]:
    """Return what of the store will do, as `finish` says it, and count it off."""
    own = [one for one in notions.values() if one.kind == kind and one.count]
    if kind == "batting":
        found = batting_for(own, (size[0], size[1]))
    else:
        one = form_for(own, size) if kind == "form" else zip_for(own, size[0])
        found = () if one is None else (one,)
    for one in found:
        notions[one.id] = replace(notions[one.id], count=notions[one.id].count - 1)
    return found


def _backing(name: str, size: tuple[float, float], width: float, shop: Shop) -> FinishLine:
    """Return the length for one piece; in panels side by side where the fabric is narrower."""
    ways = []
    for across, along in (size, size[::-1]):
        panels = 1
        while panels * width - 2 * (panels - 1) * _PANEL_SEAM < across - 1e-9:
            panels += 1
        ways.append((panels * along, panels))
    used, panels = min(ways)
    if panels == 1:
        piece = StripPiece("backing", box(0, 0, *size), 1)
        (one,) = shop.purchases("backing", [piece], width, by_length=True)
        used = one.plan.length or used
    return FinishLine(name, "backing", size, shop.length(used), panels)


def _binding(
    name: str,
    needs: FinishNeeds,
    width: float,
    shop: Shop,
    lengths: Sequence[Yardage],
    strips: list[BindingStrip],
) -> FinishLine:
    """Return the strips that lack; those on hand lose their width at a join, as the largest loss.

    A strip serves one project: it is taken from `strips`.
    """
    length, wide = needs.binding_length or 0.0, needs.strip_width or 0.0
    on_hand = 0.0
    for strip in sorted(strips, key=lambda one: (one.width, -one.length)):
        if on_hand < length and wide - 1e-6 <= strip.width <= wide + 0.25:
            on_hand += max(0.0, strip.length - strip.width)
            strips.remove(strip)
    lacks = max(0.0, length - on_hand)
    count = strips_across(lacks, width, wide) if lacks else 0
    used = count * wide
    if needs.bias and lacks:
        used = math.sqrt(lacks * wide) + _BIAS_SPARE
    if not lacks:
        return FinishLine(name, "binding", (length, wide), on_hand=on_hand, bias=needs.bias)
    # Each join takes the width of a strip, also that to those on hand and the closing one.
    reach = lacks + wide * (2 if on_hand else 1)
    instead = lengths_for_strips(lengths, reach, wide, width, shop, bias=needs.bias)
    return FinishLine(
        name, "binding", (length, wide), shop.length(used), strips=count, on_hand=on_hand,
        bias=needs.bias, lengths=instead,
    )  # fmt: skip


def _here(wanted: Sequence[ShoppingFor], lengths: Sequence[Yardage]) -> Iterator[Here]:
    """Yield lengths that no plan holds and that would do for a purchase of a kept plan."""
    for one in (one for one in wanted if one.plan is not None):
        for shortage in (shortage for shortage in one.result.shortages if shortage.buy):
            rule = replace(shortage.rule, taken=None)
            for length in lengths:
                cloth = cloth_of(length)
                enough = length.left >= shortage.plan.needed - 1e-6
                if enough and rule.allows(cloth) and cloth.fabric not in shortage.other_than:
                    yield Here(one.name, shortage.role, length)

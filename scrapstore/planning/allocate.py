"""Yardage at hand for what scraps cannot give: who gets which length, and what is still to buy."""

import math
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from scrapstore.matching import ReadyStock, RoleRule
from scrapstore.planning.purchases import Purchase, Shop
from scrapstore.store import Yardage
from scrapstore.units import INCHES_PER_YARD
from scrapstore.yardage import RolePlan, StripPiece, fabric_shares, plan_length

__all__ = [
    "NO_NAME",
    "OnHand",
    "Shortage",
    "allocate_lengths",
    "cloth_of",
    "inches_to_buy",
    "length_gives",
]

NO_NAME = "\0"
"""Before what stands for the fabric of a scrap without one, where fabrics are counted."""


@dataclass(frozen=True)
class OnHand:
    """What one role is cut from a length of yardage in the store.

    `plan` says what it gives. `takes` inches of it are used, with `straightening` where its end is
    still to be squared up; `before` inches of it went to earlier roles.
    """

    yardage: Yardage
    plan: RolePlan
    before: float
    straightening: float

    @property
    def takes(self) -> float:
        """Inches of the length that this role uses up."""
        return self.plan.length + self.straightening


@dataclass(frozen=True)
class Shortage:
    """What one role still wants from full-width fabric: `pieces`, and where they come from.

    `on_hand` are the lengths at hand it takes from. `purchases` are for what is left to buy, one
    without strips where nothing is; all their fabrics differ. What is bought must keep `rule`, and
    be of other fabrics than those in `other_than`. `promised` are lengths that would have done, but
    of which kept plans hold too much. `unmet` says in a sentence each which condition
    of the role the whole plan does not keep. `nested` is the length off the bolt that what is
    bought would take nested freely, where that was asked.
    """

    role: str
    pieces: Mapping[str, int]
    on_hand: tuple[OnHand, ...]
    purchases: tuple[Purchase, ...]
    rule: RoleRule
    one_way: bool = False
    other_than: tuple[str, ...] = ()
    promised: tuple[Yardage, ...] = ()
    unmet: tuple[str, ...] = ()
    nested: float | None = None

    @property
    def plan(self) -> RolePlan:
        """What is to be bought of the first fabric; without strips where nothing is."""
        return self.purchases[0].plan

    @property
    def fabrics_to_buy(self) -> int:
        """How many different fabrics are to be bought at least."""
        return sum(
            one.fabrics
            for one in self.purchases
            if not one.further and (one.plan.strips or one.plan.too_long)
        )

    @property
    def buy_yards(self) -> float:
        """Yards to buy, of all the fabrics together, as a shop sells them."""
        return sum(one.plan.buy_yards * one.times for one in self.purchases)

    @property
    def bought_pieces(self) -> tuple[Counter[str], ...]:
        """How many of each piece one fabric of each purchase gives, what is further with it."""
        counts: list[Counter[str]] = []
        for one in self.purchases:
            own = Counter({name: n * one.count for name, n in one.plan.pieces.items()})
            if one.further:
                counts[-1] += own
            else:
                counts.append(own)
        return tuple(counts)

    @property
    def buy(self) -> bool:
        """Return whether anything is left to buy."""
        return self.fabrics_to_buy > 0


def inches_to_buy(shortages: Sequence[Shortage]) -> float:
    """Return the inches of fabric that are to be bought in all, as a shop sells it by the yard."""
    return INCHES_PER_YARD * sum(shortage.buy_yards for shortage in shortages)


@dataclass
class _Length:
    """A length at hand while roles take from it."""

    yardage: Yardage
    width: float
    shop: Shop
    taken: float = 0.0

    @property
    def straightening(self) -> float:
        """What squaring up its end costs the next role: nothing after the first."""
        return 0.0 if self.taken else self.shop.straightening

    @property
    def left(self) -> float:
        """Inches that a next role can have, straightened."""
        return self.shop.gives(self.yardage, straight=self.taken > 0) - self.taken


_Taken = list[tuple[_Length, RolePlan]]


def allocate_lengths(
    pieces: Sequence[StripPiece],
    roles: Mapping[str, RoleRule],
    lengths: Sequence[Yardage],
    widths_to_buy: Mapping[str, float],
    used_fabrics: Mapping[str, Counter[str]],
    *,
    usual_width: float,
    shop: Shop,
    one_way: frozenset[str] = frozenset(),
    by_length: bool = False,
) -> tuple[Shortage, ...]:
    """Return for each role of `pieces` what comes from `lengths` and what is to be bought.

    No inch is promised twice, and none that a kept plan holds. Roles that fewer lengths will do for
    choose first. A role takes the shortest length that is enough; else the one that gives most,
    then the next; where it asks for several fabrics, about as much of each. `used_fabrics` says how
    many pieces of each role come from a fabric already. A length is as wide as it says, else as its
    fabric, else `usual_width`. One that is not noted as washed counts as much shorter as the shop's
    shrinkage says. `one_way` are the roles with pieces that have a direction. With `by_length` no
    precuts are bought.
    """
    step = shop.mark
    stock = [_Length(one, one.width or usual_width, shop) for one in lengths]
    names = tuple(dict.fromkeys(piece.role for piece in pieces))
    may_use = {
        name: [s for s in stock if roles[name].allows(cloth_of(s.yardage))] for name in names
    }
    shortages: dict[str, Shortage] = {}
    for name in sorted(names, key=lambda name: len(may_use[name])):
        wanted = [piece for piece in pieces if piece.role == name]
        rule, used = roles[name], used_fabrics[name]
        taken, left = _take(rule, wanted, may_use[name], used, step)
        if kept_back := _for_other_fabrics(rule, taken, left, used):
            less = [replace(p, count=p.count - kept_back[p.name]) for p in wanted]
            taken, _ = _take(rule, less, may_use[name], used, step)
            given = sum((Counter(plan.pieces) for _, plan in taken), Counter[str]())
            left = [replace(p, count=p.count - given[p.name]) for p in wanted]
        on_hand = []
        for length, plan in taken:
            on_hand.append(OnHand(length.yardage, plan, length.taken, length.straightening))
            length.taken += on_hand[-1].takes
        after = used.copy()
        for length, plan in taken:
            after[length.yardage.fabric.name] += sum(plan.pieces.values())

        def to_buy(
            share: Sequence[StripPiece], name: str = name, width: float = widths_to_buy[name]
        ) -> tuple[Purchase, ...]:
            return shop.purchases(name, share, width, by_length=by_length)

        purchases = _purchases(rule, left, len(after), to_buy)
        shortage = Shortage(
            role=name,
            pieces={p.name: p.count for p in wanted},
            on_hand=tuple(on_hand),
            purchases=purchases,
            rule=rule,
            one_way=name in one_way,
            other_than=_not_again(rule, after),
            promised=tuple(
                s.yardage
                for s in may_use[name]
                if s.yardage.promised and all(s is not length for length, _ in taken)
            ),
        )
        shortages[name] = replace(shortage, unmet=_unmet(shortage, len(after)))
    return tuple(shortages[name] for name in names)


def length_gives(
    rule: RoleRule, piece: StripPiece, yardage: Yardage, *, usual_width: float, shop: Shop
) -> int:
    """Return how many pieces of one kind a length gives that nothing else is taken of."""
    length = _Length(yardage, yardage.width or usual_width, shop)
    return _offer(rule, [piece], length, piece.count, shop.mark).pieces.get(piece.name, 0)


def _take(
    rule: RoleRule,
    wanted: Sequence[StripPiece],
    stock: Sequence[_Length],
    used: Counter[str],
    step: float,
) -> tuple[_Taken, list[StripPiece]]:
    """Return what lengths give for one role, and the pieces still wanted.

    Where several fabrics are asked for, about as much of each; if that leaves pieces which the
    lengths could give, at least something of each.
    """
    best: tuple[tuple[int, int], _Taken, list[StripPiece]] | None = None
    for evenly in (True, False) if rule.min_fabrics else (True,):
        taken, left = _take_in_turn(rule, wanted, stock, used, step, evenly=evenly)
        missing = sum(piece.count for piece in left)
        shown = len({*used, *(length.yardage.fabric.name for length, _ in taken)})
        score = -missing, min(shown, rule.min_fabrics or 0)
        if best is None or score > best[0]:
            best = score, taken, left
        if not missing:
            break
    assert best is not None
    return best[1:]


def _for_other_fabrics(
    rule: RoleRule, taken: _Taken, left: Sequence[StripPiece], used: Counter[str]
) -> Counter[str]:
    """Return how many of each piece must not come from lengths, nor be `left` for want of them.

    They are for fabrics that the role asks for, that are not there, and that would have nothing to
    give: one set for each, of the smallest pieces.
    """
    shown = {*used, *(length.yardage.fabric.name for length, _ in taken)}
    lacking = (rule.min_fabrics or 0) - len(shown)
    if rule.fabrics:
        lacking = min(lacking, len(rule.fabrics - shown))
    sets = rule.same_fabric_sets or 1
    lacking -= sum(math.ceil(piece.count / sets) for piece in left)
    given = sum((Counter(plan.pieces) for _, plan in taken), Counter[str]())
    kept = Counter({piece.name: piece.count for piece in left})
    begin = kept.copy()
    for piece in sorted(left, key=lambda piece: piece.cut.area):
        more = max(0, min(lacking, given[piece.name] // sets))
        kept[piece.name] += more * sets
        lacking -= more
    return kept if kept != begin else Counter()


def _take_in_turn(
    rule: RoleRule,
    wanted: Sequence[StripPiece],
    stock: Sequence[_Length],
    used: Counter[str],
    step: float,
    *,
    evenly: bool,
) -> tuple[_Taken, list[StripPiece]]:
    left, taken, used = list(wanted), _Taken(), used.copy()
    free = sorted(stock, key=lambda s: (s.left, s.yardage.id))
    while free and (missing := sum(piece.count for piece in left)):
        new = {s.yardage.fabric.name for s in free} - used.keys()
        lacking = max(0, (rule.min_fabrics or 0) - len(used))
        limits = {
            id(s): _most(rule, s.yardage.fabric.name, missing, used, (lacking, new), evenly=evenly)
            for s in free
        }
        free = [s for s in free if limits[id(s)] > 0]
        may = [s for s in free if s.yardage.fabric.name in new] if lacking and new else free
        if not may:
            continue
        smallest = min(piece.cut.area for piece in left if piece.count)
        # The shortest that may be enough, and so on; when none is, what the largest gives.
        for length in (s for s in may if s.left * s.width >= smallest * limits[id(s)] - 1e-6):
            plan = _offer(rule, left, length, limits[id(length)], step)
            if sum(plan.pieces.values()) == limits[id(length)]:
                break
        else:
            length = max(may, key=lambda s: s.left * s.width)
            plan = _offer(rule, left, length, limits[id(length)], step)
        free.remove(length)
        if not plan.pieces:
            continue
        taken.append((length, plan))
        used[length.yardage.fabric.name] += sum(plan.pieces.values())
        left = [replace(p, count=p.count - plan.pieces.get(p.name, 0)) for p in left]
    return taken, left


def _most(
    rule: RoleRule,
    fabric: str,
    missing: int,
    used: Counter[str],
    several: tuple[int, set[str]],
    *,
    evenly: bool,
) -> int:
    """Return how many of `missing` pieces may come from a length of `fabric`.

    `several` says how many further fabrics the role asks for, and the names of those that are
    there; something is left for each of them.
    """
    sets = rule.same_fabric_sets or 1
    most = missing
    if rule.max_per_fabric:
        most = min(most, rule.max_per_fabric - used[fabric])
    lacking, new = several
    later = min(lacking, len(new)) - 1 if fabric in new else 0
    if later > 0:
        share = math.ceil(missing / (later + 1) / sets) if evenly else missing // sets - later
        most = min(most, max(share, 1) * sets)
    return most if most == missing else most - most % sets


def _offer(
    rule: RoleRule, wanted: Sequence[StripPiece], length: _Length, most: int, step: float
) -> RolePlan:
    """Return what `length` gives of `wanted`, at most `most` pieces, in full sets."""
    return plan_length(
        rule.name,
        wanted,
        length.width,
        max(length.left, 0.0),
        step=step,
        sets=rule.same_fabric_sets or 1,
        at_most=most if most < sum(piece.count for piece in wanted) else None,
    )


def _purchases(
    rule: RoleRule,
    left: Sequence[StripPiece],
    shown: int,
    buy: Callable[[Sequence[StripPiece]], tuple[Purchase, ...]],
) -> tuple[Purchase, ...]:
    """Return what to buy for the pieces `left`, where `shown` fabrics are in the plan already."""
    shares = fabric_shares(
        [piece for piece in left if piece.count],
        at_least=max(1, (rule.min_fabrics or 0) - shown),
        at_most=rule.max_per_fabric,
        sets=rule.same_fabric_sets or 1,
    )
    if len(shares) < 2:
        return buy(left)
    alike: dict[tuple[tuple[str, int], ...], list[tuple[StripPiece, ...]]] = {}
    for share in shares:
        alike.setdefault(tuple((piece.name, piece.count) for piece in share), []).append(share)
    return tuple(replace(one, fabrics=len(same)) for same in alike.values() for one in buy(same[0]))


def _not_again(rule: RoleRule, used: Counter[str]) -> tuple[str, ...]:
    """Return the fabrics that have given their share: what is bought must be another."""
    several = rule.min_fabrics or rule.max_per_fabric
    return tuple(sorted(name for name in used if not name.startswith(NO_NAME))) if several else ()


def _unmet(shortage: Shortage, shown: int) -> tuple[str, ...]:
    """Say which conditions of the role are not kept with what is at hand and what is bought."""
    rule, more = shortage.rule, shortage.fabrics_to_buy
    said = []
    if rule.min_fabrics and shown + more < rule.min_fabrics:
        said.append(
            f"asks for at least {rule.min_fabrics} different fabrics; this plan shows "
            f"{shown + more}; add the others when you cut or buy more"
        )
    named = len(rule.fabrics - set(shortage.other_than))
    if rule.fabrics and more > named:
        said.append(f"{more} more fabrics are needed, and only {named} more may be used")
    if rule.scraps and shortage.buy:
        own = ", ".join(map(str, sorted(rule.scraps)))
        said.append(f"only cloth of scrap {own} will do, and it is not enough; buy more like it")
    counts = shortage.bought_pieces
    if rule.max_per_fabric and any(sum(n.values()) > rule.max_per_fabric for n in counts):
        said.append(f"a full set is more than {rule.max_per_fabric} pieces of one fabric")
    sets = rule.same_fabric_sets or 1
    if any(number % sets for own in counts for number in own.values()):
        said.append(f"the pieces to buy do not make full sets of {sets} from one fabric")
    return tuple(f"{shortage.role}: {sentence}" for sentence in said)


def cloth_of(length: Yardage) -> ReadyStock:
    """Return what a role's conditions look at, for a length of yardage."""
    fabric = length.fabric
    return ReadyStock(
        id=length.id,
        fabric=fabric.name,
        families=frozenset({fabric.family} if fabric.family else ()),
        value=fabric.value,
        fibre=fabric.fibre,
    )

"""Yardage at hand for what scraps cannot give: who gets which length, and what is still to buy."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from scrapstore.matching import ReadyStock, RoleRule
from scrapstore.store import Yardage
from scrapstore.units import Units
from scrapstore.yardage import RolePlan, StripPiece, plan_length, plan_role

__all__ = ["OnHand", "Shortage", "share_out"]

_STRAIGHTENING = 1.0
"""Inches kept once a length for squaring up its end: common practice."""


@dataclass(frozen=True)
class OnHand:
    """What one role is cut from a length of yardage in the store.

    `plan` says what it gives. `takes` inches of it are used, with `straightening` where its end is
    still to be squared up; `before` inches of it went to roles told earlier.
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

    `on_hand` are the lengths at hand it takes from; `plan` is for what is left to buy, without
    strips where nothing is.
    """

    role: str
    pieces: Mapping[str, int]
    on_hand: tuple[OnHand, ...]
    plan: RolePlan

    @property
    def buy(self) -> bool:
        """Tell whether anything is left to buy."""
        return bool(self.plan.strips or self.plan.too_long)


@dataclass
class _Length:
    """A length at hand while roles take from it."""

    yardage: Yardage
    width: float
    taken: float = 0.0

    @property
    def straightening(self) -> float:
        """What squaring up its end costs the next role: nothing after the first."""
        return 0.0 if self.taken else _STRAIGHTENING

    @property
    def left(self) -> float:
        """Inches that a next role can have, straightened."""
        return self.yardage.left - self.taken - self.straightening


def share_out(
    pieces: Sequence[StripPiece],
    roles: Mapping[str, RoleRule],
    lengths: Sequence[Yardage],
    widths_to_buy: Mapping[str, float],
    used_fabrics: Mapping[str, Counter[str]],
    *,
    usual_width: float,
    step: float,
    units: Units,
) -> tuple[Shortage, ...]:
    """Return for each role of `pieces` what comes from `lengths` and what is to be bought.

    No inch is promised twice, and none that a kept plan holds. Roles that fewer lengths will do for
    choose first. A role takes the shortest length that is enough; else the one that gives most,
    then the next. `used_fabrics` says how many pieces of each role come from a fabric already. A
    length is as wide as it says, else as its fabric, else `usual_width`.
    """
    stock = [
        _Length(one, one.usable_width or one.fabric.usable_width or usual_width) for one in lengths
    ]
    names = tuple(dict.fromkeys(piece.role for piece in pieces))
    may_use = {
        name: [s for s in stock if roles[name].allows(_cloth_of(s.yardage))] for name in names
    }
    shortages: dict[str, Shortage] = {}
    for name in sorted(names, key=lambda name: len(may_use[name])):
        wanted = [piece for piece in pieces if piece.role == name]
        taken, left = _take(roles[name], wanted, may_use[name], used_fabrics[name], step)
        plan = plan_role(
            name, left, widths_to_buy[name], straightening=_STRAIGHTENING, step=step, units=units
        )
        shortages[name] = Shortage(name, {p.name: p.count for p in wanted}, taken, plan)
    return tuple(shortages[name] for name in names)


def _take(
    role: RoleRule,
    wanted: Sequence[StripPiece],
    stock: Sequence[_Length],
    used: Counter[str],
    step: float,
) -> tuple[tuple[OnHand, ...], list[StripPiece]]:
    """Take from `stock` for one role; return what is taken, and the pieces still wanted."""
    left, taken, used = list(wanted), [], used.copy()
    free = sorted(stock, key=lambda s: (s.left, s.yardage.id))
    while free and any(piece.count for piece in left):
        missing = sum(piece.count for piece in left)
        area = sum(piece.cut.area * piece.count for piece in left)
        # The shortest that may be enough, and so on; when none is, what the largest gives.
        for length in (s for s in free if s.left * s.width >= area - 1e-6):
            plan = _offer(role, left, length, used, step)
            if sum(plan.pieces.values()) == missing:
                break
        else:
            length = max(free, key=lambda s: s.left * s.width)
            plan = _offer(role, left, length, used, step)
        free.remove(length)
        if not plan.pieces:
            continue
        taken.append(OnHand(length.yardage, plan, length.taken, length.straightening))
        used[length.yardage.fabric.name] += sum(plan.pieces.values())
        length.taken += taken[-1].takes
        left = [replace(p, count=p.count - plan.pieces.get(p.name, 0)) for p in left]
    return tuple(taken), left


def _offer(
    role: RoleRule,
    wanted: Sequence[StripPiece],
    length: _Length,
    used: Counter[str],
    step: float,
) -> RolePlan:
    """Return what `length` gives of `wanted` under the role's conditions on one fabric."""
    most = None
    if role.max_per_fabric:
        most = max(0, role.max_per_fabric - used[length.yardage.fabric.name])
    return plan_length(
        role.name,
        wanted,
        length.width,
        max(length.left, 0.0),
        step=step,
        sets=role.same_fabric_sets or 1,
        at_most=most,
    )


def _cloth_of(length: Yardage) -> ReadyStock:
    """Return what a role's conditions look at, for a length of yardage."""
    fabric = length.fabric
    return ReadyStock(
        id=length.id,
        fabric=fabric.name,
        families=frozenset({fabric.family} if fabric.family else ()),
        value=fabric.value,
        fibre=fabric.fibre,
    )

"""What to buy for one cloth: a length off the bolt, or fat quarters and eighths if cheaper."""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Final

from scrapstore.settings import Settings
from scrapstore.shapes import precuts
from scrapstore.store import Yardage
from scrapstore.units import INCHES_PER_CM, INCHES_PER_YARD, Units
from scrapstore.yardage import (
    TRIES,
    BoughtAs,
    RolePlan,
    StripPiece,
    length_to_buy,
    plan_length,
    plan_role,
    unwashed,
)

__all__ = ["Bolt", "Length", "Purchase", "Shop", "shop_of"]

_WHOLE: Final[Mapping[BoughtAs, tuple[float, int]]] = {
    "fat quarter": (18.0, 4), "fat eighth": (9.0, 8),
}  # fmt: skip
"""Of each precut its inches along the selvage as sold, and how many are a yard (or a metre)."""


@dataclass(frozen=True)
class Bolt:
    """The length off the bolt that precuts save: its cost and theirs, None without prices.

    `used` is what strips across the fabric take of it, 0 where they would run along the grain.
    """

    yards: float
    cm: int
    cost: float | None = None
    precuts_cost: float | None = None
    used: float = 0.0


@dataclass(frozen=True)
class Purchase:
    """`plan` is to be bought and cut `count` times over from each of so many different `fabrics`.

    What is `further` is bought beside the purchase before it, of the same fabrics. `instead` is
    what precuts are bought for.
    """

    plan: RolePlan
    fabrics: int = 1
    count: int = 1
    further: bool = False
    instead: Bolt | None = None

    @property
    def times(self) -> int:
        """How many cloths are cut alike in all."""
        return self.fabrics * self.count


@dataclass(frozen=True)
class Length:
    """A length off the bolt: `used` inches are cut from it, `needed` with all that is lost."""

    used: float
    needed: float
    yards: float
    cm: int


@dataclass(frozen=True)
class Shop:
    """How fabric is sold, and what is lost of it before it is cut; inches and money.

    `step` is the shop's own, None for that of the `units`; `shrinkage` a share. A price that is
    None is not known; without that of an inch off the bolt, whichever is less cloth is cheaper. A
    precut without a price counts as that much off the bolt.
    """

    straightening: float = 1.0
    precut_straightening: float = 0.5
    shrinkage: float = 0.0
    step: float | None = None
    units: Units = "in"
    mark: float = 1 / 8
    precuts: bool = True
    price_inch: float | None = None
    prices: Mapping[BoughtAs, float | None] = field(default_factory=dict)

    def purchases(
        self, role: str, pieces: Sequence[StripPiece], width: float, *, by_length: bool = False
    ) -> tuple[Purchase, ...]:
        """Return what to buy of one fabric `width` inches wide for all `pieces`.

        Precuts are bought where they cost less than the length off the bolt. With `by_length` they
        are not, and the length is found quickly, for comparisons. Their plans count the
        straightening that each of them loses.
        """
        plan = plan_role(
            role,
            pieces,
            width,
            straightening=self.straightening,
            shrinkage=self.shrinkage,
            shop_step=self.step,
            step=self.mark,
            units=self.units,
            tries=0 if by_length else TRIES,
        )
        if by_length or not self.precuts or not plan.strips or plan.too_long:
            return (Purchase(plan),)
        cheapest, cost = [Purchase(plan)], self.cost([Purchase(plan)])
        bolt = Bolt(
            plan.buy_yards,
            plan.buy_cm,
            self.price([Purchase(plan)]),
            used=0.0 if plan.along_grain else plan.length,
        )
        for kinds in (("fat eighth", "fat quarter"), ("fat eighth",)):
            found = self._in_precuts(role, pieces, width, kinds, cost)
            if found is not None:
                cost = self.cost(found)
                why = replace(bolt, precuts_cost=self.price(found))
                cheapest = [
                    replace(one, further=bool(at), instead=why) for at, one in enumerate(found)
                ]
        return tuple(cheapest)

    def gives(self, length: Yardage, *, straight: bool = False) -> float:
        """Return the inches that can be cut from a length at hand; below 0 where it is too short.

        What kept plans hold is off, so is what it shrinks unless its fabric is noted as washed, and
        what squaring up its end costs unless it is `straight`.
        """
        shrunk = 0.0 if length.fabric.washed else length.length * self.shrinkage
        return length.left - shrunk - (0.0 if straight else self.straightening)

    def length(self, used: float) -> Length:
        """Return the length off the bolt that gives `used` inches."""
        needed = unwashed(used, self.straightening, self.shrinkage)
        yards, cm = length_to_buy(used, self.straightening, self.shrinkage, self.step)
        return Length(used, needed, yards, cm)

    def inches(self, length: Length | RolePlan | Bolt) -> float:
        """Return the inches that are bought with a length, by the units of the shop."""
        if isinstance(length, RolePlan):
            length = Bolt(length.buy_yards, length.buy_cm)
        return length.cm * INCHES_PER_CM if self.units == "cm" else length.yards * INCHES_PER_YARD

    def price(self, bought: Sequence[Purchase]) -> float | None:
        """Return what purchases cost; None where prices are not known."""
        return None if self.price_inch is None else self.cost(bought)

    def cost(self, bought: Sequence[Purchase]) -> float:
        """Return what purchases cost; without prices in inches off the bolt of as much cloth."""
        return math.fsum(self._cost(one.plan) * one.times for one in bought)

    def _cost(self, plan: RolePlan) -> float:
        if plan.bought_as != "length":
            return self._precut_cost(plan.bought_as)
        return self.inches(plan) * (1.0 if self.price_inch is None else self.price_inch)

    def _precut_cost(self, kind: BoughtAs) -> float:
        inches = self._as_length(kind)
        if self.price_inch is None:
            return inches
        price = self.prices.get(kind)
        return inches * self.price_inch if price is None else price

    def _as_length(self, kind: BoughtAs) -> float:
        """Return the inches off the bolt that are as much cloth as a precut."""
        whole = 100 * INCHES_PER_CM if self.units == "cm" else INCHES_PER_YARD
        return whole / _WHOLE[kind][1]

    def _in_precuts(
        self,
        role: str,
        pieces: Sequence[StripPiece],
        width: float,
        kinds: Sequence[BoughtAs],
        below: float,
    ) -> list[Purchase] | None:
        """Return precuts that give all `pieces` and cost less than `below`; None if none do.

        The last of the `kinds` gives as much as it can, over and over; an earlier one ends it where
        it gives the rest.
        """
        found: list[Purchase] = []
        left = list(pieces)
        while any(piece.count for piece in left):
            if self.cost(found) + self._least(left, width, kinds) > below - 1e-9:
                return None
            plan = next(self._plans(role, left, width, kinds), None)
            if plan is None:
                return None
            if found and found[-1].plan == plan:
                found[-1] = replace(found[-1], count=found[-1].count + 1)
            else:
                found.append(Purchase(plan))
            left = [replace(p, count=p.count - plan.pieces.get(p.name, 0)) for p in left]
        return found if self.cost(found) < below - 1e-9 else None

    def _plans(
        self, role: str, left: Sequence[StripPiece], width: float, kinds: Sequence[BoughtAs]
    ) -> Iterator[RolePlan]:
        wanted = sum(piece.count for piece in left)
        area = math.fsum(piece.cut.area * piece.count for piece in left)
        for kind in kinds:
            tall, half = self._usable(kind, width)
            if kind != kinds[-1] and area > tall * half + 1e-6:
                continue
            plan = plan_length(role, left, half, tall, step=self.mark)
            if plan.pieces and (kind == kinds[-1] or sum(plan.pieces.values()) == wanted):
                inches = self._as_length(kind)
                yield replace(
                    plan,
                    bought_as=kind,
                    straightening=self.precut_straightening,
                    shrinkage=self.shrinkage,
                    buy_yards=inches / INCHES_PER_YARD,
                    buy_cm=round(inches / INCHES_PER_CM),
                )

    def _usable(self, kind: BoughtAs, width: float) -> tuple[float, float]:
        """Return what can be used of a precut: along the selvage, and across the fabric."""
        loss = _WHOLE[kind][0] * self.shrinkage + self.precut_straightening
        _, _, tall, half = precuts(width, loss)[kind].outline.bounds
        return tall, half

    def _least(self, left: Sequence[StripPiece], width: float, kinds: Sequence[BoughtAs]) -> float:
        """Return what precuts for the pieces left cost at least, by their area."""
        area = math.fsum(piece.cut.area * piece.count for piece in left)
        whole = (math.prod(self._usable(kind, width)) / self._precut_cost(kind) for kind in kinds)
        return max(area / max(whole), min(self._precut_cost(kind) for kind in kinds))


def shop_of(settings: Settings) -> Shop:
    """Return the shop that the settings describe."""
    return Shop(
        straightening=settings.straightening,
        precut_straightening=settings.precut_straightening,
        shrinkage=settings.washing_shrinkage / 100,
        step=None if isinstance(settings.shop_step, str) else settings.shop_step,
        units=settings.units,
        mark=settings.mark,
        precuts=settings.fat_quarters != "never",
        price_inch=settings.price_inch,
        prices={
            "fat quarter": settings.price_fat_quarter,
            "fat eighth": settings.price_fat_eighth,
        },
    )

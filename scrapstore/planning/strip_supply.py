"""Where binding strips that lack can be cut from: scraps, and lengths of yardage."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import shapely

from scrapstore.packing import PieceKind, fill
from scrapstore.planning.cuttable_regions import scrap_stock
from scrapstore.planning.purchases import Shop
from scrapstore.store import CuttableScrap, Scrap, Yardage

__all__ = ["StripLength", "lengths_for_piece", "lengths_for_strips", "scraps_with_room"]

_STRAIGHT: Final = (0.0, 90.0)
_BIAS: Final = (45.0, 135.0)


@dataclass(frozen=True)
class StripLength:
    """A length that `count` strips can be cut from, `takes` inches of it.

    `way` is how they run: across the width, along the selvage, or on the bias.
    """

    yardage: Yardage
    count: int
    takes: float
    way: str


def scraps_with_room(
    scraps: Sequence[Scrap],
    cuttable: Sequence[CuttableScrap],
    length: float,
    width: float,
    *,
    bias: bool,
) -> tuple[Scrap, ...]:
    """Return the scraps with room for a rectangle, the smallest first.

    It lies along or across the grain, with `bias` at 45 degrees to it: that grain must be known.
    """
    turns = _BIAS if bias else _STRAIGHT
    strip = PieceKind("strip", shapely.box(0, 0, length, width), 1, turns, mirror=False)
    known = {scrap.id: scrap for scrap in scraps}
    stock = scrap_stock([one for one in cuttable if not bias or one.grain_deg is not None])
    fit = [one for one in stock if fill(one.region, [strip], rows_only=not bias).placements]
    return tuple(known[one.id] for one in sorted(fit, key=lambda one: (one.true_area, one.id)))


def lengths_for_strips(
    lengths: Sequence[Yardage],
    length: float,
    width: float,
    usual_width: float,
    shop: Shop,
    *,
    bias: bool,
) -> tuple[StripLength, ...]:
    """Return how strips that reach `length` when joined can be cut from each length, least first.

    `usual_width` is that of a fabric whose width is not known. Strips across the fabric lose their
    width at each join. Each is straightened and may shrink as `shop` says. Those that no strips of
    that kind can be cut from are left out.
    """
    found = []
    for one in lengths:
        fabric_width, left = one.width or usual_width, shop.gives(one)
        if bias:
            side = (length + width) / math.sqrt(2)
            if side <= min(fabric_width, left):
                found.append(StripLength(one, 1, side, "on the bias"))
            continue
        count = 1
        if length > fabric_width:
            each = fabric_width - width
            count = math.ceil((length - width) / each) if each > 0 else 0
        if count and count * width <= left:
            found.append(StripLength(one, count, count * width, "across the width"))
        elif length <= left and width <= fabric_width:
            found.append(StripLength(one, 1, length, "along the selvage"))
    return tuple(sorted(found, key=lambda one: (one.takes, one.yardage.id)))


def lengths_for_piece(
    lengths: Sequence[Yardage], width: float, height: float, usual_width: float, shop: Shop
) -> tuple[StripLength, ...]:
    """Return which lengths one piece, such as a backing, can be cut from, least first.

    It lies in the way that takes less of a length, which is straightened and may shrink as `shop`
    says.
    """
    found = []
    for one in lengths:
        fabric_width, left = one.width or usual_width, shop.gives(one)
        ways = [
            (along, way)
            for across, along, way in (
                (width, height, "across the width"),
                (height, width, "along the selvage"),
            )
            if across <= fabric_width and along <= left
        ]
        if ways:
            found.append(StripLength(one, 1, *min(ways)))
    return tuple(sorted(found, key=lambda one: (one.takes, one.yardage.id)))

"""Dual prices: what one more piece from a scrap would be worth, by the relaxed choice.

Further patterns are drawn by them (the pricing problem of column generation).
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from scrapstore.matching.forms import Need, ReadyStock, RoleRule, ScrapStock
from scrapstore.matching.patterns import Pattern, cut_classes
from scrapstore.matching.programme import AREA_UNITS, Programme, programme_of

__all__ = ["DualPrices", "dual_prices", "dual_prices_of_aim"]


@dataclass(frozen=True)
class DualPrices:
    """What further patterns would have to bring: square inches of cover, or the cost of an aim.

    `piece` maps (scrap, class of pieces) to what one more piece of it is worth; a new pattern of a
    scrap helps when its pieces are worth more than `scrap` already brings.
    """

    piece: Mapping[tuple[int, str], float]
    scrap: Mapping[int, float]


def dual_prices(
    scraps: Sequence[ScrapStock],
    patterns: Sequence[Pattern],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
) -> DualPrices:
    """Return what pieces are worth beside `patterns`, parts of pieces and patterns allowed.

    Every scrap of `patterns` gets a price for each class that may be cut from it.
    """
    programme = programme_of(scraps, patterns, ready, needs, roles, {}, every=True)
    gain = {column: value / AREA_UNITS for column, value in programme.covered.items()}
    return _read_duals(programme, {column: -value for column, value in gain.items()}, gain, needs)


def dual_prices_of_aim(
    scraps: Sequence[ScrapStock],
    patterns: Sequence[Pattern],
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    *,
    wanted: Mapping[str, int],
    costs: Mapping[int, float],
) -> DualPrices:
    """Return what pieces are worth where so many of each need shall be `wanted` and are given.

    Cutting into a scrap costs `costs`; a new pattern of it helps when its pieces are worth more
    than that and than what the scrap already brings.
    """
    programme = programme_of(scraps, patterns, ready, needs, roles, {}, every=True)
    given = (*programme.cut.items(), *programme.used.items())
    for need in needs:
        columns = {column: 1 for (_, name), column in given if name == need.name}
        if columns and wanted[need.name]:
            programme.model.row(columns, wanted[need.name], None)
    spent = {
        column: costs[pattern.scrap_id]
        for column, pattern in zip(programme.taken, patterns, strict=True)
    }
    return _read_duals(programme, spent, {}, needs)


def _read_duals(
    programme: Programme,
    cost: Mapping[int, float],
    gain: Mapping[int, float],
    needs: Sequence[Need],
) -> DualPrices:
    """Return the prices of pieces and scraps at the least `cost`; a column brings its `gain`."""
    relaxed = programme.model.relaxed(cost)
    if relaxed is None:
        return DualPrices({}, {})
    paid: dict[int, float] = defaultdict(float)
    for number, (terms, _, _) in enumerate(programme.model.rows):
        if number not in programme.sharing and relaxed.prices[number]:
            for column, weight in terms.items():
                paid[column] += weight * float(relaxed.prices[number])
    classes = cut_classes(needs)
    piece: dict[tuple[int, str], float] = {}
    for (scrap_id, name), column in programme.cut.items():
        key = scrap_id, classes[name]
        piece[key] = max(gain.get(column, 0.0) - paid[column], piece.get(key, 0.0))
    brings = {s: float(relaxed.prices[r]) for s, r in programme.one_pattern.items()}
    return DualPrices(piece, brings)

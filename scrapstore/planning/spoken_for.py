"""What is left of the stock for a project after others that are not kept yet."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from scrapstore.planning.result import MatchResult
from scrapstore.store import CuttableScrap, Promise, ReadyCut, Yardage

__all__ = ["left_after"]

_Stock = tuple[tuple[CuttableScrap, ...], tuple[ReadyCut, ...], tuple[Yardage, ...]]


def left_after(
    results: Sequence[MatchResult],
    scraps: Sequence[CuttableScrap],
    lots: Sequence[ReadyCut],
    lengths: Sequence[Yardage],
) -> _Stock:
    """Return the stock without what `results` take: whole scraps, pieces, inches of lengths.

    Those inches count as promised to the project by its name.
    """
    gone = {cut.scrap.id for result in results for cut in result.cuts}
    taken: Counter[int] = Counter()
    promised: dict[int, list[Promise]] = {}
    for result in results:
        for use in result.ready:
            taken[use.lot.id] += use.taken
        for hand in (hand for shortage in result.shortages for hand in shortage.on_hand):
            promise = Promise(result.project.name, hand.takes)
            promised.setdefault(hand.yardage.id, []).append(promise)
    return (
        tuple(scrap for scrap in scraps if scrap.id not in gone),
        tuple(
            replace(lot, count=lot.count - taken[lot.id])
            for lot in lots
            if lot.count > taken[lot.id]
        ),
        tuple(replace(one, promised=(*one.promised, *promised.get(one.id, ()))) for one in lengths),
    )

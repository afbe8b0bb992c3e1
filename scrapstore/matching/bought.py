"""Among plans that cover nearly as much, the one after which least is to be bought.

Fabric is bought by strips over its whole width, so the area that is covered says only roughly what
is saved: one piece left over may cost a strip of its own. What is bought for so many pieces short
is for the caller to say.
"""

from collections.abc import Callable, Mapping, Sequence
from typing import Final

from scrapstore.matching.choose import Choice
from scrapstore.matching.forms import Need

__all__ = ["ToBuy", "least_bought"]

ToBuy = Callable[[Mapping[str, int]], float]
"""Returns the inches of fabric to buy for so many pieces short of each need."""

_NEAR: Final = 0.9  # of the area that the best plan covers
_TRIALS: Final = 8  # choices tried
_MANY: Final = 500  # pieces short, of which one strip more or less is no great part


def least_bought(
    best: Choice,
    choose: Callable[[Mapping[str, int]], Choice],
    needs: Sequence[Need],
    to_buy: ToBuy,
) -> tuple[Choice, dict[str, int]]:
    """Return a choice after which least is bought, and how many of each need it holds to.

    `choose` makes a choice in which at least so many pieces of some needs are covered. Beginning
    with the choice that covers most area, one need after the other is asked for in full, and the
    one that saves most is held to, while any does.
    """
    known: dict[tuple[int, ...], float] = {}

    def bought(choice: Choice) -> float:
        short = {need.name: need.wanted - choice.counts(need.name) for need in needs}
        key = tuple(short.values())
        if key not in known:
            known[key] = to_buy(short) if any(key) else 0.0
        return known[key]

    chosen, floors, trials = best, dict[str, int](), 0
    if sum(need.wanted - best.counts(need.name) for need in needs) > _MANY:
        return best, {}
    while trials < _TRIALS and bought(chosen) > 0:
        found: tuple[float, float, str, Choice] | None = None
        for need in sorted(needs, key=lambda need: (-need.outline.area, need.name)):
            if chosen.counts(need.name) == need.wanted or trials == _TRIALS:
                continue
            trials += 1
            other = choose(floors | {need.name: need.wanted})
            if other.area < _NEAR * best.area or other.counts(need.name) < need.wanted:
                continue
            this = bought(other), -other.area, need.name, other
            if found is None or this[:3] < found[:3]:
                found = this
        if found is None or found[0] >= bought(chosen) - 1e-6:
            break
        chosen = found[3]
        floors[found[2]] = next(need.wanted for need in needs if need.name == found[2])
    held = {need.name: chosen.counts(need.name) for need in needs} if floors else {}
    return chosen, {name: count for name, count in held.items() if count}

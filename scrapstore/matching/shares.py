"""How much of each fabric a plan has already, and how much more a role may take of it."""

import math
from collections import Counter
from collections.abc import Mapping, Sequence

from scrapstore.matching.forms import Answer, Cloth, Need, ReadyStock, RoleRule, ScrapStock

__all__ = ["Shares"]


class Shares:
    """The pieces that an answer takes from each fabric for each role, ready-cut ones included."""

    def __init__(
        self,
        answer: Answer,
        scraps: Sequence[ScrapStock],
        ready: Sequence[ReadyStock],
        needs: Sequence[Need],
        roles: Mapping[str, RoleRule],
    ) -> None:
        role_of = {need.name: need.role for need in needs}
        scrap_of = {scrap.id: scrap.cloth_key for scrap in scraps}
        ready_of = {stock.id: stock.cloth_key for stock in ready}
        self._taken: dict[str, Counter[str]] = {name: Counter() for name in roles}
        for use in answer.scrap_uses:
            for name, count in use.counts.items():
                self._taken[role_of[name]][scrap_of[use.scrap_id]] += count
        for (stock_id, name), count in answer.ready_uses.items():
            if stock_id in ready_of:
                self._taken[role_of[name]][ready_of[stock_id]] += count

    def left(self, role: RoleRule, cloth: Cloth) -> float:
        """Return how many more pieces of the role this cloth's fabric may give."""
        most = role.most_from(cloth.cloth_key)
        return math.inf if most is None else most - self._taken[role.name][cloth.cloth_key]

    def begun(self, role: RoleRule, cloth: Cloth) -> bool:
        """Tell whether the role limits what one fabric gives and has some of this one."""
        return role.max_per_fabric is not None and self._taken[role.name][cloth.cloth_key] > 0

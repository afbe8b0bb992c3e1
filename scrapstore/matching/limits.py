"""Proven limits: how many pieces no plan can exceed, whatever is cut from which scrap.

Everything here rests on two facts about a scrap: the limit on pieces of each need alone (from the
packer's bound where the scrap was looked at, from its area elsewhere), and that pieces lie side by
side, so that their areas together are at most the scrap's.
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from scrapstore.matching.forms import Need, ReadyStock, RoleRule
from scrapstore.matching.ready import pieces_each
from scrapstore.matching.screen import Screen

__all__ = ["limit_each", "limit_together"]


def limit_each(
    most: NDArray[np.int64],
    screened: Screen,
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
) -> list[int]:
    """Return for each need the most that any plan can give of it; the conditions are kept.

    `most[i, j]` is the limit for scrap i and need j alone.
    """
    limits = []
    for j, need in enumerate(needs):
        role = roles[need.role]
        by_fabric: dict[str, int] = defaultdict(int)
        for stock in ready:
            if role.allows(stock):
                by_fabric[stock.cloth_key] += stock.count * pieces_each(stock, need)
        for i in np.flatnonzero(most[:, j]):
            by_fabric[screened.scraps[i].cloth_key] += int(most[i, j])
        size = role.same_fabric_sets or 1
        total = 0
        for key, count in by_fabric.items():
            cap = role.most_from(key)
            usable = count if cap is None else min(count, cap)
            total += usable // size * size
        wanted = need.wanted // size * size
        limits.append(min(wanted, total))
    return limits


def limit_together(
    most: NDArray[np.int64],
    limits: Sequence[int],
    screened: Screen,
    ready: Sequence[ReadyStock],
    needs: Sequence[Need],
    roles: Mapping[str, RoleRule],
    worth: Sequence[float],
) -> float:
    """Return the most that all needs together can be worth, a piece of need j being `worth[j]`.

    A linear programme: needs that share a scrap share its area. Every plan is a solution of it, so
    its prices (the dual, solved by HiGHS) prove a limit of the true optimum.
    """
    from scipy.optimize import linprog
    from scipy.sparse import coo_array

    if not any(limits):
        return 0.0
    cells = [(i, j, int(most[i, j])) for i, j in zip(*np.nonzero(most), strict=True)]
    stacks = [
        (k, j, each)
        for k, stock in enumerate(ready)
        for j, need in enumerate(needs)
        if roles[need.role].allows(stock) and (each := pieces_each(stock, need))
    ]
    upper = [float(c) for *_, c in cells] + [
        float(min(each * ready[k].count, needs[j].wanted)) for k, j, each in stacks
    ]
    rows: dict[object, dict[int, float]] = defaultdict(dict)
    high: dict[object, float] = {}
    for column, (i, j, _) in enumerate(cells):
        room = screened.area[i] * (1 + 1e-6)
        _add(rows, high, ("scrap", i), column, needs[j].outline.area, room)
    for column, (k, _, each) in enumerate(stacks, len(cells)):
        _add(rows, high, ("ready", k), column, 1.0 / each, ready[k].count)
    sources = [(j, screened.scraps[i].cloth_key) for i, j, _ in cells]
    sources += [(j, ready[k].cloth_key) for k, j, _ in stacks]
    for column, (j, key) in enumerate(sources):
        _add(rows, high, ("need", j), column, 1.0, limits[j])
        cap = roles[needs[j].role].most_from(key)
        if cap is not None:
            _add(rows, high, (needs[j].role, key), column, 1.0, cap)
    where = [(r, c, a) for r, terms in enumerate(rows.values()) for c, a in terms.items()]
    r, c, a = (np.array(part) for part in zip(*where, strict=True))
    matrix = coo_array((a, (r, c)), shape=(len(rows), len(sources))).tocsr()
    gain, highest = np.array([worth[j] for j, _ in sources]), np.array(upper)
    rooms = np.array([high[key] + 1e-9 for key in rows])
    solved = linprog(  # type: ignore[call-overload]
        -gain, A_ub=matrix, b_ub=rooms, bounds=np.column_stack((0 * highest, highest))
    )
    plain = sum(w * limit for w, limit in zip(worth, limits, strict=True))
    if solved.status != 0:
        return plain
    # Any prices of the rows, not below 0, prove a limit: what all rows cost, and what of each
    # column's gain they leave unpaid. So a solver that errs makes the limit worse, never wrong.
    price = np.maximum(-solved.ineqlin.marginals, 0)
    unpaid = np.maximum(gain - matrix.T @ price, 0)
    return min(plain, float(rooms @ price + unpaid @ highest) * (1 + 1e-12))


def _add(
    rows: dict[object, dict[int, float]],
    high: dict[object, float],
    key: object,
    column: int,
    weight: float,
    most: float,
) -> None:
    rows[key][column] = weight
    high[key] = float(most)

"""The whole match against every way to cut: small scraps with whole inches, tried to the end.

Where all sides are whole inches and all pieces lie along the axes, some best way to cut has all its
corners on whole inches (push every piece to the left and down as far as it goes), so a search over
the cells of the grid leaves nothing out. It shares no code with the packer or the choice.
"""

import itertools
import random
from functools import cache

import pytest
from shapely import box

from scrapstore.matching import Need, RoleRule, ScrapStock, match
from tests.support.stock import OBLONG, SQUARE

ROLES = {"star": RoleRule("star")}
SIZES = {"square": ((2, 2),), "oblong": ((2, 3), (3, 2))}


@cache
def ways_to_cut(wide: int, tall: int) -> frozenset[tuple[int, int]]:
    """Return every (squares, oblongs) that can be cut from wide × tall in."""

    @cache
    def rest(taken: int, cell: int) -> frozenset[tuple[int, int]]:
        if cell == wide * tall:
            return frozenset({(0, 0)})
        found = set(rest(taken, cell + 1))
        x, y = cell % wide, cell // wide
        for name, sizes in SIZES.items():
            for w, h in sizes:
                if x + w > wide or y + h > tall:
                    continue
                mask = sum(
                    1 << (yy * wide + xx) for xx in range(x, x + w) for yy in range(y, y + h)
                )
                if not taken & mask:
                    for squares, oblongs in rest(taken | mask, cell + 1):
                        found.add((squares + (name == "square"), oblongs + (name == "oblong")))
        return frozenset(found)

    return rest(0, 0)


def best_area(sizes: list[tuple[int, int]], squares: int, oblongs: int) -> int:
    """Return the most square inches of wanted pieces that any plan covers."""
    plans = itertools.product(*(ways_to_cut(*size) for size in sizes))
    return max(
        4 * min(squares, sum(s for s, _ in plan)) + 6 * min(oblongs, sum(o for _, o in plan))
        for plan in plans
    )


def test_the_ways_to_cut_are_those_of_plain_reckoning() -> None:
    """5 × 4 in: four squares fill all but a strip; three oblongs 5 × 4; 20 sq in never all."""
    assert (4, 0) in ways_to_cut(5, 4)
    assert (5, 0) not in ways_to_cut(5, 4)
    assert (0, 3) in ways_to_cut(5, 4)
    assert (2, 2) in ways_to_cut(5, 4)


@pytest.mark.parametrize("seed", range(16))
def test_no_way_to_cut_covers_more_than_the_match(seed: int) -> None:
    draw = random.Random(seed)
    sizes = [(draw.randint(2, 5), draw.randint(3, 5)) for _ in range(3)]
    squares, oblongs = draw.randint(1, 7), draw.randint(1, 6)
    scraps = [ScrapStock(id=i, region=box(0, 0, *size)) for i, size in enumerate(sizes)]
    needs = [
        Need("square", "star", SQUARE, squares, (0.0,)),
        Need("oblong", "star", OBLONG, oblongs, (0.0, 90.0)),
    ]
    answer = match(scraps, [], needs, ROLES, effort=3.0)
    assert answer.together.area == pytest.approx(best_area(sizes, squares, oblongs))

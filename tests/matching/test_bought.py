"""Among plans that cover nearly as much, the one after which least is bought."""

from collections.abc import Mapping

import pytest
from shapely import box

from scrapstore.matching import Need, RoleRule, ScrapStock, faults, match
from tests.support.stock import SQUARE

ROLES = {"star": RoleRule("star")}
SCRAP = [ScrapStock(id=1, region=box(0, 0, 4, 4))]


def needs(tall: float) -> list[Need]:
    return [
        Need("large", "star", box(0, 0, 4, tall), 1, (0.0, 90.0)),
        Need("small", "star", SQUARE, 4, (0.0,)),
    ]


def by_strips(short: Mapping[str, int]) -> float:
    """A strip as high as the highest piece left, an inch besides, by the eighth of a yard."""
    high = 3.75 if short["large"] else 2.0 if short["small"] else -1.0
    return 4.5 * -(-(high + 1) // 4.5)


@pytest.mark.parametrize(
    ("tall", "to_buy", "cut"),
    [
        # Four small ones cover 16 sq in, the large one 15: that is near, and saves an eighth.
        (3.75, by_strips, {"large": 1}),
        (3.75, None, {"small": 4}),
        # 12 sq in are not near 16.
        (3.0, by_strips, {"small": 4}),
        # Nothing is saved: the area decides.
        (3.75, lambda _: 9.0, {"small": 4}),
    ],
    ids=["near and cheaper", "nobody says", "not near", "no cheaper"],
)
def test_what_must_be_bought_decides_between_near_equal_covers(
    tall: float, to_buy: object, cut: dict[str, int]
) -> None:
    answer = match(SCRAP, [], needs(tall), ROLES, to_buy=to_buy)  # type: ignore[arg-type]
    (use,) = answer.scrap_uses
    assert use.counts == cut
    assert answer.together.area <= answer.together.area_at_most
    assert faults(answer, SCRAP, [], needs(tall), ROLES) == []


def test_where_thousands_are_short_one_strip_more_is_not_asked_after() -> None:
    def never(_: Mapping[str, int]) -> float:
        raise AssertionError("asked")

    many = [Need("small", "star", SQUARE, 2000, (0.0,))]
    assert match(SCRAP, [], many, ROLES, to_buy=never, effort=0.1).supplies[0].scraps == 4

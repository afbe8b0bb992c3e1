"""What binding strips that lack can be cut from."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from shapely import affinity, box

from scrapstore.matching import RoleRule
from scrapstore.planning.allocate import length_gives
from scrapstore.planning.purchases import Shop
from scrapstore.planning.strip_supply import lengths_for_piece, lengths_for_strips, scraps_with_room
from scrapstore.store import CuttableScrap, Fabric, Scrap, Yardage
from scrapstore.yardage import StripPiece

SHOP = Shop()
"""It takes off 1 in for straightening, and nothing for washing."""
MOMENT = datetime(2026, 3, 1, tzinfo=UTC)
CALICO = Fabric(id=1, created=MOMENT, name="calico", usable_width=40.0)


def _length(number: int, inches: float, width: float | None = None) -> Yardage:
    return Yardage(id=number, created=MOMENT, fabric=CALICO, length=inches, usable_width=width)


def _scrap(number: int, width: float, height: float, grain_deg: float | None) -> Scrap:
    return Scrap(
        id=number, created=MOMENT, outline=box(0, 0, width, height), grain_deg=grain_deg,
        area=width * height, long_side=max(width, height), short_side=min(width, height),
    )  # fmt: skip


def _cuttable(scrap: Scrap) -> CuttableScrap:
    return CuttableScrap(
        id=scrap.id, outline=scrap.outline, flaws=(), grain_deg=scrap.grain_deg, edge=0.0,
        old_edges=None, fabric=None, family=None, value=None, fibre=None, one_way_print=False,
        alike=False,
    )  # fmt: skip


def test_strips_across_along_or_not_at_all() -> None:
    """By hand: two strips of 40 crossed give 77 3/4; along, a length of 30 gives one of 28."""
    found = lengths_for_strips(
        [_length(1, 10), _length(2, 3), _length(3, 31, width=9)], 28, 2.25, 40, SHOP, bias=False
    )
    assert [(one.yardage.id, one.count, one.takes, one.way) for one in found] == [
        (1, 1, 2.25, "across the width"), (3, 4, 9.0, "across the width"),
    ]  # fmt: skip
    (two,) = lengths_for_strips([_length(1, 10)], 76, 2.25, 40, SHOP, bias=False)
    assert (two.count, two.takes) == (2, 4.5)
    (along,) = lengths_for_strips([_length(4, 31, width=3)], 28, 2.25, 40, SHOP, bias=False)
    assert (along.count, along.takes, along.way) == (1, 28, "along the selvage")


@pytest.mark.parametrize(("length", "width"), [(20.0, 2.25), (8.0, 2.5)])
def test_a_bias_strip_fits_its_square(length: float, width: float) -> None:
    """Beside shapely: the box round a strip that is turned by 45 degrees."""
    (found,) = lengths_for_strips([_length(1, 36)], length, width, 40, SHOP, bias=True)
    left, bottom, right, top = affinity.rotate(box(0, 0, length, width), 45).bounds
    assert found.takes == pytest.approx(right - left)
    assert found.takes == pytest.approx(top - bottom)
    assert (
        lengths_for_strips([_length(1, found.takes + 0.99)], length, width, 40, SHOP, bias=True)
        == ()
    )


def test_straightening_and_washing_are_taken_off_a_length_as_for_a_project() -> None:
    """By hand: 10 in less 1 in of straightening are 9; 5 % of 10 in are 1/2 in unless washed."""
    ten = _length(1, 10)
    washed = replace(ten, fabric=replace(CALICO, washed=True))
    shop = replace(SHOP, shrinkage=0.05)

    def found(width: float, one: Yardage, shop: Shop) -> tuple[bool, bool, bool]:
        piece = StripPiece("strip", box(0, 0, 30, width), 1)
        rule = RoleRule("strip")
        return (
            bool(lengths_for_strips([one], 30, width, 40, shop, bias=False)),
            bool(lengths_for_piece([one], 30, width, 40, shop)),
            bool(length_gives(rule, piece, one, usual_width=40, shop=shop)),
        )

    assert found(9, ten, SHOP) == (True, True, True)
    assert found(9.25, ten, SHOP) == (False, False, False)
    assert found(8.5, ten, shop) == (True, True, True)
    assert found(8.75, ten, shop) == (False, False, False)
    assert found(9, washed, shop) == (True, True, True)


def test_scraps_with_room_straight_and_on_the_bias() -> None:
    """A square of 10 has room for a strip 2 wide and 12 long on the bias, and not along it."""
    scraps = [_scrap(1, 10, 10, 0.0), _scrap(2, 30, 20, 0.0), _scrap(3, 30, 20, None)]
    cuttable = [_cuttable(scrap) for scrap in scraps]
    straight = scraps_with_room(scraps, cuttable, 12, 2, bias=False)
    assert [scrap.id for scrap in straight] == [2, 3]
    on_bias = scraps_with_room(scraps, cuttable, 12, 2, bias=True)
    assert [scrap.id for scrap in on_bias] == [1, 2]

"""Printed charts of how many squares a cut of fabric gives; the packer must reach every figure."""

import pytest
from shapely.geometry import Polygon, box

from scrapstore.packing import PieceKind, fill, verify

# docsbay.net "Number of Squares from a Fat Quarter"; quilterscache.com math charts (2002)
FAT_QUARTER = {
    2: 99, 2.5: 56, 3: 42, 3.5: 30, 4: 20, 4.5: 16, 5: 12, 5.5: 12, 6: 9, 6.5: 6,
}  # fmt: skip
# quilterscache.com math charts (2002). For 7 in it prints 35, but 36 / 7 and 44 / 7 leave 5 × 6.
ONE_YARD = {
    2: 396, 2.5: 238, 2.875: 180, 3.5: 120, 4: 99, 4.5: 72, 5: 56, 5.5: 48, 6: 42, 6.5: 30, 7: 30,
    8.5: 20, 10: 12, 12.5: 6,
}  # fmt: skip


def _squares(side: float, cloth: Polygon) -> int:
    kind = PieceKind("square", box(0, 0, side, side), 999, (0.0,), mirror=False)
    layout = fill(cloth, [kind], seconds=0.1)
    assert verify(cloth, [kind], layout) == []
    return len(layout.placements)


@pytest.mark.parametrize(("side", "printed"), FAT_QUARTER.items())
def test_squares_from_a_fat_quarter(side: float, printed: int) -> None:
    assert _squares(side, box(0, 0, 22, 18)) >= printed


@pytest.mark.parametrize(("side", "printed"), ONE_YARD.items())
def test_squares_from_one_yard(side: float, printed: int) -> None:
    assert _squares(side, box(0, 0, 44, 36)) >= printed

"""As few seams as can be are set in: against trying every order, and figures by geometry."""

import math
from dataclasses import replace

import pytest
from shapely import Polygon, affinity, box

from scrapstore.designs import DESIGNS, Design, PlacedPiece, make_design
from scrapstore.designs.sewing import SewingOrder, order_of_pieces, sewing_order
from scrapstore.errors import ShapeError
from tests.support.tilings import blocks, fewest_bends, guillotine, merged_triangles, spiral


def placed(outlines: list[Polygon]) -> list[PlacedPiece]:
    return [
        PlacedPiece(f"{at}", "piece", "role", None, None, f"{at}", outline, 0.0)
        for at, outline in enumerate(outlines)
    ]


def order_of(outlines: list[Polygon]) -> SewingOrder:
    return order_of_pieces(placed(outlines))


def star(fill: str = "split", size: float | None = None) -> Design:
    return make_design("star", piece=1.5, size=size, a_side=3, fill=fill, seam=0.25, mark=0.125)


@pytest.mark.parametrize("count", [2, 5, 9, 30])
@pytest.mark.parametrize("seed", range(6))
def test_rectangles_cut_from_one_are_sewn_with_straight_seams(seed: int, count: int) -> None:
    order = order_of(guillotine(seed, count))
    assert (order.seams, order.set_in) == (count - 1, 0)


@pytest.mark.parametrize("seed", range(150))
def test_no_order_has_fewer_bends(seed: int) -> None:
    pieces = merged_triangles(seed, 4 + seed % 6)
    order = order_of(pieces)
    assert order.set_in == order.set_in_at_least == fewest_bends(pieces)
    assert order.seams == len(pieces) - 1 + order.set_in


def test_the_random_tops_are_of_every_kind() -> None:
    """Some need no bend, some one where no three seams meet, and most a few."""
    found = {order_of(merged_triangles(seed, 4 + seed % 6)).set_in for seed in range(150)}
    assert found >= {0, 1, 2, 3}


def test_rectangles_that_chase_one_another_need_a_partial_seam() -> None:
    pieces = spiral()
    order = order_of(pieces)
    assert order.set_in == order.set_in_at_least == fewest_bends(pieces) == 1
    ((join, bend),) = [(join, bend) for join in order.joins for bend in join.bends]
    assert bend.partly is not None
    partial = order.join(bend.partly)
    # Both lie on one line through the point: what is left open is closed after the last join.
    ways = [
        math.atan2(end[1] - bend.point[1], end[0] - bend.point[0]) % math.pi
        for end in (*partial.path, *join.path)
        if math.dist(end, bend.point) > 1e-9
    ]
    assert sum(abs(math.sin(way - ways[0])) < 1e-9 for way in ways) >= 2
    assert bend.point in partial.path
    assert partial.number < join.number == len(order.joins)


@pytest.mark.parametrize("mirrored", [False, True])
def test_a_spiral_within_a_spiral_needs_two_partial_seams(*, mirrored: bool) -> None:
    inner = [affinity.affine_transform(one, [1 / 3, 0, 0, 1 / 3, 1, 1]) for one in spiral()]
    if mirrored:
        inner = [affinity.scale(one, -1, 1, origin=(1.5, 1.5)) for one in inner]
    pieces = [*inner, *spiral()[1:]]
    order = order_of(pieces)
    assert order.set_in == order.set_in_at_least == fewest_bends(pieces) == 2
    assert all(bend.partly for join in order.joins for bend in join.bends)


def test_three_diamonds_cannot_be_sewn_with_straight_seams() -> None:
    order = order_of(blocks(1, 1))
    assert (order.seams, order.set_in, order.set_in_at_least) == (3, 1, 1)
    ((bend,),) = [join.bends for join in order.joins if join.bends]
    assert bend.pieces == (0, 1, 2)
    assert bend.partly is None
    assert bend.point == pytest.approx((0, 0))


def test_a_field_of_blocks_has_a_seam_set_in_wherever_three_seams_meet() -> None:
    """By geometry: the middles of the blocks, and points inside at which three diamonds meet."""
    pieces = blocks(4, 4)
    corners = [tuple(round(v, 6) for v in xy) for p in pieces for xy in p.exterior.coords[:-1]]
    obtuse = {
        tuple(round(v, 6) for v in p.exterior.coords[k])
        for p in pieces
        for k in range(4)
        if angle_deg(p, k) == 120
    }
    order = order_of(pieces)
    assert order.set_in == order.set_in_at_least == sum(corners.count(one) == 3 for one in obtuse)


def angle_deg(piece: Polygon, at: int) -> int:
    ring = piece.exterior.coords[:-1]
    (a, b), (x, y), (c, d) = ring[at - 1], ring[at], ring[(at + 1) % len(ring)]
    turn = math.atan2(b - y, a - x) - math.atan2(d - y, c - x)
    return round(math.degrees(turn) % 360)


def test_the_star_alone() -> None:
    """By geometry: six wedges of 8 joins, 4 within the halves, one last; the side is √3."""
    diamonds = [one for one in star().pieces if one.ring is not None]
    order = order_of_pieces(diamonds)
    assert (len(diamonds), order.seams, order.set_in) == (54, 53, 0)
    last = order.joins[-1]
    assert last.length == pytest.approx(6 * math.sqrt(3))
    assert [len(batch.joins) for batch in order.batches] == [18, 18, 6, 6, 2, 2, 1]
    assert [batch.makes for batch in order.batches] == [
        "pair", "row", "part of 6 pieces", "wedge", "part of 18 pieces", "half", "the whole top",
    ]  # fmt: skip
    assert len(last.path) == 2


def test_the_star_to_a_hexagon() -> None:
    """By geometry: whole 120° pieces lie in six notches; their halves make the notches straight."""
    split, whole = star(), star("hexagon")
    assert [len(split.pieces), len(whole.pieces)] == [66, 60]
    straight, bent = sewing_order(split), sewing_order(whole)
    assert (straight.seams, straight.set_in) == (65, 0)
    assert (len(bent.joins), bent.seams) == (59, 65)
    assert bent.set_in == bent.set_in_at_least == whole.set_in_seams == 6
    set_in = [bend for join in bent.joins for bend in join.bends]
    assert all(bend.partly is None for bend in set_in)
    names = [{whole.pieces[piece].position for piece in bend.pieces} for bend in set_in]
    notches = {f"{k}-{k % 6 + 1}" for k in range(1, 7)}
    assert {(each & notches).pop() for each in names} == notches


def test_the_star_to_a_square() -> None:
    square = star("rectangle", size=24)
    order = sewing_order(square)
    assert (order.seams, order.set_in) == (len(square.pieces) - 1, 0)
    assert order.batches[-1].sides[0].raw(0.25) == 24.5


@pytest.mark.parametrize(("rows", "columns"), [(2, 2), (3, 2), (3, 5)])
def test_pinwheels_are_sewn_unit_by_unit_and_block_by_block(rows: int, columns: int) -> None:
    design = make_design("pinwheels", piece=4, rows=rows, columns=columns, seam=0.25, mark=0.125)
    order = sewing_order(design)
    blocks_in_all = rows * columns
    assert (order.seams, order.set_in) == (8 * blocks_in_all - 1, 0)
    made = {batch.makes: len(batch.joins) for batch in order.batches}
    assert made["unit"] == 4 * blocks_in_all
    assert made["block"] == blocks_in_all
    assert made["row"] == rows
    assert made["the whole top"] == 1


def test_four_pinwheels() -> None:
    """By geometry: 16 diagonals and 15 joins of 16 units; the last seam is as long as the top."""
    order = sewing_order(
        make_design("pinwheels", piece=4, rows=2, columns=2, seam=0.25, mark=0.125)
    )
    assert (order.seams, len(order.batches[0].joins)) == (31, 16)
    assert order.joins[-1].length == 16
    assert [(side.finished, side.raw(0.25)) for side in order.batches[-1].sides] == [(16, 16.5)] * 2
    assert order.batches[0].sides[0].raw(0.25) == 4.5


def test_a_top_whose_pieces_come_off_one_by_one_may_be_large() -> None:
    """A staircase of strips round a corner: every piece is the next one's whole side."""
    pieces, wide, high = [box(0, 0, 1, 1)], 1.0, 1.0
    for at in range(380):
        if at % 2:
            pieces.append(box(0, high, wide, high + 0.1))
            high += 0.1
        else:
            pieces.append(box(wide, 0, wide + 0.1, high))
            wide += 0.1
    order = order_of(pieces)
    assert (order.seams, order.set_in) == (380, 0)
    assert [join.pieces == frozenset(range(number + 1)) for number, join in
            enumerate(order.joins, 1)] == [True] * 380  # fmt: skip


def test_units_of_triangles_are_never_parted() -> None:
    """By geometry: four mitred corners are set in; seams right through the units would spare them.

    They could be sewn, along the diagonals of the whole top, only if no unit were a sewn square.
    """
    design = make_design(
        "pinwheels", piece=2, rows=2, columns=2, border=1.5, border_corners="mitred", seam=0.25,
        mark=0.125,
    )  # fmt: skip
    order = sewing_order(design)
    assert (order.set_in, order.set_in_at_least, len(order.units)) == (4, 4, 16)
    assert (order.batches[0].makes, len(order.batches[0].joins)) == ("unit", 16)
    assert not any(bend.partly for join in order.joins for bend in join.bends)
    loose = [replace(piece, unit=piece.position) for piece in design.pieces]
    assert order_of_pieces(loose).set_in == 0


@pytest.mark.parametrize("name", sorted(DESIGNS))
def test_as_many_are_set_in_as_the_design_says(name: str) -> None:
    """The design counts the points that no straight line goes through, or knows by its making."""
    design = make_design(name, seam=0.25, mark=0.125)
    order = sewing_order(design)
    assert order.set_in == order.set_in_at_least == design.set_in_seams
    assert len(order.joins) == len(design.pieces) - 1


@pytest.mark.parametrize("columns", [1, 2])
def test_a_mitred_border_is_sewn_on_strip_by_strip(columns: int) -> None:
    """Common practice: each strip to its side of the whole top, then the corners."""
    design = make_design(
        "nine-patch", piece=2, rows=2, columns=columns, border=1.5, border_corners="mitred",
        seam=0.25, mark=0.125,
    )  # fmt: skip
    inner = len(design.pieces) - 4
    last = sewing_order(design).joins[-4:]
    assert [len(join.pieces) for join in last] == [inner + 1, inner + 2, inner + 3, inner + 4]
    assert [len(join.bends) for join in last] == [0, 1, 1, 2]


def test_a_block_that_is_a_row_by_itself_is_called_a_block() -> None:
    made = make_design(
        "nine-patch", piece=2, rows=1, columns=1, border=1, seam=0.25, mark=0.125
    )  # fmt: skip
    batches = sewing_order(made).batches
    assert [one.makes for one in batches if one.makes in ("row", "block")] == ["block"]


def test_rows_are_joined_in_pairs_and_pairs_of_pairs() -> None:
    order = sewing_order(
        make_design("pinwheels", piece=4, rows=10, columns=2, seam=0.25, mark=0.125)
    )
    rows = [len(join.pieces) // 16 for join in order.joins if len(join.pieces) > 16]
    assert sorted(rows) == [2, 2, 2, 2, 2, 4, 4, 8, 10]


def test_what_is_congruent_is_sewn_alike() -> None:
    """Every wedge of the star by the same joins: six times the same numbers, or once for all."""
    order = sewing_order(star())
    assert sorted({len(batch.joins) for batch in order.batches}) == [1, 2, 6, 18]


def test_pieces_that_make_no_top_are_refused() -> None:
    with pytest.raises(ShapeError, match="do not all touch"):
        order_of([box(0, 0, 1, 1), box(2, 0, 3, 1)])
    ring = [box(0, 0, 3, 1), box(0, 1, 1, 3), box(1, 2, 3, 3), box(2, 1, 3, 2)]
    with pytest.raises(ShapeError, match="hole"):
        order_of(ring)
    with pytest.raises(ShapeError, match="overlap"):
        order_of([box(0, 0, 1, 1), box(0, 0, 1, 2)])

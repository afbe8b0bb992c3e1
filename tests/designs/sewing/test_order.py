"""Every step of a sewing order: parts make the whole, seams add up, allowances oppose."""

import math
from itertools import combinations

import pytest
import shapely
from shapely import LineString, Point, Polygon

from scrapstore.designs import Design, PlacedPiece, make_design
from scrapstore.designs.sewing import Join, SewingOrder, order_of_pieces, sewing_order
from scrapstore.designs.sewing.measures import sides_to_measure
from scrapstore.designs.sewing.pressing import Crossing, Seams, pressed
from scrapstore.designs.sewing.subdivision import Subdivision
from tests.support.tilings import guillotine, merged_triangles


def design(name: str, **sizes: float) -> Design:
    return make_design(name, seam=0.25, mark=0.125, **sizes)  # type: ignore[arg-type]


DESIGNS = [
    design("star", piece=1.5),
    make_design("star", piece=1.5, fill="hexagon", seam=0.25, mark=0.125),
    make_design("star", size=24, fill="rectangle", seam=0.25, mark=0.125),
    design("pinwheels", piece=4, rows=2, columns=3),
    design("nine-patch", piece=2, rows=2, columns=2),
    design("squares", piece=2, rows=5, columns=4),
]


def random_top(seed: int, *, rectangles: bool) -> list[PlacedPiece]:
    outlines = guillotine(seed, 14) if rectangles else merged_triangles(seed, 8)
    return [
        PlacedPiece(f"{at}", "piece", "role", None, None, f"{at}", outline, 0.0)
        for at, outline in enumerate(outlines)
    ]


TOPS = [
    *((one.name, list(one.pieces)) for one in DESIGNS),
    *((f"random {seed}", random_top(seed, rectangles=seed % 2 == 0)) for seed in range(12)),
]


@pytest.fixture(params=TOPS, ids=[name for name, _ in TOPS])
def top(request: pytest.FixtureRequest) -> tuple[list[PlacedPiece], SewingOrder]:
    _, pieces = request.param
    return pieces, order_of_pieces(pieces)


def test_each_step_is_the_union_of_its_parts(top: tuple[list[PlacedPiece], SewingOrder]) -> None:
    pieces, order = top
    made: dict[int, Polygon] = {}
    for join in order.joins:
        parts = [
            pieces[part.piece].outline if part.piece is not None else made.pop(part.join or 0)
            for part in (join.first, join.second)
        ]
        whole = shapely.union_all(parts, grid_size=1e-7)
        assert isinstance(whole, Polygon)
        assert whole.area == pytest.approx(math.fsum(one.area for one in parts), rel=1e-6)
        own = shapely.union_all([pieces[piece].outline for piece in join.pieces], grid_size=1e-7)
        assert whole.symmetric_difference(own).area < 1e-5
        # The seam is all of what the two have in common, with the first part on its left.
        path = LineString(join.path)
        assert path.length == pytest.approx(join.length)
        shared = parts[0].buffer(1e-6).intersection(parts[1].buffer(1e-6))
        assert path.within(shared.buffer(1e-5))
        assert shared.within(path.buffer(1e-3))
        assert parts[0].intersects(Point(beside(join, 1e-3)))
        made[join.number] = whole
    assert list(made) == [len(order.joins)]


def beside(join: Join, off: float) -> tuple[float, float]:
    """Return a point left of the middle of a seam's first straight part."""
    (x, y), (to_x, to_y) = join.path[:2]
    long = math.dist((x, y), (to_x, to_y))
    return (x + to_x) / 2 - (to_y - y) / long * off, (y + to_y) / 2 + (to_x - x) / long * off


def test_seams_add_up_to_all_edges_inside(top: tuple[list[PlacedPiece], SewingOrder]) -> None:
    pieces, order = top
    around = math.fsum(one.outline.length for one in pieces)
    outer = shapely.union_all([one.outline for one in pieces], grid_size=1e-7).length
    seams = math.fsum(join.length for join in order.joins)
    assert seams == pytest.approx((around - outer) / 2, rel=1e-6)


def test_each_join_is_in_one_batch_of_its_kind(top: tuple[list[PlacedPiece], SewingOrder]) -> None:
    pieces, order = top
    numbers = [number for batch in order.batches for number in batch.joins]
    assert numbers == [join.number for join in order.joins] == list(range(1, len(pieces)))
    for batch in order.batches:
        joins = [order.join(number) for number in batch.joins]
        assert {join.batch for join in joins} == {batch.number}
        assert len({len(join.pieces) for join in joins}) == 1
        for one in joins:
            assert one.length == pytest.approx(joins[0].length)
            assert [meet.at for meet in one.meets] == pytest.approx([m.at for m in joins[0].meets])
            assert len(one.bends) == len(joins[0].bends)


def test_parts_are_sewn_before_they_are_used(top: tuple[list[PlacedPiece], SewingOrder]) -> None:
    _, order = top
    for join in order.joins:
        for part in (join.first, join.second):
            assert (part.piece is None) != (part.join is None)
            assert part.join is None or part.join < join.number


def test_pins_are_where_seams_of_both_sides_end(
    top: tuple[list[PlacedPiece], SewingOrder],
) -> None:
    """Counted anew from the outlines: corners of at least two pieces on either side."""
    pieces, order = top
    for join in order.joins:
        path = LineString(join.path)
        sides = [set(range(len(pieces))) & side for side in split(order, join)]
        expected = set()
        for one in join.pieces:
            for corner in pieces[one].outline.exterior.coords[:-1]:
                at = path.project(Point(corner))
                if path.distance(Point(corner)) > 1e-6 or not 1e-6 < at < path.length - 1e-6:
                    continue
                if all(touching(pieces, side, corner) >= 2 for side in sides):
                    expected.add(round(at, 4))
        assert {round(meet.at, 4) for meet in join.meets} == expected


def split(order: SewingOrder, join: Join) -> list[frozenset[int]]:
    return [
        frozenset((part.piece,)) if part.piece is not None else order.join(part.join or 0).pieces
        for part in (join.first, join.second)
    ]


def touching(pieces: list[PlacedPiece], side: set[int], corner: tuple[float, ...]) -> int:
    return sum(pieces[one].outline.distance(Point(corner)) < 1e-6 for one in side)


def lies(join: Join, corner: tuple[float, float]) -> str:
    """Say in words of a straight join where its allowances lie."""
    (x, y), (to_x, to_y) = join.path[0], join.path[-1]
    left = (y - to_y, to_x - x)
    way = left if join.press_to_first else (-left[0], -left[1])
    if abs(way[0]) > abs(way[1]):
        return "right" if way[0] > 0 else "left"
    return "up" if way[1] > 0 else "down"


@pytest.mark.parametrize(("rows", "columns"), [(2, 2), (4, 5), (5, 3)])
def test_crossing_seams_of_a_chequerboard_lie_to_opposite_sides(rows: int, columns: int) -> None:
    order = sewing_order(design("squares", piece=2, rows=rows, columns=columns))
    assert len(order.meets) == (rows - 1) * (columns - 1)
    for join, meet in order.meets:
        assert meet.opposed
        x, y = meet.point
        ending = [
            lies(one, meet.point)
            for one in order.joins
            if one is not join and LineString(one.path).distance(Point(x, y)) < 1e-9
        ]
        assert sorted(ending) in (["left", "right"], ["down", "up"])


@pytest.mark.parametrize("one", DESIGNS, ids=[one.name for one in DESIGNS])
def test_all_seams_of_the_designs_nest(one: Design) -> None:
    assert all(meet.opposed for _, meet in sewing_order(one).meets)


def test_allowances_spin_round_the_middle_of_a_pinwheel() -> None:
    """Seen from the middle of a block, all seams that end there are pressed the same way round."""
    top = design("pinwheels", piece=4, rows=1, columns=1)
    order = sewing_order(top)
    turns = []
    for join in order.joins:
        for start in (join.path[0], join.path[-1]):
            if math.hypot(*start) < 1e-9:
                leaves = start == join.path[0]
                turns.append(leaves == join.press_to_first)
    assert len(turns) == 6  # the last seam goes on through the middle
    assert len(set(turns)) == 1


def test_seams_that_contradict_one_another_are_said_not_to_nest() -> None:
    """Three seams that chase one another round a triangle cannot all be pressed the same way."""
    top = Subdivision([Polygon([(0, 0), (2, 0), (1, 2)])])
    seams = Seams()
    for number, edge in enumerate(top.edges):
        seams.join[number], seams.start[number] = number, edge.start
    crossings = [
        Crossing(9, point, ((edges[0],), (edges[1],))) for point, edges in enumerate(top.edges_at)
    ]
    to_first, opposed = pressed(top, [None] * 3, seams, crossings)
    assert len(to_first) == 3
    assert sorted(opposed.values()) == [False, True, True]


@pytest.mark.parametrize(
    ("corners", "expected"),
    [
        ([(0, 0), (4, 0), (4, 2), (0, 2)], {("across", 2.0), ("across", 4.0)}),
        ([(0, 0), (4, 0), (5, 2), (1, 2)], {("across", 2.0), ("across", 8 / math.sqrt(5))}),
        ([(0, 0), (6, 0), (5, 2), (1, 2)], {("across", 2.0)}),
        ([(0, 0), (3, 0), (0, 4)], {("along", 5.0)}),
        # A side in a notch is none that a ruler can be laid across.
        ([(0, 0), (6, 0), (6, 4), (4, 4), (4, 1), (2, 1), (2, 4), (0, 4)],
         {("across", 4.0), ("across", 6.0)}),
        # Two mitred strips round a corner: their free ends lie on one line, with nothing between.
        ([(0, 0), (8, 0), (8, 8), (7, 7), (7, 1), (1, 1)], {("along", 8.0)}),
    ],
)  # fmt: skip
def test_what_is_measured(
    corners: list[tuple[float, float]], expected: set[tuple[str, float]]
) -> None:
    sides = sides_to_measure(Polygon(corners))
    assert {(side.how, round(side.finished, 9)) for side in sides} == {
        (how, round(size, 9)) for how, size in expected
    }
    assert all(side.raw(0.25) == side.finished + 0.5 * (side.how == "across") for side in sides)


def test_two_pieces_are_pressed_to_the_darker() -> None:
    top = design("pinwheels", piece=4, rows=2, columns=2)
    for sign in (1, -1):
        order = sewing_order(top, [sign * (piece.role == "sails") for piece in top.pieces])
        for number in order.batches[0].joins:
            join = order.join(number)
            part = join.first if join.press_to_first else join.second
            assert part.piece is not None
            assert (top.pieces[part.piece].role == "sails") == (sign > 0)
        assert all(meet.opposed for _, meet in order.meets)
    # Nothing known: the background is the lighter one.
    assert sewing_order(top) == sewing_order(top, [p.role == "sails" for p in top.pieces])


def test_numbers_do_not_depend_on_a_turn_of_the_top() -> None:
    """A turned star has the same batches, seams and measures."""
    pieces = list(DESIGNS[0].pieces)
    turned = [
        PlacedPiece(
            one.position, one.piece, one.role, one.ring, one.wedge, one.unit,
            shapely.affinity.rotate(one.outline, 17, origin=(3, 5)), one.grain_deg,
        )
        for one in pieces
    ]  # fmt: skip
    orders = [order_of_pieces(each) for each in (pieces, turned)]
    sizes = [[(len(b.joins), b.makes, len(b.sides)) for b in order.batches] for order in orders]
    assert sizes[0] == sizes[1]
    assert not any(
        one.pieces & other.pieces
        for order in orders
        for batch in order.batches
        for one, other in combinations(map(order.join, batch.joins), 2)
    )

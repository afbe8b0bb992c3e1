"""What prices prove: never less than a layout that exists, and what the compiled sums are worth."""

import math
import random

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from shapely import area, box, contains_xy, intersection, intersects, prepare
from shapely.affinity import rotate, translate
from shapely.geometry import MultiPolygon, Polygon
from shapely.ops import unary_union

from scrapstore.packing import Layout, PieceKind, fill, usable_region, verify
from scrapstore.packing.pieces import believed
from scrapstore.packing.problem import PackingProblem, Pose
from scrapstore.packing.proof import prove
from scrapstore.packing.proof.bound import _price_bound, _rounded_down
from scrapstore.packing.proof.inspection import Inspection
from scrapstore.packing.proof.price_integrals import covered_price, covered_shares, least_prices
from scrapstore.packing.proof.prices import PriceProgram, Prices
from scrapstore.packing.regions import as_region
from tests.support.cloth import DIAMOND, ELL, HALF, QUARTERS, ROOT3, TRIANGLE, kind, torn

SHAPES = {"d": DIAMOND, "t": TRIANGLE, "h": HALF, "l": ELL, "s": box(0, 0, 1.5, 1.5)}


def _priced_bound(region: Polygon | MultiPolygon, kinds: list[PieceKind], seconds: float) -> float:
    """The limit before it is rounded or held against another."""
    return _price_bound(PackingProblem(as_region(region), kinds), seconds)


@pytest.mark.parametrize(
    ("region", "kinds"),
    [
        (box(0, 0, 6, 4), [kind(box(0, 0, 1, 1), 24, (0.0,))]),
        (box(0, 0, 5, 4), [kind(box(0, 0, 1, 2), 10, (0.0, 90.0))]),
        (Polygon([(0, 0), (4, 0), (5, ROOT3), (1, ROOT3)]), [kind(TRIANGLE, 4, (0.0, 180.0))]),
        (Polygon([(0, 0), (3, 0), (3, 2), (2, 2), (2, 3), (0, 3)]), [kind(ELL, 2), kind(
            box(0, 0, 1, 1), 2, name="s")]),
        (box(0, 0, 1, ROOT3), [kind(HALF, 2, (0.0, 180.0))]),
        (MultiPolygon([box(0, 0, 2, 2), box(5, 0, 7, 1)]), [kind(ELL, 1), kind(
            box(0, 0, 1, 1), 3, name="s")]),
    ],
    ids=["squares", "dominoes", "triangles", "ells", "halves", "two parts"],
)  # fmt: skip
def test_a_region_of_pieces_without_gaps_is_worth_its_area(
    region: Polygon | MultiPolygon, kinds: list[PieceKind]
) -> None:
    """The whole region can be cut into the wanted pieces, so no limit may be below its area."""
    wanted = sum(k.worth * k.wanted for k in kinds)
    most = min(region.area, wanted)
    assert _priced_bound(region, kinds, 0.5) >= most * (1 - 1e-9)
    # Also as it is given on, rounded to whole pieces; beside no layout that could lift it.
    empty = Layout((), 0.0, 1e9)
    assert prove(region, kinds, empty, 0.5).bound >= most * (1 - 1e-9)
    assert fill(region, kinds, seconds=0.02).bound >= most * (1 - 1e-9)


def test_bounds_are_rounded_down_to_what_whole_pieces_are_worth() -> None:
    problem = PackingProblem(
        as_region(box(0, 0, 9, 9)),
        [
            kind(box(0, 0, 1, 2), 3, name="a", value=5.0),
            kind(box(0, 0, 1, 1), 2, name="b", value=2),
        ],
    )
    sums = sorted({5.0 * a + 2.0 * b for a in range(4) for b in range(3)})
    for bound in np.linspace(0, 22, 221).tolist():
        assert _rounded_down(problem, bound) == max(s for s in sums if s <= bound + 1e-6)
    assert _rounded_down(problem, 12.0 - 1e-9) == 12.0  # but for rounding it would be twelve
    assert math.isinf(_rounded_down(problem, math.inf))


def test_a_bound_below_what_is_laid_is_not_believed() -> None:
    """It would be a fault of the program; it must not pass for a proof."""
    assert math.isinf(believed(9.0, 10.0))
    assert believed(10.0 - 1e-9, 10.0) == 10.0
    assert believed(11.0, 10.0) == 11.0
    cloth, squares = box(0, 0, 3.3, 3.3), [kind(box(0, 0, 1, 1), 9, (0.0,))]
    problem = PackingProblem(as_region(cloth), squares)
    poses = [Pose(0, float(x), 0.0) for x in range(3)]
    assert not problem.layout(poses, 2.0).proven
    assert problem.layout(poses, 3.0).proven


@pytest.mark.parametrize("value", [1e-9, 1e-6, 1.0, 1e6])
def test_what_pieces_are_worth_in_numbers_does_not_matter(value: float) -> None:
    """Nine unit squares fit; an empty layout is never the best, however little they are worth."""
    cloth, squares = box(0, 0, 3.3, 3.3), [kind(box(0, 0, 1, 1), 9, (0.0,), value=value)]
    empty = prove(cloth, squares, Layout((), 0.0, 100 * value), 0.5)
    assert not empty.proven
    assert empty.bound >= 9 * value * (1 - 1e-9)
    if value >= 1:  # of far less the solver makes nothing, and the bound stays what it was
        assert empty.bound == pytest.approx(9 * value)


@pytest.mark.parametrize("turn_deg", [60.0, 120.0, 180.0])
def test_of_two_turns_that_nearly_agree_the_one_that_fits_is_found(turn_deg: float) -> None:
    """A hexagon printed with six decimals, and cloth that is exactly as large once it is turned."""
    ring = [(round(math.cos(a), 6), round(math.sin(a), 6)) for a in np.arange(6) * math.pi / 3]
    hexagon = Polygon(ring)
    cloth, pieces = rotate(hexagon, turn_deg, origin=(0, 0)), [kind(hexagon, 9, (0.0, turn_deg))]
    found = fill(cloth, pieces, seconds=0.02)
    assert len(found.placements) == 1
    assert verify(cloth, pieces, found) == []


def test_a_price_for_the_kind_counts_where_few_are_wanted() -> None:
    """On cloth for nine squares, two of which are wanted, the limit is two squares."""
    cloth, squares = box(0, 0, 3.2, 3.2), [kind(box(0, 0, 1, 1), 2, (0.0,), value=5.0)]
    assert _priced_bound(cloth, squares, 0.5) == pytest.approx(10.0, rel=0.01)


def test_a_neck_is_felt() -> None:
    """Two rooms for one square each, joined by a passage none fits through: two, not three."""
    rooms = [box(0, 0, 1.4, 1.4), box(1.4, 0.4, 3, 1.2), box(3, 0, 4.4, 1.4)]
    cloth = as_region(unary_union(rooms))
    squares = [kind(box(0, 0, 1, 1), rotations_deg=(0.0,))]
    layout = fill(cloth, squares, seconds=0.05)
    assert len(layout.placements) == 2
    assert layout.bound == pytest.approx(3.0)
    assert prove(cloth, squares, layout, seconds=1.0).proven


def test_the_same_call_gives_the_same_bound() -> None:
    cloth, kinds = torn(30, 3.0), [kind(DIAMOND, mirror=True)]
    layout = Layout((), 0.0, cloth.area)
    bounds = {prove(cloth, kinds, layout, seconds=0.5).bound for _ in range(2)}
    assert len(bounds) == 1
    assert bounds.pop() < cloth.area


@st.composite
def cloths(draw: st.DrawFn) -> MultiPolygon:
    """A torn-off piece with up to three flaws, some of them smaller than pieces."""
    chance = random.Random(draw(st.integers(0, 10_000)))
    corners, across = chance.randint(3, 12), chance.uniform(1.5, 4.5)
    ring = []
    for k in range(corners):
        reach, angle = across * chance.uniform(0.3, 1), 2 * math.pi * k / corners
        ring.append((reach * math.cos(angle), reach * math.sin(angle)))
    flaws = []
    for _ in range(chance.randint(0, 3)):
        x, y, half = chance.uniform(-3, 3), chance.uniform(-3, 3), chance.uniform(0.02, 0.5)
        flaws.append(box(x - half, y - half, x + half, y + half))
    return usable_region(Polygon(ring), flaws, chance.choice((0.0, 0.125)))


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
@given(
    cloths(),
    st.lists(st.sampled_from(sorted(SHAPES)), min_size=1, max_size=2, unique=True),
    st.sampled_from((1, 3, 99)),
    st.sampled_from(((0.0,), QUARTERS, (17.0, 80.0))),
    st.booleans(),
    st.sampled_from((None, 1.0)),
)
def test_no_layout_is_worth_more_than_prices_prove(
    region: MultiPolygon,
    names: list[str],
    wanted: int,
    turns: tuple[float, ...],
    mirror: bool,
    value: float | None,
) -> None:
    kinds = [kind(SHAPES[n], wanted, turns, mirror=mirror, name=n, value=value) for n in names]
    layout = fill(region, kinds, seconds=0.02)
    assert verify(region, kinds, layout) == []
    if layout.placements:
        assert _priced_bound(region, kinds, 0.2) >= layout.value * (1 - 1e-9)


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(cloths(), st.sampled_from(sorted(SHAPES)), st.integers(0, 10_000))
def test_every_position_pays_what_the_inspection_proved(
    region: MultiPolygon, name: str, seed: int
) -> None:
    """Prices of chance, held against pieces laid at random positions and cut by shapely."""
    problem = PackingProblem(as_region(region), [kind(SHAPES[name], mirror=True)])
    if not problem.turns:
        return
    chance = np.random.default_rng(seed)
    program = PriceProgram(problem, 3000.0)
    # Dear and cheap cells, on the whole a little dearer than what a piece is worth.
    cloth = chance.uniform(0.5, 1.7, size=(program.rows, program.columns))
    cloth *= problem.worth(0) / problem.turns[0].area
    inspection = Inspection(program, 0.05)
    inspection.inspect(Prices(cloth, np.zeros(1)), 20_000)
    assert inspection.least > 0.3
    for turn, feasible in enumerate(problem.feasible):
        low_x, low_y, high_x, high_y = feasible.bounds
        at = chance.uniform((low_x, low_y), (high_x, high_y), (20, 2))
        corners = np.array([p for part in feasible.geoms for p in part.exterior.coords])
        at = at[contains_xy(feasible, at)]
        for x, y in np.concatenate((corners[::4], at)):
            paid = _price_by_shapely(
                program, cloth, Polygon(problem.turns[turn].corners + np.array([x, y]))
            )
            assert paid >= inspection.least * problem.worth(turn) * (1 - 1e-6)


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(SHAPES)), st.floats(0, 90), st.integers(0, 10_000))
def test_the_least_price_over_a_set_is_below_that_of_each_position(
    name: str, turn_deg: float, seed: int
) -> None:
    """And near it when the set is small: the limit is good to second order."""
    step, chance = 0.4, np.random.default_rng(seed)
    outline = np.array(rotate(SHAPES[name], turn_deg, origin=(0, 0)).exterior.coords)[:-1]
    outline -= outline.min(axis=0)
    price = chance.exponential(size=(20, 20))
    below = np.vstack((np.zeros((1, 20)), np.cumsum(price[:-1] * step, axis=0)))
    cut = np.empty(100)
    for size in (0.4, 0.1, 0.01, 0.0001):
        ends = chance.uniform(1, 3, 2) + size * chance.uniform(size=(3, 2))
        least, seen, worst = np.empty(1), np.empty(1), np.empty((1, 2))
        first = np.array([0, 3])
        least_prices(outline, step, price, below, ends, first, least, seen, worst)
        inside = np.concatenate((ends, chance.dirichlet((1, 1, 1), 40) @ ends))
        paid = [covered_price(outline, x, y, step, price, below, cut) for x, y in inside]
        assert least[0] <= min(paid) + 1e-9
        assert seen[0] >= min(paid[:3])
        # At most: by the way, by the edges' length, by how unlike prices are.
        assert least[0] >= min(paid) - 2 * size * 9 * np.ptp(price)
    assert least[0] == pytest.approx(min(paid), rel=0.01)


def _price_by_shapely(program: PriceProgram, cloth: NDArray[np.float64], outline: Polygon) -> float:
    column, row = np.meshgrid(np.arange(program.columns), np.arange(program.rows))
    x, y = program.low[0] + column * program.step, program.low[1] + row * program.step
    prepare(outline)
    touched = intersects(outline, box(x, y, x + program.step, y + program.step))
    x, y = x[touched], y[touched]
    cells = box(x, y, x + program.step, y + program.step)
    return float(area(intersection(outline, cells)) @ cloth[touched])


@pytest.mark.parametrize("name", sorted(SHAPES))
@pytest.mark.parametrize("turn_deg", [0.0, 17.0, 90.0])
def test_sums_over_a_piece_are_those_of_shapely(name: str, turn_deg: float) -> None:
    step, chance = 0.3, np.random.default_rng(1)
    outline = np.array(rotate(SHAPES[name], turn_deg, origin=(0, 0)).exterior.coords)[:-1]
    outline -= outline.min(axis=0)
    price = chance.uniform(size=(20, 20))
    below = np.vstack((np.zeros((1, 20)), np.cumsum(price[:-1] * step, axis=0)))
    # The second lies on the lines of the grid.
    for x, y in ((1.234, 0.777), (0.9, 0.6)):
        piece = translate(Polygon(outline), x, y)
        expected = np.array(
            [
                piece.intersection(box(c * step, r * step, (c + 1) * step, (r + 1) * step)).area
                for r in range(20)
                for c in range(20)
            ]
        )
        total = covered_price(outline, x, y, step, price, below, np.empty(100))
        assert total == pytest.approx(float(expected @ price.ravel()))
        cell, place, share = np.empty(500, int), np.empty(500, int), np.empty(500)
        n = covered_shares(outline, np.array([[x, y]]), step, 20, cell, place, share)
        found = np.zeros(400)
        np.add.at(found, cell[:n], share[:n] * step**2)
        assert found == pytest.approx(expected, abs=1e-9)

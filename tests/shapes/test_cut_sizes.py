"""Cut sizes against the rules in print, at the usual seam allowance of 1/4 in."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import union_all
from shapely.affinity import rotate

from scrapstore.errors import ShapeError
from scrapstore.shapes import CutMeasure, cut_measures, make_shape
from tests.support.pieces import EXAMPLES, shapes

ROOT_2, ROOT_3 = math.sqrt(2), math.sqrt(3)

# kind, size, what print adds, what geometry adds, source of the printed rule
RULES = [
    ("square", "side", 1 / 2, 0.5, 'karencombs.com "Formulas for Quilters" (2002)'),
    ("rectangle", "width", 1 / 2, 0.5, "karencombs.com"),
    ("rectangle", "height", 1 / 2, 0.5, "karencombs.com"),
    ("half-square-triangle", "short_side", 7 / 8, (2 + ROOT_2) / 4,
     "karencombs.com; grannymaudsgirl.wordpress.com 2018/06/11"),
    ("quarter-square-triangle", "long_side", 5 / 4, (1 + ROOT_2) / 2,
     "karencombs.com; grannymaudsgirl.wordpress.com 2018/06/11"),
    ("diamond-60", "height", 1 / 2, 0.5,
     'chrisandbarbaraquilts.wordpress.com, "Rotary cutting" parts 6 and 7 (2015)'),
    ("diamond-45", "height", 1 / 2, 0.5, "the same"),
    ("equilateral-triangle", "height", 3 / 4, 0.75, "the same, part 6"),
]  # fmt: skip


def cut(kind: str, name: str, finished: float) -> CutMeasure:
    other = {"rectangle": {"width": 2.0, "height": 4.5}}.get(kind, {})
    shape = make_shape(kind, **(other | {name: finished}))
    return next(m for m in cut_measures(shape, 0.25) if m.name == name)


@pytest.mark.parametrize(("kind", "name", "printed", "exact", "source"), RULES)
@pytest.mark.parametrize("finished", [1.0, 1.5, 2.0, 3.0, 3.5, 6.0, 12.5])
def test_the_rule_in_print(
    kind: str, name: str, printed: float, exact: float, source: str, finished: float
) -> None:
    measure = cut(kind, name, finished)
    assert measure.finished == finished
    assert measure.exact == pytest.approx(finished + exact, abs=1e-12)
    assert measure.on_ruler == finished + printed


@pytest.mark.parametrize(
    ("kind", "name", "added"),
    [
        # Worked by hand from the half angles: each end of a side grows by allowance / tan(half
        # its angle). No printed source; the geometry is the source.
        ("diamond-60", "side", (ROOT_3 + 1 / ROOT_3) / 4),
        ("diamond-45", "side", ROOT_2 / 2),  # 1/tan(22.5°) + tan(22.5°) = 2 √2
        ("equilateral-triangle", "side", ROOT_3 / 2),
        ("half-triangle-left", "height", (3 + ROOT_3) / 4),  # 1 + 1/tan(15°) = 3 + √3
        ("half-triangle-right", "base", (1 + ROOT_3) / 4),
        ("hexagon", "height", 0.5),
        ("hexagon", "side", 0.5 / ROOT_3),
        ("half-hexagon", "height", 0.5),
        ("half-hexagon", "long_side", ROOT_3 / 2),
        ("kite", "length", 0.5 + 0.5 / ROOT_3),  # 1/sin(30°) + 1/sin(60°) allowances
    ],
)
def test_the_rules_nobody_prints(kind: str, name: str, added: float) -> None:
    measures = {m.name: m for m in cut_measures(EXAMPLES[kind], 0.25)}
    assert measures[name].exact - measures[name].finished == pytest.approx(added, abs=1e-12)


def test_a_blunt_triangle_and_a_diamond_come_from_the_same_strip() -> None:
    """Trimmed 60° tips: every height is the finished height + 1/2 in (common practice)."""
    for kind in ("equilateral-triangle", "half-triangle-left", "half-triangle-right", "diamond-60"):
        shape = make_shape(kind, height=3)
        height = next(m for m in cut_measures(shape, 0.25, tips="trimmed") if m.name == "height")
        assert height.exact == pytest.approx(3.5, abs=1e-12)


def test_eight_45_degree_diamonds_make_the_block_of_the_formula() -> None:
    """Finished block = 3.41 × the diamond's side; karencombs.com, exactly 2 + √2."""
    diamond = make_shape("diamond-45", side=1).outline
    star = union_all([rotate(diamond, 45 * i, origin=(0, 0)) for i in range(8)])
    assert star.area == pytest.approx(8 * math.sin(math.pi / 4))
    west, south, east, north = star.bounds
    assert (east - west, north - south) == pytest.approx((2 + ROOT_2, 2 + ROOT_2))


@given(shapes(), st.sampled_from([1 / 8, 1 / 4, 3 / 8, 1 / 2]), st.sampled_from([1 / 8, 1 / 16]))
def test_the_ruler_never_reads_less_than_the_piece_needs(
    shape: object, allowance: float, step: float
) -> None:
    for measure in cut_measures(shape, allowance, step):  # type: ignore[arg-type]
        assert measure.exact > measure.finished
        assert -1e-6 <= measure.on_ruler - measure.exact < step
        assert measure.on_ruler / step == pytest.approx(round(measure.on_ruler / step))


@pytest.mark.parametrize("step", [0, -1, math.nan, math.inf])
def test_a_wrong_ruler_step_is_refused(step: float) -> None:
    with pytest.raises(ShapeError, match="ruler step"):
        cut_measures(EXAMPLES["square"], 0.25, step)

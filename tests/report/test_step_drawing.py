"""The picture of a step: the ruler has its edge on the cut, as far from its base as is said."""

import re
from xml.etree import ElementTree as ET

import pytest
from shapely import LineString, Point, Polygon

from scrapstore.report.cut_words import CutStep, CutWords, cut_words
from scrapstore.report.step_drawing import draw_step
from scrapstore.shapes import CuttingPlan, cut_parts
from tests.support.cutting_plans import DIAMONDS, SQUARES, TRIMMED

SVG = "{http://www.w3.org/2000/svg}"
SIZE = (130.0, 78.0)


def corners(element: ET.Element) -> list[tuple[float, float]]:
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", element.get("d", ""))]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def classed(root: ET.Element, name: str) -> list[ET.Element]:
    return [one for one in root.iter() if one.get("class") == name]


def pictures(plan: CuttingPlan) -> list[tuple[int, CutStep, CutWords, ET.Element]]:
    words, parts = cut_words(plan, "in"), cut_parts(plan)
    return [
        (number, step, words, draw_step(plan, parts, number, step, words, SIZE))
        for step in words.steps
        for number in step.shown
    ]


@pytest.mark.parametrize("plan", [SQUARES, DIAMONDS, TRIMMED])
def test_the_ruler_lies_with_an_edge_on_the_cut(plan: CuttingPlan) -> None:
    for number, step, _, root in pictures(plan):
        (ruler,) = classed(root, "ruler")
        first, *_ = classed(root, "cut")
        edges = list(zip(corners(ruler), corners(ruler)[1:] + corners(ruler)[:1], strict=True))
        ends = corners(first)
        on_cut = [
            edge
            for edge in edges
            if all(LineString(edge).distance(Point(end)) < 0.1 for end in ends)
        ]
        assert on_cut, (number, step.text)


@pytest.mark.parametrize("plan", [SQUARES, DIAMONDS, TRIMMED])
def test_its_breadth_is_the_distance_to_the_scale_of_the_cloth(plan: CuttingPlan) -> None:
    """The cut's own drawn length, against its length in the cloth, is the picture's scale."""
    parts = cut_parts(plan)
    measured = 0
    for number, _, words, root in pictures(plan):
        cut, place = plan.cuts[number - 1], words.places[number - 1]
        if not place.parallel:
            continue
        ends = corners(classed(root, "cut")[0])
        (x0, y0), (x1, y1) = cut.line
        long = LineString([(x0 - 99 * (x1 - x0), y0 - 99 * (y1 - y0)),
                           (x1 + 99 * (x1 - x0), y1 + 99 * (y1 - y0))])  # fmt: skip
        scale = LineString(ends).length / parts[cut.part].intersection(long).length
        ruler = Polygon(corners(classed(root, "ruler")[0]))
        along = LineString(ends).length + 16  # 8 points beyond either end
        assert cut.distance is not None
        assert ruler.area / along == pytest.approx(cut.distance * scale, abs=0.15)
        measured += 1
    assert measured


@pytest.mark.parametrize("plan", [SQUARES, DIAMONDS, TRIMMED])
def test_its_figure_is_the_one_of_the_sentence(plan: CuttingPlan) -> None:
    for number, step, words, root in pictures(plan):
        place = words.places[number - 1]
        figures = [one.text for one in classed(root, "figure")]
        for figure in filter(None, (place.figure, place.point_figure)):
            assert figure in figures
            said = "square to" if figure == "90°" else figure
            assert said in step.text.replace("Square to", "square to")


def test_a_row_of_cuts_is_drawn_with_one_ruler() -> None:
    """Cuts 2 and 3 of the squares are each 2 1/2 in above the one before."""
    (root,) = (root for number, _, _, root in pictures(SQUARES) if number == 2)
    assert len(classed(root, "ruler")) == 1
    assert len(classed(root, "cut")) == 2
    assert {"2", "3", "2 1/2 in"} <= {one.text for one in root.iter(f"{SVG}text")}


def test_it_stays_within_about_its_size_and_its_letters_can_be_read() -> None:
    for plan in (SQUARES, DIAMONDS, TRIMMED):
        for _, _, _, root in pictures(plan):
            _, _, wide, tall = map(float, root.get("viewBox", "").split())
            assert wide <= SIZE[0] + 12
            assert tall <= SIZE[1] + 12
            assert all(float(t.get("font-size", "0")) >= 8 for t in root.iter(f"{SVG}text"))

"""What is said of seams that are set in, sewn in part, or do not nest."""

import re
from dataclasses import replace

import pytest
from shapely import Polygon

from scrapstore.designs import PlacedPiece, make_design
from scrapstore.planning.sewing import SewingPlan, plan_sewing
from scrapstore.projects import design_text, read_project
from scrapstore.report.sewing_picture import plain_cloth, step_drawing
from scrapstore.report.sewing_text import (
    count_line,
    nest_line,
    pin_words,
    seam_test_line,
    set_in_lines,
    turn_words,
)
from tests.support.tilings import blocks, spiral


def plan(outlines: list[Polygon]) -> SewingPlan:
    """A sewing plan of these pieces, whatever their shape: only positions and names are read."""
    squares = make_design("squares", piece=2, rows=2, columns=2, seam=0.25, mark=0.125)
    project = read_project(design_text(squares, 0.25))
    pieces = tuple(
        PlacedPiece(f"p{at}", "square", "squares", None, None, f"p{at}", outline, 0.0)
        for at, outline in enumerate(outlines)
    )
    return plan_sewing(replace(project, name="Own", design=replace(squares, pieces=pieces)))


def test_a_partial_seam_is_told_from_its_beginning_to_its_end() -> None:
    top = plan(spiral())
    assert count_line(top) == "Own: 5 pieces, 5 seams, 1 set in: no order has fewer."
    (said,) = set_in_lines(top, "in", 1 / 8)
    found = re.fullmatch(
        r"Partial seam: end seam (\d) an inch before the point where (.*) meet, and leave the rest "
        r"open\. Sew the other part of seam (\d) straight, then close the open end of seam \1 on "
        r"to the end\.",
        said,
    )
    assert found is not None
    ((join, bend),) = [(join, bend) for join in top.order.joins for bend in join.bends]
    assert (int(found[1]), int(found[3])) == (bend.partly, join.number)
    assert found[2] == "{}, {} and {}".format(*(f"p{piece}" for piece in bend.pieces))
    for batch in top.order.batches:
        assert step_drawing(top, batch, plain_cloth(top)).height > 50


def test_a_seam_that_is_set_in_is_told_with_its_point() -> None:
    """By geometry: the diamonds have sides of 1 in, so the turn is 1 in from the start."""
    where, how = set_in_lines(plan(blocks(1, 1)), "in", 1 / 8)
    assert where == "Seam 2 is set in 1 in from its start, where p0, p1 and p2 meet."
    assert how.startswith("To set a seam in: mark the point")


def test_where_a_seam_turns_is_one_figure_everywhere() -> None:
    """A mitre of 1 in is 1.414 in long, by geometry: 1 3/8 in on a ruler of eighths."""
    made = make_design(
        "squares", piece=4, rows=1, columns=1, border=1, border_corners="mitred", seam=0.25,
        mark=0.125,
    )  # fmt: skip
    top = plan_sewing(read_project(design_text(made, 0.25)))
    first = next(join for join in top.order.joins if join.bends)
    assert turn_words(first, "in", 1 / 8) == "turn at about 1 3/8 in"
    assert " is set in about 1 3/8 in from its start" in next(set_in_lines(top, "in", 1 / 8))


def test_equal_distances_are_counted_on_only_where_they_are_on_a_mark() -> None:
    for piece, words in ((2.0, "every 2 in, 5 times"), (2.03, "about 2, 4, 6 1/8, 8 1/8 and 10")):
        row = make_design("squares", piece=piece, rows=2, columns=6, seam=0.25, mark=0.125)
        last = plan_sewing(read_project(design_text(row, 0.25))).order.joins[-1]
        assert pin_words(last, "in", 1 / 8).startswith(words)


def test_of_many_only_the_first_are_listed() -> None:
    top = plan(blocks(3, 3))
    *listed, more, _ = set_in_lines(top, "in", 1 / 8)
    assert len(listed) == 12
    assert more.startswith(f"And {top.order.set_in - 12} more: ")


def test_what_does_not_nest_is_said() -> None:
    top = plan(spiral())
    assert nest_line(top).startswith("No seams meet")
    squares = make_design("squares", piece=2, rows=2, columns=2, seam=0.25, mark=0.125)
    grid = plan([piece.outline for piece in squares.pieces])
    last = grid.order.joins[-1]
    for opposed, words in ((False, "They cannot nest at seams 3"), (None, "At seams 3 more come")):
        meets = tuple(replace(meet, opposed=opposed) for meet in last.meets)
        joins = (*grid.order.joins[:-1], replace(last, meets=meets))
        said = nest_line(replace(grid, order=replace(grid.order, joins=joins)))
        assert words in said


@pytest.mark.parametrize(
    ("seam", "strip", "across"),
    [(0.25, "1 1/2", "3 1/2"), (0.5, "1 1/2", "2 1/2"), (1.0, "3", "5")],
)
def test_the_seam_test(seam: float, strip: str, across: str) -> None:
    """3 strips less 4 allowances; for wide seams, strips whose middle still shows."""
    said = seam_test_line(seam, "in")
    assert f"three strips of {strip} in" in said
    assert f"must measure {across} in" in said

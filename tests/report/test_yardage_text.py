"""What is said of strips to cut from yardage."""

from collections import Counter

from shapely import box

from scrapstore.report.yardage_text import strip_text
from scrapstore.shapes import labelled
from scrapstore.yardage import StripPiece, plan_role


def test_the_width_of_a_strip_is_a_mark_of_a_ruler_of_tenths() -> None:
    plan = plan_role(
        "ground",
        [StripPiece("square", box(0, 0, 2.33, 2.33), 4, role="ground")],
        usable_width=40,
        straightening=1,
        step=0.1,
        units="in",
    )
    (strip,) = plan.strips
    letters = {"square": "A"}
    title, _ = strip_text(
        strip, plan, letters, "in", (labelled(strip.cutting, letters, Counter()),)
    )
    assert title.startswith("Cut 1 strip 2 2/5 in × WOF")

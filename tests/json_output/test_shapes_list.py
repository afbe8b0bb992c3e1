"""The list of shapes tells where edge 1 of each lies."""

import pytest

from scrapstore.json_output.project import shapes_out
from scrapstore.shapes import KINDS

LOWER = {
    "square", "rectangle", "diamond-60", "diamond-45", "equilateral-triangle", "triangle-120",
    "half-triangle-left", "half-square-triangle", "quarter-square-triangle", "hexagon",
    "half-hexagon", "trapezoid",
}  # fmt: skip


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_edge_1_is_where_the_shape_is_drawn_first(kind: str) -> None:
    """Most are drawn from their base on; the right half triangle from its long side, a kite from
    the longer side at its right, a polygon from its first corner."""
    others = {
        "half-triangle-right": "upper right side",
        "kite": "lower right side",
        "polygon": "first corner to second",
    }
    (told,) = (shape.edge_1 for shape in shapes_out().shapes if shape.kind == kind)
    assert told == ("lower side" if kind in LOWER else others[kind])

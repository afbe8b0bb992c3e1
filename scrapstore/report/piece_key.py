"""A small drawing of a piece that shows which of its sides is edge 1."""

import math
from typing import Final

import numpy as np
from shapely import Polygon

from scrapstore.report.svg import element, new_element, rings_path, svg_text
from scrapstore.shapes import corners_of

__all__ = ["draw_piece"]

_SIZE: Final = 40.0  # points
_RIM: Final = 11.0  # points; room for the figure


def draw_piece(finished: Polygon) -> str:
    """Return the piece as drawn in its project file, edge 1 heavy and numbered, as SVG."""
    corners = np.array(corners_of(finished))
    low, high = corners.min(axis=0), corners.max(axis=0)
    scale = _SIZE / float((high - low).max())
    points = (corners - (low[0], high[1])) * (scale, -scale) + _RIM
    wide, tall = (high - low) * scale + 2 * _RIM
    root = new_element(
        "svg", viewBox=f"0 0 {wide:.1f} {tall:.1f}", width=f"{wide / 72:.3f}in",
        height=f"{tall / 72:.3f}in", role="img", font_family="Helvetica, Arial, sans-serif",
    )  # fmt: skip
    element(root, "title", "the heavy side is edge 1")
    element(
        root, "path", d=rings_path(Polygon(points)), fill="#f4f3ef", stroke="#000000",
        stroke_width="0.9",
    )  # fmt: skip
    (x0, y0), (x1, y1) = points[0], points[1]
    element(
        root, "path", d=f"M{x0:.2f} {y0:.2f} L{x1:.2f} {y1:.2f}", stroke="#000000",
        stroke_width="3", class_="edge-1",
    )  # fmt: skip
    # Counter-clockwise with y up: the outside is at the left of the edge with y down.
    length = math.hypot(x1 - x0, y1 - y0)
    out_x, out_y = -(y1 - y0) / length * 6, (x1 - x0) / length * 6
    element(
        root, "text", "1", x=float((x0 + x1) / 2 + out_x), y=float((y0 + y1) / 2 + out_y + 3),
        font_size="8", text_anchor="middle",
    )  # fmt: skip
    return svg_text(root)

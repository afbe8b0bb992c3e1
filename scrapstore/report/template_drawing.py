"""A template: the cut outline of a piece at true size, with seam line, grain arrow and words.

A drawing of SVG elements in points, 72 to the inch: the cut outline solid, the seam line broken.
"""

import math
from typing import Final
from xml.etree import ElementTree as ET

import shapely
from shapely import Point, Polygon

from scrapstore.report.forms import Template
from scrapstore.report.svg import element, new_element, rings_path

__all__ = ["draw_template", "grain_line"]

_POINTS: Final = 72.0
_ARROW: Final = 108.0  # points; the longest grain arrow
_HEAD: Final = 7.0
_LETTERS: Final = 18.0  # points; the size of a template's letters, where there is room
_SMALLEST: Final = 8.0


def draw_template(template: Template) -> ET.Element:
    """Return the drawing, as large as the cut outline."""
    left, bottom, right, top = template.cut.bounds
    wide, tall = (right - left) * _POINTS, (top - bottom) * _POINTS
    root = new_element("svg", viewBox=f"0 0 {wide:.3f} {tall:.3f}", role="img")

    def on_paper(shape: Polygon) -> Polygon:
        return shapely.transform(
            shape, lambda at: (at - (left, top)) * (_POINTS, -_POINTS) + 0.0
        )  # fmt: skip

    cut = on_paper(template.cut)
    element(
        root, "path", d=rings_path(on_paper(template.finished)), fill="none", stroke="#000000",
        stroke_width="0.8", stroke_dasharray="6 3", class_="seam",
    )  # fmt: skip
    element(
        root, "path", d=rings_path(cut), fill="none", stroke="#000000", stroke_width="1.2",
        class_="cut",
    )  # fmt: skip
    spot = shapely.maximum_inscribed_circle(on_paper(template.finished), tolerance=0.5)
    middle, room = Point(spot.coords[0]), spot.length
    words = ", ".join(template.letters)
    size = min(_LETTERS, 1.5 * room / max(1, 0.6 * len(words)))
    beside = 0.0
    if size >= _SMALLEST:
        element(
            root, "text", words, x=middle.x, y=middle.y - 3, font_size=f"{size:.1f}",
            text_anchor="middle", font_weight="bold",
        )  # fmt: skip
        beside = 8.0
    if template.grain_deg is not None:
        path = _arrow_path(template, on_paper(template.finished), middle, beside)
        element(
            root, "path", d=path, fill="none", stroke="#000000", stroke_width="1.4",
            stroke_linecap="round", class_="grain",
        )  # fmt: skip
    return root


def grain_line(template: Template) -> str:
    """Say how the template lies on the cloth."""
    if template.grain_deg is None:
        said = "Any way to the grain"
    elif template.one_way:
        said = "Arrow: the way the print runs"
    else:
        other = ", or straight across it" if template.both_ways else ""
        said = f"Arrow: along the lengthwise grain{other}"
    return f"{said}; printed side up, do not turn it over." if template.handed else f"{said}."


def _arrow_path(template: Template, inside: Polygon, middle: Point, beside: float) -> str:
    """Return the arrow under the letters: as long as there is room, and no longer than `_ARROW`."""
    assert template.grain_deg is not None
    turn = math.radians(template.grain_deg)
    ux, uy = math.cos(turn), -math.sin(turn)
    # Off the middle, on the lower side of the letters.
    nx, ny = (-uy, ux) if ux >= 0 else (uy, -ux)
    x, y = middle.x + nx * beside, middle.y + ny * beside
    long = _ARROW
    while long > 2 * _HEAD:
        half = long / 2
        ends = shapely.LineString([(x - half * ux, y - half * uy), (x + half * ux, y + half * uy)])
        if inside.contains(ends.buffer(_HEAD / 2)):
            break
        long -= 4
    half = long / 2
    path = f"M{x - half * ux:.2f} {y - half * uy:.2f} L{x + half * ux:.2f} {y + half * uy:.2f}"
    for way in (1, -1)[: 1 if template.one_way else 2]:
        tip_x, tip_y = x + way * half * ux, y + way * half * uy
        back_x, back_y = tip_x - way * _HEAD * ux, tip_y - way * _HEAD * uy
        side_x, side_y = nx * _HEAD * 0.6, ny * _HEAD * 0.6
        path += f" M{back_x + side_x:.2f} {back_y + side_y:.2f} L{tip_x:.2f} {tip_y:.2f}"
        path += f" L{back_x - side_x:.2f} {back_y - side_y:.2f}"
    return path

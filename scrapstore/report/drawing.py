"""Drawing a scrap, or a strip of yardage, as it is cut: SVG.

Cuts are heavy lines that carry their numbers, pieces are pale and carry their labels, and what lies
under them is the cloth itself, or its colour. Colour is never the only sign. Lengths on paper are
points, 72 to the inch; the rulers begin at the lower left corner of the box round the cloth.
"""

import math
from fractions import Fraction
from functools import lru_cache
from typing import Final
from xml.etree import ElementTree as ET

from scrapstore.report.canvas import RIM, Canvas
from scrapstore.report.corners import Corner
from scrapstore.report.forms import ClothDrawing
from scrapstore.report.scale import row_width, scale_text
from scrapstore.report.svg import element, new_element, svg_text
from scrapstore.shapes import CuttingPlan
from scrapstore.units import Units

__all__ = ["cutting_drawing", "draw_cutting"]

_POINTS: Final = 72.0
_RULER: Final = 26.0  # points for the rulers, below and at the left
_FIGURE: Final = 9.5  # points; read at arm's length
_BELOW: Final = 24.0  # points for the lower ruler
_BEYOND: Final = 1.0  # inches of cloth drawn beyond the last piece
_CAPTION: Final = 14.0
_SIGN: Final = 4.3  # points; the width of a letter of the caption


def draw_cutting(
    plan: CuttingPlan,
    cloth: ClothDrawing,
    scale: Fraction,
    units: Units,
    name: str,
    corners: tuple[Corner, ...] = (),
    *,
    whole: bool = True,
) -> str:
    """Return the drawing as an SVG document that stands alone; see `cutting_drawing`."""
    return svg_text(cutting_drawing(plan, cloth, scale, units, name, corners, whole=whole))


@lru_cache(maxsize=64)
def cutting_drawing(
    plan: CuttingPlan,
    cloth: ClothDrawing,
    scale: Fraction,
    units: Units,
    name: str,
    corners: tuple[Corner, ...] = (),
    *,
    whole: bool = True,
) -> ET.Element:
    """Return the drawing, as elements of SVG, which are remembered: they are not to be changed.

    `name` keeps its ids apart from those of others in one page; `corners` are lettered. Unless
    `whole`, the drawing may end beyond the last piece.
    """
    left, bottom, right, top = plan.outline.bounds
    until = None if whole else _until(plan)
    canvas = Canvas(plan, float(scale) * _POINTS, name, until)
    canvas.cloth(cloth.colour, cloth.picture, plan.frame)
    if cloth.region is not None:
        canvas.margin(cloth.region)
    for flaw in cloth.flaws:
        canvas.flaw(flaw)
    canvas.pieces(plan.pieces)
    canvas.cuts(corners)
    caption = f"Drawn at {scale_text(scale)}."
    if cloth.grain_heads:
        canvas.grain_arrow(cloth.grain_heads)
        what = "lengthwise grain, one way" if cloth.grain_heads == 1 else "lengthwise grain"
        caption += f" Arrow: {what}."
    if until is not None:
        caption += " The strip goes on."
    shown = row_width((until or right) - left, top - bottom, scale)
    return _document(canvas, units, float(scale) * _POINTS, shown, caption)


def _until(plan: CuttingPlan) -> float | None:
    """Return where a drawing may end: beyond the last piece, where much is left; else None."""
    used = max((piece.outline.bounds[2] for piece in plan.pieces), default=plan.outline.bounds[2])
    used = math.ceil(used + _BEYOND)
    return used if used + _BEYOND < plan.outline.bounds[2] else None


def _document(canvas: Canvas, units: Units, scale: float, shown: float, caption: str) -> ET.Element:
    """Return the drawing with its rulers, in rows of `shown` inches of cloth."""
    count = max(1, math.ceil(canvas.wide / scale / shown - 1e-6))
    row = min(canvas.wide, shown * scale)
    high = RIM + canvas.tall + _BELOW
    width = max(_RULER + row + RIM, _RULER + _SIGN * len(caption))
    height = count * high + _CAPTION
    root = new_element(
        "svg", viewBox=f"0 0 {width:.2f} {height:.2f}", width=f"{width / _POINTS:.4f}in",
        height=f"{height / _POINTS:.4f}in", role="img", font_family="Helvetica, Arial, sans-serif",
    )  # fmt: skip
    if count == 1:
        canvas.group.set("transform", f"translate({_RULER:.2f} {RIM:.2f})")
        root.append(canvas.group)
    else:
        element(root, "defs").append(canvas.group)
    for index in range(count):
        start = index * row
        long = min(row, canvas.wide - start)
        if count > 1:
            # Beyond the cloth, a row shows the numbers of cuts.
            before, after = (0.0 if index else RIM), (RIM if index == count - 1 else 0.0)
            window = element(
                root, "svg", x=_RULER - before, y=index * high, width=before + long + after,
                height=RIM + canvas.tall + 2, overflow="hidden",
                viewBox=f"{start - before:.2f} {-RIM:.2f} {before + long + after:.2f} "
                f"{RIM + canvas.tall + 2:.2f}",
            )  # fmt: skip
            element(window, "use", href=f"#{canvas.group.get('id')}")
        _rulers(root, units, scale, (start, long), (index * high + RIM, canvas.tall))
    element(root, "text", caption, x=_RULER, y=height - 4, font_size="8.5")
    return root


def _rulers(
    root: ET.Element,
    units: Units,
    scale: float,
    along: tuple[float, float],
    up: tuple[float, float],
) -> None:
    """Draw a ruler below and at the left of a row.

    `along`: where in the cloth it begins, and how long it is; `up`: its top on the paper, and how
    high it is; points.
    """
    unit = scale if units == "in" else scale / 2.54
    mark = 0.5 if units == "in" else 1.0
    start, wide = along
    top, tall = up
    named = next(n for n in (1, 2, 4, 5, 10, 20, 50, 100, 10**6) if n * unit >= 1.7 * _FIGURE)
    base, side = top + tall + 4, _RULER - 4
    x = y = 0.0
    for k in range(math.ceil(start / unit / mark - 1e-6), _marks(start + wide, unit * mark)):
        whole = (k * mark) % named == 0
        x = _RULER + k * mark * unit - start
        element(root, "path", d=f"M{x:.2f} {base:.2f} v{6 if whole else 3}", stroke="#000000")
        if whole:
            element(
                root, "text", f"{k * mark:g}", x=x, y=base + 15, font_size=_FIGURE,
                text_anchor="middle", class_="figure",
            )  # fmt: skip
    element(root, "text", units, x=_RULER + wide + 8, y=base + 15, font_size="8.5")
    for k in range(_marks(tall, unit * mark)):
        whole = (k * mark) % named == 0
        y = top + tall - k * mark * unit
        element(root, "path", d=f"M{side:.2f} {y:.2f} h{-6 if whole else -3}", stroke="#000000")
        if whole:
            element(
                root, "text", f"{k * mark:g}", x=side - 8, y=y + 3.3, font_size=_FIGURE,
                text_anchor="end",
            )  # fmt: skip


def _marks(length: float, mark: float) -> int:
    return math.floor(length / mark + 1e-6) + 1

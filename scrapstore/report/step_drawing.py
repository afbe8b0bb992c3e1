"""One step of cutting, drawn: the cloth it goes through, and the ruler where it lies for it.

A drawing of SVG elements. The ruler is a hatched band with its edge on the cut; it reaches to the
line it is measured from, which is broken, and carries the figure that is read there.
"""

import math
from collections.abc import Sequence
from typing import Final
from xml.etree import ElementTree as ET

import numpy as np
import shapely
from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from scrapstore.report.cut_words import CutStep, CutWords
from scrapstore.report.ruler_words import RulerPlace
from scrapstore.report.svg import element, new_element, rings_path
from scrapstore.shapes import Cut, CutPiece, CuttingPlan, Line

__all__ = ["draw_step"]

_POINTS: Final = 72.0
_FAR: Final = 1e4  # inches; longer than any cut
_OVER: Final = 8.0  # points; how far a ruler reaches beyond the cloth, each way
_NARROW: Final = 11.0  # points; a band less broad has its figure beside it
_RULER: Final = 13.0  # points; how broad a ruler is drawn that is measured from nothing
_HATCH: Final = 4.0
_SIZE: Final = 8.0  # points; letters
_WIDTH: Final = 0.56  # of its size, a letter
_DISC: Final = 6.4
_RIM: Final = 20.0  # points kept for numbers and figures, on every side
_LARGEST: Final = 0.5  # of full size
_LONG: Final = 5.0  # times as long as wide: cloth that is shown where it is cut
_AROUND: Final = 1.0  # inches shown beyond the cuts then


def draw_step(
    plan: CuttingPlan,
    parts: Sequence[Polygon],
    number: int,
    step: CutStep,
    words: CutWords,
    size: tuple[float, float],
) -> ET.Element:
    """Return the drawing of the ruler for cut `number`, one of those `shown` of a step.

    It is of a `size` in points, about. `parts` are the plan's. The other cuts of a row that begins
    with this one are drawn without the ruler.
    """
    cut, place = plan.cuts[number - 1], words.places[number - 1]
    part = parts[cut.part]
    row = [number]
    if len(step.shown) == 1:
        row = [n for n in range(step.first, step.last + 1) if _is_cut_from(n, cut.part, plan)]
    window = _window(part, [plan.cuts[n - 1] for n in row], place)
    sketch = _Sketch(part.intersection(window), *size)
    pieces = [one for one in plan.pieces if part.contains(one.outline.representative_point())]
    sketch.cloth(part, pieces)
    sketch.ruler(cut, part.intersection(window), place)
    for n in row:
        sketch.cut(plan.cuts[n - 1], parts[plan.cuts[n - 1].part].intersection(window), n)
    sketch.figures(cut, part.intersection(window), place)
    sketch.labels(pieces)
    return sketch.document()


def _is_cut_from(number: int, cloth: int, plan: CuttingPlan) -> bool:
    """Return whether a cut goes through a part, or through what is left of it by then."""
    of = {part: one.part for one in plan.cuts for part in one.gives}
    part: int | None = plan.cuts[number - 1].part
    while part is not None and part != cloth:
        part = of.get(part)
    return part is not None


def _window(part: Polygon, cuts: Sequence[Cut], place: RulerPlace) -> Polygon:
    """Return what is shown of the cloth: all of it, of long cloth the length that is cut."""
    left, low, right, high = part.bounds
    whole = shapely.box(left, low, right, high)
    if max(right - left, high - low) <= _LONG * min(right - left, high - low):
        return whole
    lines = [cut.line for cut in cuts]
    if place.base is not None and place.parallel:
        lines.append(place.base)
    met = shapely.union_all([_endless(line).intersection(whole) for line in lines])
    if met.is_empty:
        return whole
    near = shapely.box(*met.bounds).buffer(_AROUND, join_style="mitre").intersection(whole)
    return near if isinstance(near, Polygon) else whole


def _endless(line: Line) -> LineString:
    start, end = np.array(line)
    way = (end - start) / np.hypot(*(end - start)) * _FAR
    return LineString([start - way, end + way])


class _Sketch:
    """The elements of one drawing, in points from the upper left corner of the cloth shown."""

    def __init__(self, cloth: BaseGeometry, wide: float, tall: float) -> None:
        self._left, low, right, self._top = cloth.bounds
        room = min(
            (wide - 2 * _RIM) / max(right - self._left, 0.1),
            (tall - 2 * _RIM) / max(self._top - low, 0.1),
        )
        self._scale = min(room, _LARGEST * _POINTS)
        self._cloth = self._on_paper(cloth)
        self._root = new_element("svg", role="img")
        self._boxes: list[BaseGeometry] = [shapely.box(*self._cloth.bounds)]
        self._written: list[BaseGeometry] = []

    def _on_paper(self, shape: BaseGeometry) -> BaseGeometry:
        origin, scale = np.array([self._left, self._top]), np.array([self._scale, -self._scale])
        return shapely.transform(shape, lambda at: (at - origin) * scale + 0.0)

    def document(self) -> ET.Element:
        """Return the drawing, as large as all that is in it."""
        left, top, right, low = shapely.union_all(self._boxes).buffer(1.5).bounds
        root = new_element(
            "svg", viewBox=f"0 0 {right - left:.2f} {low - top:.2f}",
            width=f"{(right - left) / _POINTS:.4f}in", height=f"{(low - top) / _POINTS:.4f}in",
            role="img", font_family="Helvetica, Arial, sans-serif",
        )  # fmt: skip
        group = element(root, "g", transform=f"translate({-left:.2f} {-top:.2f})")
        group.extend(self._root)
        return root

    def cloth(self, part: Polygon, pieces: Sequence[CutPiece]) -> None:
        """Draw the cloth grey, its edge where it is shown, and the pieces white."""
        element(self._root, "path", d=rings_path(self._cloth), fill="#e4e4e4")
        for piece in pieces:
            shape = self._on_paper(piece.outline).intersection(self._cloth)
            element(
                self._root, "path", d=rings_path(shape), fill="#ffffff", stroke="#555555",
                stroke_width="0.5",
            )  # fmt: skip
        edge = self._on_paper(part.exterior).intersection(self._cloth.buffer(0.01))
        self._line(edge, "0.9")

    def labels(self, pieces: Sequence[CutPiece]) -> None:
        """Label the pieces, where there is room beside what is written already."""
        for piece in pieces:
            shape = self._on_paper(piece.outline).intersection(self._cloth)
            free = shape.difference(shapely.union_all(self._written).buffer(1.5))
            if not isinstance(free, Polygon | MultiPolygon) or not free.area:
                continue
            spot = shapely.maximum_inscribed_circle(free, tolerance=0.5)
            if spot.length >= _SIZE * max(1.0, _WIDTH * len(piece.label)) / 1.8:
                x, y = spot.coords[0]
                self._text(piece.label, x, y, bold=False)

    def ruler(self, cut: Cut, part: BaseGeometry, place: RulerPlace) -> None:
        """Draw the ruler as a hatched band, and the line it is measured from."""
        ends = self._ends(cut, part)
        if ends is None:
            return
        band = self._band(ends, place)
        self._boxes.append(band)
        left, top, right, low = band.bounds
        tall = low - top
        hatch = [
            LineString([(left - tall + k * _HATCH, low), (left + k * _HATCH, top)])
            for k in range(math.ceil((right - left + tall) / _HATCH) + 1)
        ]
        self._line(MultiLineString(hatch).intersection(band), "0.4", stroke="#666666")
        element(
            self._root, "path", d=rings_path(band), fill="none", stroke="#333333",
            stroke_width="0.7", class_="ruler",
        )  # fmt: skip
        if place.base is not None:
            base = self._along(place.base)
            near = base.intersection(shapely.union_all([band, self._cloth]).buffer(1))
            self._line(near, "1.3", stroke_dasharray="6 2.5", class_="base")

    def _ends(self, cut: Cut, part: BaseGeometry) -> tuple[np.ndarray, np.ndarray] | None:
        """Return where a cut enters and leaves its part, on the paper; None where it is hidden."""
        met = self._along(cut.line).intersection(self._on_paper(part))
        if met.is_empty or not met.length:
            return None
        points = shapely.get_coordinates(met)
        along = points @ (points[-1] - points[0])
        return points[int(np.argmin(along))], points[int(np.argmax(along))]

    def _along(self, line: Line) -> BaseGeometry:
        return self._on_paper(_endless(line))

    def _band(self, ends: tuple[np.ndarray, np.ndarray], place: RulerPlace) -> Polygon:
        """Return the ruler: from the cut to the line it is measured from, or of usual breadth."""
        start, end = ends
        way = (end - start) / np.hypot(*(end - start))
        square = np.array([-way[1], way[0]])
        if place.base is not None and place.parallel:
            base = np.array(self._on_paper(Point(place.base[0])).coords[0])
            breadth = float((base - start) @ square)
        else:
            # On the side of the pieces, so that they are held.
            middle = np.array(self._cloth.centroid.coords[0])
            breadth = math.copysign(_RULER, float((middle - start) @ square))
        a, b = start - way * _OVER, end + way * _OVER
        return Polygon([a, b, b + square * breadth, a + square * breadth])

    def cut(self, cut: Cut, part: BaseGeometry, number: int) -> None:
        """Draw a cut heavy, with its number beyond its end, and its point as a dot."""
        ends = self._ends(cut, part)
        if ends is None:
            return
        met = self._along(cut.line).intersection(self._on_paper(part))
        self._line(met, "2", class_="cut")
        if cut.point is not None:
            x, y = self._on_paper(Point(cut.point)).coords[0]
            element(self._root, "circle", cx=x, cy=y, r="2.6", fill="#000000")
        # The upper end, or the right one.
        far, near = sorted(ends, key=lambda at: round(float(at[1] - 0.5 * at[0]), 3))
        way = (far - near) / np.hypot(*(far - near))
        x, y = (float(one) for one in far + way * (_DISC + 1))
        element(
            self._root, "circle", cx=x, cy=y, r=_DISC, fill="#ffffff", stroke="#000000",
            stroke_width="1",
        )  # fmt: skip
        element(
            self._root, "text", str(number), x=x, y=y + 3, font_size=_SIZE, text_anchor="middle",
            font_weight="bold",
        )  # fmt: skip
        self._boxes.append(Point(x, y).buffer(_DISC + 0.5))
        self._written.append(self._boxes[-1])

    def figures(self, cut: Cut, part: BaseGeometry, place: RulerPlace) -> None:
        """Write what is read off the ruler on its band, or beside it where it is narrow."""
        ends = self._ends(cut, part)
        if ends is not None and place.figure:
            band = self._band(ends, place)
            self._text(place.figure, *self._figure_spot(band, place))
        if place.point_figure and cut.point is not None:
            x, y = self._on_paper(Point(cut.point)).coords[0]
            self._text(place.point_figure, x, y + _SIZE + 2)

    def _figure_spot(self, band: Polygon, place: RulerPlace) -> tuple[float, float]:
        """Return the middle of a figure."""
        corners = np.array(band.exterior.coords)
        across = corners[2] - corners[1]
        breadth = float(np.hypot(*across))
        middle = np.array(band.centroid.coords[0])
        reach = abs(across / breadth) @ np.array([_WIDTH * _SIZE * len(place.figure), _SIZE])
        if breadth < min(reach + 2, _NARROW) or (
            abs(across[0]) > abs(across[1]) and breadth < reach
        ):
            middle = middle + across / breadth * (breadth / 2 + reach / 2 + 2)
        return float(middle[0]), float(middle[1])

    def _text(self, text: str, x: float, y: float, *, bold: bool = True) -> None:
        element(
            self._root, "text", text, x=x, y=y + 3, font_size=_SIZE, text_anchor="middle",
            font_weight="bold" if bold else "normal", fill="#000000", stroke="#ffffff",
            stroke_width="2.5", paint_order="stroke", class_="figure" if bold else "label",
        )  # fmt: skip
        half = _WIDTH * _SIZE * len(text) / 2
        box = shapely.box(x - half, y - _SIZE / 2, x + half, y + _SIZE / 2)
        self._boxes.append(box)
        self._written.append(box)

    def _line(self, shape: BaseGeometry, width: str, **attributes: str) -> None:
        for one in shapely.get_parts(shape).tolist():
            if isinstance(one, LineString) and one.length:
                path = "M" + " L".join(f"{x:.2f} {y:.2f}" for x, y in one.coords)
                given = {"stroke": "#000000"} | attributes
                element(
                    self._root, "path", d=path, fill="none", stroke_width=width, **given
                )  # fmt: skip

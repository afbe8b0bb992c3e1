"""The cloth of a drawing with all that lies on it, in points of the paper."""

import math
from collections.abc import Callable, Iterable, Sequence
from typing import Any, Final, TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry

from scrapstore.report.corners import Corner
from scrapstore.report.forms import ClothPicture, Rgb
from scrapstore.report.svg import element, hex_colour, jpeg_link, new_element, rings_path
from scrapstore.shapes import CutPiece, CuttingPlan, Frame, cut_parts

__all__ = ["RIM", "Canvas"]

Place = tuple[float, float]
_Shape = TypeVar("_Shape", bound=BaseGeometry)

RIM: Final = 16.0
"""Points above the cloth and at its right, for the numbers of cuts."""
_DISC: Final = 6.4  # points; radius of the disc round a cut's number
_FAR: Final = 1e4  # inches; longer than any cut
_ARROW: Final = 44.0  # points
_TRIED: Final = 9  # places for the grain arrow, each way
_SMALLEST: Final = 8.0  # points; a label
_LARGEST: Final = 15.0


class Canvas:
    """A group of SVG elements; y runs down, the upper left corner of the cloth's box is at (0, 0).

    `scale` is points for an inch of cloth. What is drawn later keeps off the labels drawn before.
    With `until` the cloth is drawn as far as that x, and ends in a torn edge.
    """

    def __init__(
        self, plan: CuttingPlan, scale: float, name: str, until: float | None = None
    ) -> None:
        self._plan = plan
        self._scale = scale
        self._name = name
        self._torn = until is not None
        self._left, bottom, right, self._top = plan.outline.bounds
        right = right if until is None else until
        self._shown = shapely.box(self._left, bottom, right, self._top)
        self.wide, self.tall = (right - self._left) * scale, (self._top - bottom) * scale
        self.group = new_element("g", id=f"{name}-cloth")
        self._defs = element(self.group, "defs")
        self._taken: list[BaseGeometry] = []
        self._lines: list[LineString] = []
        self._outline = self._on_paper(plan.outline)

    def x(self, inches: float) -> float:
        """Return where an x of the plan is drawn."""
        return (inches - self._left) * self._scale

    def y(self, inches: float) -> float:
        """Return where a y of the plan is drawn."""
        return (self._top - inches) * self._scale

    def _on_paper(self, shape: _Shape) -> _Shape:
        move = np.array([self._left, self._top])
        turned = np.array([self._scale, -self._scale])
        # 0 is added for the sign of what is -0.0.
        return shapely.transform(shape, lambda at: (at - move) * turned + 0.0)

    def _path(self, shape: BaseGeometry) -> str:
        return rings_path(self._on_paper(shape))

    def _stroke(self, paths: Iterable[str], wide: str, thin: str, **attributes: str) -> None:
        """Draw paths in black on broader white ones, so that they show on any cloth."""
        paths = tuple(paths)
        for colour, width in (("#ffffff", wide), ("#000000", thin)):
            for path in paths:
                element(
                    self.group, "path", d=path, fill="none", stroke=colour, stroke_width=width,
                    **attributes,
                )  # fmt: skip

    def cloth(self, colour: Rgb, picture: ClothPicture | None, frame: Frame) -> None:
        """Fill the outline with a colour, and with the picture, which lies in the cloth's inches.

        `frame` is where the plan's frame lies in those.
        """
        path = self._path(self._plan.outline.intersection(self._shown))
        element(self.group, "path", d=path, fill=hex_colour(colour), fill_rule="evenodd")
        if picture is not None:
            clip = element(self._defs, "clipPath", id=f"{self._name}-outline")
            element(clip, "path", d=path, clip_rule="evenodd")
            left, bottom, right, top = picture.box
            cos, sin = (f(math.radians(-frame.turn_deg)) for f in (math.cos, math.sin))
            # The picture's own y runs down from its upper left corner, which lies here:
            dx, dy = left - frame.origin[0], top - frame.origin[1]
            x, y = self.x(dx * cos - dy * sin), self.y(dx * sin + dy * cos)
            inside = element(self.group, "g", clip_path=f"url(#{self._name}-outline)")
            element(
                inside, "image", width=(right - left) * self._scale,
                height=(top - bottom) * self._scale, preserveAspectRatio="none",
                transform=f"matrix({cos:.6f} {-sin:.6f} {sin:.6f} {cos:.6f} {x:.2f} {y:.2f})",
                href=jpeg_link(picture.data),
            )  # fmt: skip
        element(self.group, "path", d=path, fill="none", stroke="#222222", stroke_width="1.2")
        if self._torn:
            teeth = " l-5 5 l5 5" * (math.ceil(self.tall / 10) + 1)
            element(
                self.group, "path", d=f"M{self.wide + 2:.1f} -5{teeth} h3 V-5 Z", fill="#ffffff",
                stroke="none",
            )  # fmt: skip

    def flaw(self, flaw: Polygon) -> None:
        """Cross out a flaw."""
        name = f"{self._name}-flaw"
        if not any(child.get("id") == name for child in self._defs):
            pattern = element(
                self._defs, "pattern", id=name, width="7", height="7",
                patternUnits="userSpaceOnUse",
            )  # fmt: skip
            element(pattern, "rect", width="7", height="7", fill="#ffffff")
            element(pattern, "path", d="M-1 8 L8 -1 M-1 -1 L8 8", stroke="#8c0000", fill="none")
        element(
            self.group, "path", d=self._path(flaw), fill=f"url(#{name})", stroke="#8c0000",
            stroke_width="1.2",
        )  # fmt: skip

    def margin(self, region: Polygon | MultiPolygon) -> None:
        """Draw the edge of what may be cut, as a broken line."""
        if region.is_empty:
            return
        for colour, dash in (("#ffffff", "none"), ("#222222", "2 3")):
            element(
                self.group, "path", d=self._path(region), fill="none", stroke=colour,
                stroke_width="0.8", stroke_dasharray=dash, fill_rule="evenodd",
            )  # fmt: skip

    def pieces(self, pieces: Iterable[CutPiece]) -> None:
        """Draw each piece pale, with its label; one that is cut by template has a broken edge."""
        for piece in pieces:
            width, dash = ("1", "5 2.5") if piece.template else ("0.7", "none")
            element(
                self.group, "path", d=self._path(piece.outline), fill="#ffffff",
                fill_opacity="0.72", stroke="#111111", stroke_width=width, stroke_dasharray=dash,
            )  # fmt: skip
            self._label(piece)

    def _label(self, piece: CutPiece) -> None:
        shape = self._on_paper(piece.outline)
        spot = shapely.maximum_inscribed_circle(shape, tolerance=0.5)
        centre, room = shape.centroid, spot.length
        if not shape.contains(centre) or centre.distance(shape.exterior) < room / 2:
            centre = Point(spot.coords[0])
        size = min(_LARGEST, max(_SMALLEST, 1.7 * room / max(1, len(piece.label) * 0.62)))
        x, y, half = centre.x, centre.y, len(piece.label) * size * 0.31
        self._text(piece.label, x, y + size * 0.35, size, bold=True)
        self._taken.append(shapely.box(x - half, y - size / 2, x + half, y + size / 2))

    def _text(self, text: str, x: float, y: float, size: float, *, bold: bool = False) -> None:
        element(
            self.group, "text", text, x=x, y=y, font_size=size, text_anchor="middle",
            font_weight="bold" if bold else "normal", fill="#000000", stroke="#ffffff",
            stroke_width="2.5", paint_order="stroke",
        )  # fmt: skip

    def cuts(self, corners: Iterable[Corner]) -> None:
        """Draw every cut as far as it goes, with its number, and the corners they start from.

        `corners` are lettered, over the lines and under the numbers.
        """
        parts = cut_parts(self._plan)
        lines = []
        for cut in self._plan.cuts:
            (x0, y0), (x1, y1) = cut.line
            ux, uy = np.array([x1 - x0, y1 - y0]) / math.hypot(x1 - x0, y1 - y0) * _FAR
            whole = LineString([(x0 - ux, y0 - uy), (x0 + ux, y0 + uy)])
            shown = [
                one
                for one in shapely.get_parts(
                    parts[cut.part].intersection(self._shown).intersection(whole)
                ).tolist()
                if isinstance(one, LineString)
            ]
            lines.append(
                [[(self.x(x), self.y(y)) for x, y in one.coords] for one in shown if one.length]
            )
        self._lines = [LineString(piece) for line in lines for piece in line]
        paths = [
            " ".join("M" + " L".join(f"{x:.2f} {y:.2f}" for x, y in piece) for piece in line)
            for line in lines
        ]
        self._stroke(paths, "4", "1.7", class_="cut")
        for cut in self._plan.cuts:
            if cut.point is not None:
                element(
                    self.group, "circle", cx=self.x(cut.point[0]), cy=self.y(cut.point[1]),
                    r="2.6", fill="#000000", stroke="#ffffff", stroke_width="1",
                )  # fmt: skip
        self._letters(corners)
        for number, line in enumerate(lines, start=1):
            if line:
                self._number(str(number), max(line, key=lambda piece: math.dist(*piece)))

    def _number(self, number: str, line: Sequence[Place]) -> None:
        """Put a cut's number beside the end of its line, or on it, where most room is."""
        places = _places(line)
        x, y = places[int(np.argmin(self._costs(np.array(places))))]
        start = LineString(line).interpolate(LineString(line).project(Point(x, y)))
        if start.distance(Point(x, y)) > 2 * _DISC:
            middle = LineString(line).interpolate(0.5, normalized=True)
            path = f"M{middle.x:.2f} {middle.y:.2f} L{x:.2f} {y:.2f}"
            self._stroke([path], "2.4", "0.8")
        self._taken.append(Point(x, y).buffer(_DISC))
        element(
            self.group, "circle", cx=x, cy=y, r=_DISC, fill="#ffffff", stroke="#000000",
            stroke_width="1.1",
        )  # fmt: skip
        size = 9.0 if len(number) < 2 else 8.0
        element(
            self.group, "text", number, x=x, y=y + size * 0.36, font_size=size,
            text_anchor="middle", font_weight="bold", fill="#000000",
        )  # fmt: skip

    def _costs(self, places: NDArray[np.float64]) -> NDArray[np.float64]:
        """Return how bad each place (x, y) is for a number, in order of preference."""
        x, y = places.T
        # The rulers are at the left and below.
        outside = (x < 0) | (y > self.tall) | (x > self.wide + RIM - _DISC) | (y < _DISC - RIM)
        discs = [Point(at).buffer(_DISC) for at in places.tolist()]
        covered = _shared(discs, self._taken, shapely.area)
        return np.asarray(covered + 0.5 * np.arange(len(places)) + 1e4 * outside)

    def _letters(self, corners: Iterable[Corner]) -> None:
        """Letter the corners of the cloth, a little inside of them."""
        middle = self._outline.representative_point()
        for corner in corners:
            x, y = self.x(corner.x), self.y(corner.y)
            away = math.hypot(middle.x - x, middle.y - y) or 1.0
            x, y = x + (middle.x - x) * 14 / away, y + (middle.y - y) * 14 / away
            self._text(corner.letter, x, y + 4, 12.0, bold=True)
            self._taken.append(Point(x, y).buffer(6))

    def grain_arrow(self, heads: int) -> None:
        """Draw the lengthwise grain, which is level, on the cloth; one head for a one-way print."""
        long = min(_ARROW, 0.6 * self.wide)
        pieces = shapely.union_all([self._on_paper(piece.outline) for piece in self._plan.pieces])
        inside = self._outline.buffer(-3)
        along = np.linspace(long / 2, self.wide - long / 2, _TRIED)
        up = np.linspace(6, max(6.0, self.tall - 6), 2 * _TRIED)
        spots = np.stack(np.meshgrid(along, up, indexing="ij"), axis=-1).reshape(-1, 2)
        reach = np.array([long / 2 + 2, 5.0])
        boxes = shapely.box(*(spots - reach).T, *(spots + reach).T)
        costs = 50 * shapely.area(shapely.difference(boxes, inside))
        costs += shapely.area(shapely.intersection(boxes, pieces))
        costs += 10 * _shared(boxes, self._taken, shapely.area)
        costs += 10 * _shared(boxes, self._lines, shapely.length)
        (x, y), half = spots[int(np.argmin(costs))].tolist(), long / 2
        path = f"M{x - half:.1f} {y:.1f} H{x + half:.1f}"
        for way in (1, -1)[:heads]:
            tip = x + way * half
            path += f" M{tip - way * 6:.1f} {y - 4:.1f} L{tip:.1f} {y:.1f} L{tip - way * 6:.1f} "
            path += f"{y + 4:.1f}"
        self._stroke([path], "4.5", "1.8", stroke_linecap="round", class_="grain")
        self._taken.append(shapely.box(x - half, y - 5, x + half, y + 5))


def _shared(
    shapes: Sequence[BaseGeometry] | NDArray[np.object_],
    others: Sequence[BaseGeometry],
    measure: Callable[[Any], NDArray[np.float64]],
) -> NDArray[np.float64]:
    """Return the measure of what each of `shapes` has in common with `others`, added up."""
    tree = shapely.STRtree(others)
    at, other = tree.query(np.asarray(shapes))
    common = measure(shapely.intersection(np.asarray(shapes)[at], tree.geometries[other]))
    return np.asarray(np.bincount(at, weights=common, minlength=len(shapes)), dtype=np.float64)


def _places(line: Sequence[Place]) -> list[Place]:
    """Return places for a number: beyond the ends of the line, at the right first; then on it.

    Then beside it, where a thin line leads to its middle.
    """
    (x0, y0), (x1, y1) = sorted((line[0], line[-1]), key=lambda end: (-end[0] + end[1], end))
    length = math.hypot(x1 - x0, y1 - y0)
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    off = _DISC + 1.5
    on_line = (-off, length + off, off, length - off, *(length * n / 6 for n in (3, 2, 4, 1, 5)))
    places = [(x0 + ux * far, y0 + uy * far) for far in on_line]
    middle = (x0 + x1) / 2, (y0 + y1) / 2
    for far in (2 * off, 3 * off):
        for turn in range(0, 360, 30):
            cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            places.append((middle[0] + far * cos, middle[1] + far * sin))
    return places

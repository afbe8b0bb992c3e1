"""Drawing a scrap, or a strip of yardage, with the pieces to cut from it, as SVG.

The drawing carries rulers along two sides, so that any cut can be read off in inches (or
centimetres) from the edges of a box around the cloth. Pieces are told apart by a letter and a
hatching, never by colour alone; what lies under them is the cloth itself, or its colours.
"""

import base64
import math
from collections.abc import Iterable, Sequence
from xml.etree import ElementTree as ET

import shapely
from shapely import MultiPolygon, Polygon

from scrapstore.report.corners import lettered_corners, needs_letters
from scrapstore.report.forms import ClothPicture, Rgb, ScrapSheet, SheetPiece, StripPicture
from scrapstore.units import Units

__all__ = ["HATCHES", "draw_scrap", "draw_strip"]

_SVG = "http://www.w3.org/2000/svg"
ET.register_namespace("", _SVG)

# Widest picture in points of the drawing; small scraps are drawn at most this many to the inch.
_WIDEST = 640.0
_TALLEST = 560.0
_LARGEST_SCALE = 80.0
_RULER = 26.0

HATCHES = ("none", "/", "|", "\\", "-", "x", "+", ".")
"""Hatchings in the order of the piece list's letters; they begin again after the last."""


def draw_scrap(sheet: ScrapSheet, units: Units) -> str:
    """Return the drawing of one scrap as an SVG document that stands alone."""
    canvas = _Canvas(
        sheet.outline.bounds, units, f"scrap-{sheet.scrap_id}", bare=not sheet.grain_known
    )
    canvas.cloth(sheet.outline, sheet.swatches)
    if sheet.cloth is not None:
        canvas.picture(sheet.cloth, sheet.outline)
    for flaw in sheet.flaws:
        canvas.flaw(flaw)
    canvas.margin(sheet.region)
    canvas.pieces(sheet.pieces)
    if needs_letters(sheet.outline):
        canvas.corners(sheet.outline)
    canvas.rulers()
    if sheet.grain_known:
        canvas.grain_arrow("one way" if sheet.one_way else "lengthwise grain", sheet.one_way)
    return canvas.text()


def draw_strip(strip: StripPicture, units: Units, name: str) -> str:
    """Return the drawing of one strip of yardage as an SVG document that stands alone."""
    canvas = _Canvas((0, 0, strip.width, strip.height), units, name, bare=True)
    box = shapely.box(0, 0, strip.width, strip.height)
    canvas.cloth(box, (((235, 235, 230), 1.0, "cloth"),))
    for narrow in strip.narrower:
        canvas.margin(narrow)
    canvas.pieces(strip.pieces)
    canvas.rulers()
    return canvas.text()


class _Canvas:
    """An SVG under construction, in inches with y up; `box` is (left, bottom, right, top).

    A `bare` drawing has no room for the grain arrow below its ruler.
    """

    def __init__(
        self,
        box: tuple[float, float, float, float],
        units: Units,
        name: str,
        *,
        bare: bool,
    ) -> None:
        left, bottom, right, top = box
        self.left, self.bottom, self.right, self.top = left, bottom, right, top
        wide, tall = max(right - left, 0.1), max(top - bottom, 0.1)
        self.scale = min(_WIDEST / wide, _TALLEST / tall, _LARGEST_SCALE)
        self.units = units
        self.name = name
        self.width = wide * self.scale + 2 * _RULER + 8
        self.height = tall * self.scale + _RULER + 8 + (0 if bare else _RULER)
        self.root = ET.Element(
            f"{{{_SVG}}}svg",
            {
                "viewBox": f"0 0 {self.width:.1f} {self.height:.1f}",
                "width": f"{self.width:.0f}",
                "height": f"{self.height:.0f}",
                "role": "img",
                "font-family": "sans-serif",
            },
        )
        self.defs = self.add("defs")

    def add(self, tag: str, text: str | None = None, **attributes: str | float) -> ET.Element:
        """Append an element to the drawing; ``stroke_width`` becomes ``stroke-width``."""
        return self._under(self.root, tag, text, **attributes)

    @staticmethod
    def _under(
        parent: ET.Element, tag: str, text: str | None = None, **attributes: str | float
    ) -> ET.Element:
        plain = {
            key.rstrip("_").replace("_", "-"): f"{value:.2f}" if isinstance(value, float) else value
            for key, value in attributes.items()
        }
        element = ET.SubElement(parent, f"{{{_SVG}}}{tag}", plain)
        element.text = text
        return element

    def x(self, inches: float) -> float:
        return _RULER + 4 + (inches - self.left) * self.scale

    def y(self, inches: float) -> float:
        return 4 + (self.top - inches) * self.scale

    def path(self, shape: Polygon | MultiPolygon) -> str:
        """Return path data; holes are left open by the even-odd rule."""
        parts = shape.geoms if isinstance(shape, MultiPolygon) else (shape,)
        rings: list[str] = []
        for part in parts:
            for ring in (part.exterior, *part.interiors):
                points = " L".join(f"{self.x(x):.2f} {self.y(y):.2f}" for x, y in ring.coords[:-1])
                if points:
                    rings.append(f"M{points} Z")
        return " ".join(rings)

    def cloth(self, outline: Polygon, swatches: Sequence[tuple[Rgb, float, str]]) -> None:
        """Fill the outline with the cloth's colours: the leading one, the rest as thin stripes."""
        fill = "#dddddd"
        if swatches:
            fill = _hex(swatches[0][0])
            if len(swatches) > 1:
                fill = f"url(#{self.name}-cloth)"
                self._stripes(swatches)
        self.add(
            "path", d=self.path(outline), fill=fill, fill_rule="evenodd",
            stroke="#222222", stroke_width="1.4",
        )  # fmt: skip

    def picture(self, picture: ClothPicture, outline: Polygon) -> None:
        """Lay the cloth's picture into the outline, which is drawn over it."""
        name = f"{self.name}-outline"
        clip = self._under(self.defs, "clipPath", id=name)
        self._under(clip, "path", d=self.path(outline), clip_rule="evenodd")
        left, bottom, right, top = picture.box
        cos, sin = (f(math.radians(picture.turn_deg)) for f in (math.cos, math.sin))
        # The picture's own y runs down from its upper left corner, which lies here:
        x, y = self.x(left * cos - top * sin), self.y(left * sin + top * cos)
        inside = self.add("g", clip_path=f"url(#{name})")
        self._under(
            inside, "image", width=(right - left) * self.scale, height=(top - bottom) * self.scale,
            preserveAspectRatio="none",
            transform=f"matrix({cos:.6f} {-sin:.6f} {sin:.6f} {cos:.6f} {x:.2f} {y:.2f})",
            href=f"data:image/jpeg;base64,{base64.b64encode(picture.data).decode()}",
        )  # fmt: skip
        self.add("path", d=self.path(outline), fill="none", stroke="#222222", stroke_width="1.4")

    def _stripes(self, swatches: Sequence[tuple[Rgb, float, str]]) -> None:
        period = 28.0
        pattern = self._under(
            self.defs, "pattern", id=f"{self.name}-cloth", width=period, height=period,
            patternUnits="userSpaceOnUse",
        )  # fmt: skip
        total = sum(share for _, share, _ in swatches) or 1.0
        start = 0.0
        for rgb, share, _ in swatches:
            wide = period * share / total
            self._under(
                pattern, "rect", x=start, y="0", width=wide + 0.2, height=period, fill=_hex(rgb)
            )
            start += wide

    def flaw(self, flaw: Polygon) -> None:
        """Cross out a flaw."""
        self.add(
            "path", d=self.path(flaw), fill=self._hatch("x", "#b00000"), stroke="#b00000",
            stroke_width="1.2",
        )  # fmt: skip

    def margin(self, region: Polygon | MultiPolygon) -> None:
        """Draw the edge of what may be cut, or of a strip within a strip, as a broken line."""
        if region.is_empty:
            return
        for colour, dash in (("#ffffff", "none"), ("#222222", "4 3")):
            self.add(
                "path", d=self.path(region), fill="none", stroke=colour, stroke_width="0.9",
                stroke_dasharray=dash, fill_rule="evenodd",
            )  # fmt: skip

    def pieces(self, pieces: Iterable[SheetPiece]) -> None:
        """Draw each piece: a veil of white, its hatching, a firm outline, letter and number."""
        numbers: dict[str, int] = {}
        for piece in pieces:
            numbers[piece.letter] = numbers.get(piece.letter, 0) + 1
            path = self.path(piece.outline)
            self.add("path", d=path, fill="#ffffff", fill_opacity="0.62", stroke="none")
            hatch = HATCHES[(ord(piece.letter[0]) - ord("A")) % len(HATCHES)]
            if hatch != "none":
                self.add("path", d=path, fill=self._hatch(hatch, "#555555"), stroke="none")
            self.add(
                "path", d=path, fill="none", stroke="#000000", stroke_width="1.5",
                stroke_linejoin="miter",
            )  # fmt: skip
            self._label(piece, f"{piece.letter}{numbers[piece.letter]}")

    def _label(self, piece: SheetPiece, text: str) -> None:
        centre = piece.outline.centroid.coords[0]
        room = shapely.Point(centre).distance(piece.outline.exterior) * self.scale
        if not piece.outline.contains(shapely.Point(centre)):
            spot = shapely.maximum_inscribed_circle(piece.outline)
            centre, room = spot.coords[0], spot.length * self.scale
        size = max(6.0, min(15.0, room * 0.9))
        self.add(
            "text", text, x=self.x(centre[0]), y=self.y(centre[1]) + size * 0.35,
            font_size=size, font_weight="bold", text_anchor="middle", fill="#000000",
            stroke="#ffffff", stroke_width="3", paint_order="stroke",
        )  # fmt: skip

    def corners(self, outline: Polygon) -> None:
        """Letter the corners of the cloth, a little inside of them."""
        middle = outline.representative_point()
        for corner in lettered_corners(outline):
            away = math.hypot(middle.x - corner.x, middle.y - corner.y) or 1.0
            inward = 14 / self.scale / away
            x = corner.x + (middle.x - corner.x) * inward
            y = corner.y + (middle.y - corner.y) * inward
            self.add(
                "text", corner.letter, x=self.x(x), y=self.y(y) + 4, font_size="12",
                font_style="italic", font_weight="bold", text_anchor="middle", fill="#000000",
                stroke="#ffffff", stroke_width="3", paint_order="stroke",
            )  # fmt: skip

    def _hatch(self, kind: str, colour: str) -> str:
        name = f"{self.name}-hatch-{HATCHES.index(kind)}-{colour[1:]}"
        if not any(child.get("id") == name for child in self.defs):
            pattern = self._under(
                self.defs, "pattern", id=name, width="9", height="9", patternUnits="userSpaceOnUse"
            )
            lines = {
                "/": "M-1 10 L10 -1", "\\": "M-1 -1 L10 10", "|": "M4.5 0 V9", "-": "M0 4.5 H9",
                "x": "M-1 10 L10 -1 M-1 -1 L10 10", "+": "M4.5 0 V9 M0 4.5 H9",
                ".": "M4 4.5 H5.4",
            }  # fmt: skip
            self._under(
                pattern, "path", d=lines[kind], stroke=colour, stroke_width="0.9", fill="none"
            )
        return f"url(#{name})"

    def rulers(self) -> None:
        """Draw a ruler below and at the left, zero at the lower left corner of the box."""
        per_unit = 1.0 if self.units == "in" else 1 / 2.54
        mark = 0.5 if self.units == "in" else 1.0
        named = _every(self.scale * per_unit, self.units)
        wide, tall = self.right - self.left, self.top - self.bottom
        base = self.y(self.bottom) + 6
        side = self.x(self.left) - 6
        for k in range(math.floor(wide / per_unit / mark + 1e-6) + 1):
            at, whole = k * mark, (k * mark) % named == 0
            x = self.x(self.left + at * per_unit)
            self.add("path", d=f"M{x:.2f} {base:.2f} v{7 if whole else 4}", stroke="#444444")
            if whole:
                self.add("text", f"{at:g}", x=x, y=base + 17, font_size="9", text_anchor="middle")
        for k in range(math.floor(tall / per_unit / mark + 1e-6) + 1):
            at, whole = k * mark, (k * mark) % named == 0
            y = self.y(self.bottom + at * per_unit)
            self.add("path", d=f"M{side:.2f} {y:.2f} h-{7 if whole else 4}", stroke="#444444")
            if whole:
                self.add("text", f"{at:g}", x=side - 9, y=y + 3, font_size="9", text_anchor="end")
        self.add("text", self.units, x=self.x(self.right) + 6, y=base + 17, font_size="9")

    def grain_arrow(self, text: str, one_way: bool) -> None:
        """Draw the lengthwise grain (0°) as an arrow under the ruler; two heads unless one-way."""
        y = self.height - 8
        x0, x1 = self.x(self.left), self.x(self.left) + 60
        heads = f"M{x1 - 6:.1f} {y - 4:.1f} L{x1:.1f} {y:.1f} L{x1 - 6:.1f} {y + 4:.1f}"
        if not one_way:
            heads += f" M{x0 + 6:.1f} {y - 4:.1f} L{x0:.1f} {y:.1f} L{x0 + 6:.1f} {y + 4:.1f}"
        self.add(
            "path", d=f"M{x0:.1f} {y:.1f} H{x1:.1f} {heads}", stroke="#000000", fill="none",
            stroke_width="1.3",
        )  # fmt: skip
        self.add("text", text, x=x1 + 6, y=y + 3, font_size="9")

    def text(self) -> str:
        return ET.tostring(self.root, encoding="unicode")


def _every(points: float, units: Units) -> int:
    """Return how many units lie between two figures on a ruler, so that they stay legible."""
    return (
        next((n for n in (1, 2, 5, 10) if n * points >= 22), 20)
        if units != "in"
        else next((n for n in (1, 2, 4, 6) if n * points >= 16), 12)
    )


def _hex(rgb: Rgb) -> str:
    return "#{:02x}{:02x}{:02x}".format(*rgb)

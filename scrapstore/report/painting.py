"""Small drawings of areas, pictures and words, painted as SVG or as pixels from one description.

Coordinates are points of the drawing, x to the right and y down.
"""

import io
import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal
from xml.etree import ElementTree as ET

import numpy as np
import shapely
from shapely import Polygon, affinity

from scrapstore.printable import printable
from scrapstore.report.forms import Rgb
from scrapstore.report.svg import (
    element,
    hex_colour,
    jpeg_link,
    new_element,
    rings_path,
    svg_text,
)

if TYPE_CHECKING:
    from PIL import Image, ImageFont

__all__ = [
    "Area",
    "Drawing",
    "Matrix",
    "Part",
    "Picture",
    "TextLine",
    "over_box",
    "paint_pixels",
    "paint_svg",
    "svg_drawing",
]

_INK: Final[Rgb] = (26, 26, 26)
_VERA_SIZE: Final = 0.9  # Vera is a broad face; so much smaller it runs as wide as a sans-serif
_FINER: Final = 4  # masks are drawn so many times larger, so that edges come out smooth
_MOST_PICTURES: Final = 32  # that are kept while a drawing is painted
_UNIT: Final = 100.0
"""Side of the square that a picture fills in SVG; one of 1 is blurred by some viewers."""

Matrix = tuple[float, float, float, float, float, float]
"""(a, b, d, e, x, y), as shapely's `affine_transform` takes it: (u, v) is taken to
(a u + b v + x, d u + e v + y)."""


@dataclass(frozen=True)
class Area:
    """A polygon, holes left open: filled unless `fill` is None, edged unless `edge` is 0.

    What lies under it shows through the fill where `opacity` is below 1.
    """

    shape: Polygon
    fill: Rgb | None = None
    edge: float = 0.0
    opacity: float = 1.0


@dataclass(frozen=True)
class Picture:
    """A JPEG, turned, mirrored or scaled as one likes, of which what lies in `clip` is shown.

    The picture fills the unit square, its upper left corner at (0, 0); `lies` takes that square to
    the drawing. Pictures with the same `data` are stored once in a file.
    """

    data: bytes
    lies: Matrix
    clip: Polygon


@dataclass(frozen=True)
class TextLine:
    """Text with its baseline at y; with a `halo` it also reads on a picture."""

    text: str
    x: float
    y: float
    size: float = 11.0
    bold: bool = False
    anchor: Literal["start", "middle", "end"] = "start"
    halo: bool = False


Part = Area | Picture | TextLine


def over_box(box: tuple[float, float, float, float]) -> Matrix:
    """Return how a picture lies that fills `box`: left, top, right, bottom."""
    left, top, right, bottom = box
    return right - left, 0.0, 0.0, bottom - top, left, top


@dataclass(frozen=True)
class Drawing:
    """Parts, the later over the earlier."""

    width: float
    height: float
    parts: tuple[Part, ...]

    def at(self, x: float, y: float) -> Iterable[Part]:
        """Yield the parts moved by (x, y), to be put into a larger drawing."""
        for part in self.parts:
            if isinstance(part, TextLine):
                yield replace(part, x=part.x + x, y=part.y + y)
            elif isinstance(part, Area):
                yield replace(part, shape=affinity.translate(part.shape, x, y))
            else:
                a, b, d, e, left, top = part.lies
                clip = affinity.translate(part.clip, x, y)
                yield replace(part, lies=(a, b, d, e, left + x, top + y), clip=clip)


def paint_svg(drawing: Drawing, name: str, *, title: str | None = None) -> str:
    """Return the drawing as SVG; `name` keeps its ids apart from others in the same page."""
    return svg_text(svg_drawing(drawing, name, title=title))


def svg_drawing(drawing: Drawing, name: str, *, title: str | None = None) -> ET.Element:
    """Return the elements of `paint_svg`, which `report.pdf` paints too."""
    wide, tall = f"{drawing.width:g}", f"{drawing.height:g}"
    root = new_element(
        "svg", viewBox=f"0 0 {wide} {tall}", width=wide, height=tall, role="img",
        font_family="sans-serif",
    )  # fmt: skip
    if title:
        element(root, "title", title)
    ids: dict[bytes, str] = {}
    for index, part in enumerate(drawing.parts):
        if isinstance(part, TextLine):
            _svg_line(root, part)
        elif isinstance(part, Area):
            see_through = {"fill_opacity": f"{part.opacity:g}"} if part.opacity < 1 else {}
            element(
                root, "path", d=rings_path(part.shape), fill_rule="evenodd",
                fill="none" if part.fill is None else hex_colour(part.fill),
                stroke=hex_colour(_INK) if part.edge else "none", stroke_width=f"{part.edge:g}",
                **see_through,
            )  # fmt: skip
        else:
            _svg_picture(root, part, f"{name}-{index}", ids)
    return root


def _svg_line(root: ET.Element, line: TextLine) -> None:
    halo = {"stroke": "#ffffff", "stroke_width": "2.5", "paint_order": "stroke"}
    element(
        root, "text", line.text, x=f"{line.x:.1f}", y=f"{line.y:.1f}",
        font_size=f"{line.size:g}", text_anchor=line.anchor, fill=hex_colour(_INK),
        font_weight="bold" if line.bold else "normal", **(halo if line.halo else {}),
    )  # fmt: skip


def _svg_picture(root: ET.Element, part: Picture, own: str, ids: dict[bytes, str]) -> None:
    if part.data not in ids:
        ids[part.data] = f"{own}-picture"
        element(
            element(root, "defs"), "image", id=ids[part.data], width=f"{_UNIT:g}",
            height=f"{_UNIT:g}", preserveAspectRatio="none", href=jpeg_link(part.data),
        )  # fmt: skip
    clip = element(root, "clipPath", id=own)
    element(clip, "path", d=rings_path(part.clip), clip_rule="evenodd")
    a, b, d, e, x, y = part.lies
    turned = " ".join(f"{one / _UNIT:.6f}" for one in (a, d, b, e))
    inside = element(root, "g", clip_path=f"url(#{own})")
    element(inside, "use", href=f"#{ids[part.data]}", transform=f"matrix({turned} {x:.3f} {y:.3f})")


def paint_pixels(drawing: Drawing, scale: float = 2.0) -> "Image.Image":
    """Return the drawing on white, `scale` pixels to a point."""
    from PIL import Image, ImageDraw

    size = (max(1, round(drawing.width * scale)), max(1, round(drawing.height * scale)))
    canvas = Image.new("RGB", size, "white")
    draw = ImageDraw.Draw(canvas)
    fonts, pictures = _Fonts(scale), _Pictures(scale)
    for part in drawing.parts:
        if isinstance(part, TextLine):
            anchor = {"start": "ls", "middle": "ms", "end": "rs"}[part.anchor]
            font = fonts(part.size, bold=part.bold)
            draw.text(
                (part.x * scale, part.y * scale),
                printable(part.text),
                font=font,
                fill=_INK,
                anchor=anchor,
                stroke_width=round(1.25 * scale) if part.halo else 0,
                stroke_fill="white",
            )
        elif isinstance(part, Area):
            if part.fill is not None and not part.shape.is_empty:
                mask, corner = _mask(part.shape, scale)
                mask = mask.point(lambda inside, one=part: round(inside * one.opacity))
                canvas.paste(part.fill, (*corner, corner[0] + mask.width, corner[1] + mask.height),
                             mask)  # fmt: skip
            if part.edge:
                _edge(draw, part.shape, max(1, round(part.edge * scale)), scale)
        elif not part.clip.is_empty:
            pictures.put(canvas, part)
    return canvas


class _Fonts:
    """Bitstream Vera in the sizes asked for; it comes with reportlab, so it is always there."""

    def __init__(self, scale: float) -> None:
        import reportlab

        self._folder = Path(reportlab.__file__).parent / "fonts"
        self._scale = scale
        self._made: dict[tuple[float, bool], ImageFont.FreeTypeFont] = {}

    def __call__(self, size: float, *, bold: bool) -> "ImageFont.FreeTypeFont":
        from PIL import ImageFont

        if (size, bold) not in self._made:
            file = self._folder / ("VeraBd.ttf" if bold else "Vera.ttf")
            self._made[size, bold] = ImageFont.truetype(file, size * self._scale * _VERA_SIZE)
        return self._made[size, bold]


class _Pictures:
    """Pictures put on pixels; one that is shown several times is decoded and shrunk once."""

    def __init__(self, scale: float) -> None:
        self._scale = scale
        self._shrunk = lru_cache(maxsize=_MOST_PICTURES)(_shrunk)

    def put(self, canvas: "Image.Image", part: Picture) -> None:
        """Put what `part` shows on the canvas; where the picture ends, what was there stays."""
        from PIL import Image, ImageChops

        mask, (left, top) = _mask(part.clip, self._scale)
        a, b, d, e, x, y = part.lies
        shown = (math.hypot(a, d) * self._scale, math.hypot(b, e) * self._scale)
        image = self._shrunk(part.data, max(1, round(shown[0])), max(1, round(shown[1])))
        # Pillow asks, for each pixel of the result, where it comes from in the picture.
        to_canvas = self._scale * np.array([[a, b, x], [d, e, y]]) - [[0, 0, left], [0, 0, top]]
        to_canvas[:, :2] /= image.size
        back = np.linalg.inv(np.vstack([to_canvas, [0, 0, 1]]))[:2].ravel().tolist()
        turned = image.transform(mask.size, Image.Transform.AFFINE, back, Image.Resampling.BICUBIC)
        there = Image.new("L", image.size, 255).transform(
            mask.size, Image.Transform.AFFINE, back, Image.Resampling.NEAREST
        )
        canvas.paste(turned, (left, top), ImageChops.darker(mask, there))


def _shrunk(data: bytes, wide: int, tall: int) -> "Image.Image":
    """Return a picture no larger than it is shown."""
    from PIL import Image

    with Image.open(io.BytesIO(data)) as stored:
        image = stored.convert("RGB")
    return image.resize((min(image.width, wide), min(image.height, tall)), Image.Resampling.LANCZOS)


def _mask(shape: Polygon, scale: float) -> tuple["Image.Image", tuple[int, int]]:
    """Return how much of each pixel lies in `shape`, and where the upper left of them lies."""
    from PIL import Image, ImageDraw

    bounds = [edge * scale for edge in shape.bounds]
    left, top = (math.floor(edge) for edge in bounds[:2])
    size = [
        max(1, math.ceil(end) - start) for end, start in zip(bounds[2:], (left, top), strict=True)
    ]
    mask = Image.new("L", (size[0] * _FINER, size[1] * _FINER))
    inside = ImageDraw.Draw(mask)
    for ring, white in ((shape.exterior, 255), *((hole, 0) for hole in shape.interiors)):
        inside.polygon(
            [
                ((x * scale - left) * _FINER, (y * scale - top) * _FINER)
                for x, y in shapely.get_coordinates(ring).tolist()
            ],
            fill=white,
        )
    return mask.resize((size[0], size[1]), Image.Resampling.BOX), (left, top)


def _edge(draw: Any, shape: Polygon, width: int, scale: float) -> None:
    for ring in (shape.exterior, *shape.interiors):
        points = [(x * scale, y * scale) for x, y in ring.coords]
        draw.line([*points, points[1]], fill=_INK, width=width, joint="curve")

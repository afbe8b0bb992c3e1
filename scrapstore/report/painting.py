"""Small drawings of areas, pictures and words, painted as SVG or as pixels from one description.

Coordinates are points of the drawing, x to the right and y down.
"""

import io
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

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

__all__ = ["Area", "Drawing", "Part", "Picture", "TextLine", "paint_pixels", "paint_svg"]

_INK: Final[Rgb] = (26, 26, 26)
_VERA_SIZE: Final = 0.9  # Vera is a broad face; so much smaller it runs as wide as a sans-serif
_FINER: Final = 4  # masks are drawn so many times larger, so that edges come out smooth


@dataclass(frozen=True)
class Area:
    """A polygon, holes left open: filled unless `fill` is None, edged unless `edge` is 0."""

    shape: Polygon
    fill: Rgb | None = None
    edge: float = 0.0


@dataclass(frozen=True)
class Picture:
    """A JPEG over `box` (left, top, right, bottom), of which what lies in `clip` is shown."""

    data: bytes
    box: tuple[float, float, float, float]
    clip: Polygon


@dataclass(frozen=True)
class TextLine:
    """Text with its baseline at y."""

    text: str
    x: float
    y: float
    size: float = 11.0
    bold: bool = False
    anchor: Literal["start", "middle", "end"] = "start"


Part = Area | Picture | TextLine


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
                yield TextLine(part.text, part.x + x, part.y + y, part.size, part.bold, part.anchor)
            elif isinstance(part, Area):
                yield Area(affinity.translate(part.shape, x, y), part.fill, part.edge)
            else:
                left, top, right, bottom = part.box
                yield Picture(
                    part.data,
                    (left + x, top + y, right + x, bottom + y),
                    affinity.translate(part.clip, x, y),
                )


def paint_svg(drawing: Drawing, name: str, *, title: str | None = None) -> str:
    """Return the drawing as SVG; `name` keeps its ids apart from others in the same page."""
    wide, tall = f"{drawing.width:g}", f"{drawing.height:g}"
    root = new_element(
        "svg", viewBox=f"0 0 {wide} {tall}", width=wide, height=tall, role="img",
        font_family="sans-serif",
    )  # fmt: skip
    if title:
        element(root, "title", title)
    for index, part in enumerate(drawing.parts):
        if isinstance(part, TextLine):
            element(
                root, "text", part.text, x=f"{part.x:.1f}", y=f"{part.y:.1f}",
                font_size=f"{part.size:g}", text_anchor=part.anchor, fill=hex_colour(_INK),
                font_weight="bold" if part.bold else "normal",
            )  # fmt: skip
        elif isinstance(part, Area):
            element(
                root, "path", d=rings_path(part.shape), fill_rule="evenodd",
                fill="none" if part.fill is None else hex_colour(part.fill),
                stroke=hex_colour(_INK) if part.edge else "none", stroke_width=f"{part.edge:g}",
            )  # fmt: skip
        else:
            clip = element(root, "clipPath", id=f"{name}-{index}")
            element(clip, "path", d=rings_path(part.clip), clip_rule="evenodd")
            left, top, right, bottom = part.box
            element(
                root, "image", x=f"{left:.2f}", y=f"{top:.2f}", width=f"{right - left:.2f}",
                height=f"{bottom - top:.2f}", preserveAspectRatio="none",
                clip_path=f"url(#{name}-{index})",
                href=jpeg_link(part.data),
            )  # fmt: skip
    return svg_text(root)


def paint_pixels(drawing: Drawing, scale: float = 2.0) -> "Image.Image":
    """Return the drawing on white, `scale` pixels to a point."""
    from PIL import Image, ImageDraw

    size = (max(1, round(drawing.width * scale)), max(1, round(drawing.height * scale)))
    canvas = Image.new("RGB", size, "white")
    draw = ImageDraw.Draw(canvas)
    fonts = _Fonts(scale)
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
            )
        elif isinstance(part, Area):
            if part.fill is not None:
                _fill(canvas, part.shape, part.fill, scale)
            if part.edge:
                _edge(draw, part.shape, max(1, round(part.edge * scale)), scale)
        else:
            with Image.open(io.BytesIO(part.data)) as image:
                _fill(canvas, part.clip, image.convert("RGB"), scale, part.box)
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


def _fill(
    canvas: "Image.Image",
    shape: Polygon,
    paint: "Rgb | Image.Image",
    scale: float,
    box: tuple[float, float, float, float] | None = None,
) -> None:
    """Put a colour, or a picture that lies over `box`, on `canvas` within `shape`."""
    from PIL import Image, ImageDraw

    if shape.is_empty:
        return
    left, top, right, bottom = (round(edge * scale) for edge in box or shape.bounds)
    size = (max(1, right - left), max(1, bottom - top))
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
    mask = mask.resize(size, Image.Resampling.BOX)
    if isinstance(paint, Image.Image):
        canvas.paste(paint.resize(size, Image.Resampling.BICUBIC), (left, top), mask)
    else:
        canvas.paste(paint, (left, top, left + size[0], top + size[1]), mask)


def _edge(draw: Any, shape: Polygon, width: int, scale: float) -> None:
    for ring in (shape.exterior, *shape.interiors):
        points = [(x * scale, y * scale) for x, y in ring.coords]
        draw.line([*points, points[1]], fill=_INK, width=width, joint="curve")

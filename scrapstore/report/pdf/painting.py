"""Painting a drawing on a PDF page: the same elements that `report.svg` writes into a web page.

A drawing is described once, by the elements of `report.drawing`, and has two outputs. Only what
those drawings are made of is understood; anything else is an error, and never left out in silence.
"""

import base64
import io
import math
import re
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any, Final
from xml.etree import ElementTree as ET

from scrapstore.report.pdf.lettering import fitting, runs, text_width

if TYPE_CHECKING:
    from reportlab.pdfgen.canvas import Canvas

__all__ = ["drawing_size", "paint_drawing", "put_text"]

_TOKEN: Final = re.compile(r"[A-Za-z]|-?[0-9.]+")
_HATCH: Final = 5.0  # points between the lines of a hatched area
_JPEG: Final = "data:image/jpeg;base64,"
_CAPS: Final = {"butt": 0, "round": 1}


def drawing_size(drawing: ET.Element) -> tuple[float, float]:
    """Return width and height of a drawing, in points."""
    _, _, wide, tall = map(float, drawing.get("viewBox", "").split())
    return wide, tall


def paint_drawing(canvas: "Canvas", drawing: ET.Element, x: float, y: float) -> None:
    """Paint a drawing at its own size with its upper left corner at (x, y): points, y upwards."""
    canvas.saveState()
    canvas.transform(1, 0, 0, -1, x, y)
    by_id = {one.get("id"): one for one in drawing.iter() if one.get("id")}
    for child in drawing:
        _paint(canvas, child, by_id)
    canvas.restoreState()


def put_text(
    canvas: "Canvas", text: str, x: float, y: float, size: float, *, bold: bool = False
) -> None:
    """Write a text from (x, y) on, in as many fonts as it takes."""
    line = canvas.beginText(x, y)
    for font, part in runs(fitting(text), bold=bold):
        line.setFont(font, size)
        line.textOut(part)
    canvas.drawText(line)


def _paint(canvas: "Canvas", element: ET.Element, by_id: dict[str | None, ET.Element]) -> None:
    tag = element.tag.rpartition("}")[2]
    canvas.saveState()
    match tag:
        case "defs" | "title" | "clipPath":
            pass
        case "g" | "use" | "svg":
            _paint_group(canvas, element, by_id)
        case "path":
            _paint_path(canvas, element)
        case "circle":
            x, y, radius = (float(element.get(key, "0")) for key in ("cx", "cy", "r"))
            how = _set_paint(canvas, element)
            canvas.circle(x, y, radius, **how)
        case "text":
            _paint_text(canvas, element)
        case "image":
            _paint_image(canvas, element)
        case _:
            raise ValueError(f"no way to paint {tag}")
    canvas.restoreState()


def _paint_group(
    canvas: "Canvas", element: ET.Element, by_id: dict[str | None, ET.Element]
) -> None:
    if moved := element.get("transform"):
        canvas.transform(*_transform(moved))
    if clipped := element.get("clip-path"):
        (shape,) = by_id[clipped[5:-1]]
        canvas.clipPath(_path(canvas, shape.get("d", "")), stroke=0, fill=0, fillMode=0)
    if box := element.get("viewBox"):
        # A window, at its own scale, on what lies in the box.
        left, top, wide, tall = map(float, box.split())
        canvas.translate(float(element.get("x", "0")) - left, float(element.get("y", "0")) - top)
        path = canvas.beginPath()
        path.rect(left, top, wide, tall)
        canvas.clipPath(path, stroke=0, fill=0)
    if link := element.get("href"):
        _paint(canvas, by_id[link[1:]], by_id)
    for child in element:
        _paint(canvas, child, by_id)


def _transform(moved: str) -> tuple[float, ...]:
    """Return the six numbers of a matrix, or those of a move."""
    found = re.fullmatch(r"(matrix|translate)\((.*)\)", moved)
    if found is None:
        raise ValueError(f"no way to {moved}")
    numbers = tuple(float(number) for number in found[2].split())
    return numbers if found[1] == "matrix" else (1, 0, 0, 1, *numbers)


def _numbers(data: str) -> Iterator[tuple[str, list[float]]]:
    """Yield each command of a path with its numbers."""
    command, numbers = "", list[float]()
    for token in _TOKEN.findall(data):
        if token.isalpha():
            if command:
                yield command, numbers
            command, numbers = token, []
        else:
            numbers.append(float(token))
    if command:
        yield command, numbers


def _path(canvas: "Canvas", data: str) -> Any:
    path = canvas.beginPath()
    x = y = 0.0
    for command, numbers in _numbers(data):
        match command, numbers:
            case (("M" | "L"), [x, y]):
                pass
            case (("l"), [dx, dy]):
                x, y = x + dx, y + dy
            case "H", [x]:
                pass
            case "V", [y]:
                pass
            case "h", [dx]:
                x += dx
            case "v", [dy]:
                y += dy
            case "Z", []:
                path.close()
                continue
            case _:
                raise ValueError(f"no way to draw {command} {numbers}")
        (path.moveTo if command == "M" else path.lineTo)(x, y)
    return path


def _paint_path(canvas: "Canvas", element: ET.Element) -> None:
    path = _path(canvas, element.get("d", ""))
    if (element.get("fill") or "").startswith("url("):
        _hatch(canvas, element, path)
        return
    how = _set_paint(canvas, element)
    if dash := element.get("stroke-dasharray", "none").replace("none", ""):
        canvas.setDash([float(one) for one in dash.split()])
    canvas.setLineCap(_CAPS[element.get("stroke-linecap", "butt")])
    canvas.drawPath(path, fillMode=0, **how)


def _hatch(canvas: "Canvas", element: ET.Element, path: Any) -> None:
    """Paint an area that has a pattern: white, crossed with lines, within its edge."""
    canvas.setFillColor("#ffffff")
    canvas.setStrokeColor(element.get("stroke"))
    canvas.setLineWidth(float(element.get("stroke-width", "1")))
    canvas.drawPath(path, stroke=1, fill=1)
    points = [n for _, numbers in _numbers(element.get("d", "")) for n in numbers]
    left, right, top, low = min(points[::2]), max(points[::2]), min(points[1::2]), max(points[1::2])
    canvas.clipPath(path, stroke=0, fill=0)
    canvas.setLineWidth(0.8)
    tall = low - top
    for k in range(math.ceil((right - left + tall) / _HATCH)):
        x = left - tall + k * _HATCH
        canvas.line(x, low, x + tall, top)
        canvas.line(x, top, x + tall, low)


def _set_paint(canvas: "Canvas", element: ET.Element) -> dict[str, int]:
    """Set the colours of an element; return whether it is filled and stroked, as SVG has it."""
    fill, stroke = element.get("fill", "#000000"), element.get("stroke", "none")
    if fill != "none":
        canvas.setFillColor(fill)
        canvas.setFillAlpha(float(element.get("fill-opacity", "1")))
    if stroke != "none":
        canvas.setStrokeColor(stroke)
        canvas.setLineWidth(float(element.get("stroke-width", "1")))
    return {"fill": int(fill != "none"), "stroke": int(stroke != "none")}


def _paint_text(canvas: "Canvas", element: ET.Element) -> None:
    text = fitting(element.text or "")
    size, bold = float(element.get("font-size", "10")), element.get("font-weight") == "bold"
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[element.get("text-anchor", "start")]
    x, y = float(element.get("x", "0")), float(element.get("y", "0"))
    x -= back * text_width(text, size, bold=bold)
    canvas.transform(1, 0, 0, -1, x, y)
    if element.get("stroke", "none") != "none":
        _halo(canvas, text, size, float(element.get("stroke-width", "1")), bold=bold)
    canvas.setFillColor(element.get("fill", "#000000"))
    put_text(canvas, text, 0, 0, size, bold=bold)


def _halo(canvas: "Canvas", text: str, size: float, wide: float, *, bold: bool) -> None:
    """Put white behind a text, so that it shows on any cloth; the text itself is written once."""
    canvas.setFillColor("#ffffff")
    canvas.setFillAlpha(0.85)
    half = wide / 2
    width = text_width(text, size, bold=bold)
    canvas.roundRect(-half, -half, width + wide, 0.72 * size + wide, half, stroke=0, fill=1)
    canvas.setFillAlpha(1)


def _paint_image(canvas: "Canvas", element: ET.Element) -> None:
    from reportlab.lib.utils import ImageReader

    data = base64.b64decode(element.get("href", "").removeprefix(_JPEG))
    wide, tall = float(element.get("width", "0")), float(element.get("height", "0"))
    if moved := element.get("transform"):
        canvas.transform(*_transform(moved))
    canvas.transform(1, 0, 0, -1, 0, tall)
    canvas.drawImage(ImageReader(io.BytesIO(data)), 0, 0, wide, tall)

"""SVG written from plain names, numbers and polygons, for all drawings of the report."""

import base64
from xml.etree import ElementTree as ET

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from scrapstore.printable import printable
from scrapstore.report.forms import Rgb

__all__ = ["element", "hex_colour", "jpeg_link", "new_element", "rings_path", "svg_text"]

_SVG = "http://www.w3.org/2000/svg"
ET.register_namespace("", _SVG)


def new_element(tag: str, text: str | None = None, **attributes: str | float) -> ET.Element:
    """Return an element of no parent; ``stroke_width`` becomes ``stroke-width``.

    SVG spells a few names in camel case; those are given so. Texts are made fit for XML.
    """
    plain = {
        key.rstrip("_").replace("_", "-"): f"{value:.2f}"
        if isinstance(value, float)
        else printable(str(value))
        for key, value in attributes.items()
    }
    made = ET.Element(f"{{{_SVG}}}{tag}", plain)
    made.text = None if text is None else printable(text)
    return made


def element(
    parent: ET.Element, tag: str, text: str | None = None, **attributes: str | float
) -> ET.Element:
    """Append an element to `parent`, as `new_element` makes it, and return it."""
    made = new_element(tag, text, **attributes)
    parent.append(made)
    return made


def rings_path(shape: BaseGeometry) -> str:
    """Return the rings of the polygons in `shape` as a path; what is no polygon is passed over."""
    rings = [
        " L".join(f"{x:.2f} {y:.2f}" for x, y in ring.coords[:-1])
        for part in shapely.get_parts(shape).tolist()
        if isinstance(part, Polygon) and not part.is_empty
        for ring in (part.exterior, *part.interiors)
    ]
    return " ".join(f"M{ring} Z" for ring in rings)


def hex_colour(rgb: Rgb) -> str:
    """Return ``#rrggbb``."""
    return "#{:02x}{:02x}{:02x}".format(*rgb)


def jpeg_link(picture: bytes) -> str:
    """Return a link that holds the JPEG itself."""
    return f"data:image/jpeg;base64,{base64.b64encode(picture).decode()}"


def svg_text(root: ET.Element) -> str:
    """Return the document of `root`."""
    return ET.tostring(root, encoding="unicode")

"""SVG elements from plain names and numbers."""

from xml.etree import ElementTree as ET

from scrapstore.printable import printable

__all__ = ["element", "new_element"]

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

"""A colour to draw cloth in of which only the family is known."""

from typing import Final

from scrapstore.colour.families import MULTICOLOUR, NEUTRALS
from scrapstore.errors import ScrapstoreError

__all__ = ["typical_rgb"]

_Rgb = tuple[int, int, int]

_MEDIUM: Final[dict[str, _Rgb]] = {
    "red": (190, 45, 50), "orange": (225, 130, 45), "yellow": (235, 200, 70),
    "green": (80, 145, 85), "blue": (65, 110, 175), "purple": (125, 80, 150),
    "pink": (220, 130, 155), "brown": (125, 85, 60), "white": (243, 240, 232),
    "grey": (140, 140, 140), "black": (45, 45, 48), MULTICOLOUR: (205, 195, 180),
}  # fmt: skip
_SHIFT: Final = 0.4  # of the way to white or to black


def typical_rgb(family: str, value: str | None = None) -> _Rgb:
    """Return an sRGB colour (0 to 255) that anybody calls by this word.

    Light or dark as `value` says.

    >>> typical_rgb("blue"), typical_rgb("blue", "light")
    ((65, 110, 175), (141, 168, 207))

    Raises ScrapstoreError for a word that is no family.
    """
    if family not in _MEDIUM:
        raise ScrapstoreError(f"colour family: {family!r} is not one")
    rgb = _MEDIUM[family]
    end = {"light": 255, "dark": 0}.get(value or "")
    if end is None or family in NEUTRALS:
        return rgb
    red, green, blue = (round(c + (end - c) * _SHIFT) for c in rgb)
    return red, green, blue

"""What the forms of the JSON output have in common."""

from typing import Annotated, Any

from pydantic import BaseModel, BeforeValidator, ConfigDict
from shapely import LinearRing, Polygon

__all__ = ["Corners", "FineOutline", "FromForm", "Outline", "corners"]

Corners = list[tuple[float, float]]

_FINE = 9  # decimals of an inch that are printed


class FromForm(BaseModel):
    """Read from the attributes of a working form, or from JSON by the names of its own fields.

    A field whose attribute has another name, or lies deeper, says so by `validation_alias`.
    """

    model_config = ConfigDict(from_attributes=True, populate_by_name=True)


def corners(ring: Any) -> Corners:
    """Return the corners of a shapely ring, the first not repeated."""
    return [(float(x), float(y)) for x, y in ring.coords[:-1]]


def _outline(value: Any) -> Any:
    if isinstance(value, Polygon):
        return corners(value.exterior)
    return corners(value) if isinstance(value, LinearRing) else value


def _fine(value: Any) -> Any:
    return [(round(x, _FINE) + 0.0, round(y, _FINE) + 0.0) for x, y in _outline(value)]


Outline = Annotated[Corners, BeforeValidator(_outline)]
"""The corners of a polygon without its holes, or of a ring, the first not repeated."""
FineOutline = Annotated[Corners, BeforeValidator(_fine)]
"""The same, rid of the noise of rounding."""

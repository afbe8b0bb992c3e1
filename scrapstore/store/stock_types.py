"""Columns that hold things of the program's: outlines, flaws, swatches, cut-outs, lists of words.

As `scrapstore.store.column_types`, each reads only what this program writes.
"""

import math
from collections.abc import Callable, Iterable, Mapping
from typing import Any, Final

import shapely
from shapely import MultiLineString, MultiPolygon, Polygon
from shapely.geometry import mapping, shape
from sqlalchemy import LargeBinary

from scrapstore.colour import Swatch
from scrapstore.store.column_types import Checked, Document, UnreadableValueError, Words
from scrapstore.store.files import PHOTO_NAME
from scrapstore.store.forms import CutOut, StripRest
from scrapstore.store.geometry import (
    flaws_from_wkb,
    flaws_to_wkb,
    outline_to_wkb,
    outlines_from_wkb,
)

__all__ = [
    "CUT_OUT",
    "EDGES",
    "MEASURES",
    "RESTS",
    "SWATCHES",
    "WORD_LIST",
    "Flaws",
    "Outline",
    "Parts",
    "PhotoName",
    "checked_photo_name",
    "swatches_of_json",
    "words_of_json",
]


class Outline(Checked):
    """A polygon, as WKB."""

    impl = LargeBinary
    stored = (bytes,)
    meaning = "an outline"

    def write(self, value: Polygon) -> bytes:
        """Return `value` as WKB."""
        return outline_to_wkb(value)

    def read(self, value: bytes) -> Polygon:
        """Return the polygon; UnreadableValueError."""
        return outlines_from_wkb([value])[0]

    def as_json(self, value: Polygon) -> Any:
        """Return `value` as a GeoJSON geometry."""
        return mapping(value)

    def from_json(self, value: Any) -> Any:
        """Return the polygon of a GeoJSON geometry, its corners in the same order."""
        return shape(value)


class Flaws(Checked):
    """Polygons, as one WKB multipolygon; NULL when there are none."""

    impl = LargeBinary
    stored = (bytes,)
    meaning = "an outline"
    null = ()

    def write(self, value: tuple[Polygon, ...]) -> bytes | None:
        """Return `value` as WKB."""
        return flaws_to_wkb(value)

    def read(self, value: bytes) -> tuple[Polygon, ...]:
        """Return the polygons; UnreadableValueError."""
        return flaws_from_wkb(value)

    def as_json(self, value: tuple[Polygon, ...]) -> Any:
        """Return `value` as a GeoJSON geometry, None when there are none."""
        return mapping(MultiPolygon(value)) if value else None

    def from_json(self, value: Any) -> Any:
        """Return the polygons of a GeoJSON geometry, in the same order."""
        return tuple(shapely.get_parts(shape(value)))


class Parts(Document):
    """A JSON value that stands for a thing of the program's.

    `of_json` makes the thing of the JSON value, which is of the type `kind`, and raises KeyError,
    TypeError or ValueError for nonsense; `to_json` makes the JSON value of the thing.
    """

    def __init__(
        self,
        of_json: Callable[[Any], Any],
        to_json: Callable[[Any], Any],
        kind: type = dict,
    ) -> None:
        super().__init__()
        self.of_json, self.to_json, self.kind = of_json, to_json, kind

    def write(self, value: Any) -> Any:
        """Return `value` as JSON has it."""
        return self.to_json(value)

    as_json = write

    def read(self, value: Any) -> Any:
        """Return what the JSON value stands for; UnreadableValueError."""
        entry = super().read(value)
        try:
            return self.of_json(entry)
        except (KeyError, TypeError, ValueError, OverflowError) as error:
            msg = f"{str(entry)[:60]!r} is not what this program writes there"
            raise UnreadableValueError(msg) from error


class PhotoName(Words):
    """The name of a file in the photo folder."""

    def read(self, value: str) -> str:
        """Return the name; UnreadableValueError."""
        return checked_photo_name(value)


def checked_photo_name(name: object) -> str:
    """Return `name` when a file in the photo folder can be called so; UnreadableValueError.

    Such a file is named by its content. Any other name comes from elsewhere and may lead anywhere.
    """
    if not (isinstance(name, str) and PHOTO_NAME.fullmatch(name)):
        raise UnreadableValueError(f"{name!r} is no name of a stored photo")
    return name


def swatches_of_json(entries: list[Any]) -> tuple[Swatch, ...]:
    """Return the swatches that `entries` lists; KeyError, TypeError or ValueError for nonsense."""
    return tuple(_swatch(**entry) for entry in _checked_list(entries))


def _swatch(rgb: list[Any], lab: list[Any], share: Any) -> Swatch:
    red, green, blue = map(int, rgb)
    lightness, a, b = map(float, lab)
    return Swatch(rgb=(red, green, blue), lab=(lightness, a, b), share=float(share))


def _swatches_to_json(swatches: Iterable[Swatch]) -> list[dict[str, Any]]:
    return [{"rgb": list(s.rgb), "lab": list(s.lab), "share": s.share} for s in swatches]


def words_of_json(entries: list[Any]) -> tuple[str, ...]:
    """Return the words that `entries` lists; TypeError where one is no text."""
    if not all(isinstance(word, str) for word in _checked_list(entries)):
        raise TypeError("no words")
    return tuple(entries)


def _checked_list(entries: Any) -> list[Any]:
    if not isinstance(entries, list):
        raise TypeError("no list")
    return entries


def _cut_out_of_json(entry: Mapping[str, Any]) -> CutOut:
    left, bottom, right, top = (float(part) for part in entry["box"])
    return CutOut(checked_photo_name(entry["file_name"]), (left, bottom, right, top))


def _cut_out_to_json(cut_out: CutOut) -> dict[str, Any]:
    return {"file_name": cut_out.file_name, "box": list(cut_out.box)}


def _measures_of_json(entry: Mapping[str, Any]) -> dict[str, float]:
    return {name: float(value) for name, value in entry.items()}


def _edges_of_json(entries: list[Any]) -> MultiLineString:
    edges = MultiLineString(entries)
    if not (edges.length > 0 and math.isfinite(edges.length)):
        raise ValueError(entries)
    return edges


def _edges_to_json(edges: MultiLineString) -> list[list[list[float]]]:
    return [[list(corner) for corner in line.coords] for line in edges.geoms]


def _rests_of_json(entries: list[Any]) -> tuple[StripRest, ...]:
    return tuple(StripRest(*map(float, entry)) for entry in entries)


def _rests_to_json(rests: Iterable[StripRest]) -> list[list[float]]:
    return [list(rest) for rest in rests]


SWATCHES: Final = Parts(swatches_of_json, _swatches_to_json, list)
WORD_LIST: Final = Parts(words_of_json, list, list)
CUT_OUT: Final = Parts(_cut_out_of_json, _cut_out_to_json)
"""Where the picture of a scrap alone lies; one object, so that file and place go together."""
EDGES: Final = Parts(_edges_of_json, _edges_to_json, list)
"""Parts of the edge of an outline."""
RESTS: Final = Parts(_rests_of_json, _rests_to_json, list)
"""What is left of a binding strip."""
MEASURES: Final = Parts(_measures_of_json, dict)
"""Measures of a shape in inches, by name."""

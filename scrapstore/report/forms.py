"""What the sheets are drawn from: plain values, gathered by an action from the other rooms."""

from dataclasses import dataclass

from shapely import MultiPolygon, Polygon

from scrapstore.units import Units

__all__ = [
    "ClothPicture",
    "CuttingReport",
    "PieceLine",
    "RoleShort",
    "ScrapSheet",
    "SheetPiece",
    "StripPicture",
    "StripSource",
]

Rgb = tuple[int, int, int]


@dataclass(frozen=True)
class SheetPiece:
    """One piece drawn on a scrap: the letter of its line in the piece list, and where it lies."""

    letter: str
    outline: Polygon


@dataclass(frozen=True)
class ClothPicture:
    """A JPEG of the cloth seen straight from above, to be drawn inside the scrap's outline.

    `box` is what it covers: left, bottom, right, top in inches in the frame in which the scrap was
    measured; on a sheet that frame is turned by `turn_deg` about its origin.
    """

    data: bytes
    box: tuple[float, float, float, float]
    turn_deg: float = 0.0


@dataclass(frozen=True)
class PieceLine:
    """One line of the piece list, with what becomes of it.

    `cut_size` is the cut size as a ruler reads it, one measure an entry.
    """

    letter: str
    name: str
    role: str
    label: str
    cut_size: tuple[str, ...]
    wanted: int
    ready: int
    scraps: int
    yardage: int
    at_most: int


@dataclass(frozen=True)
class ScrapSheet:
    """One scrap with the pieces to cut from it; every shape in inches in one frame.

    0° is the lengthwise grain when `grain_known`. `swatches` are (sRGB, share, colour family).
    `cloth` is drawn under the pieces, the swatches where there is none. `photo` is a small JPEG,
    shown beside the drawing.
    """

    scrap_id: int
    title: str
    place: str | None
    size: str
    outline: Polygon
    region: Polygon | MultiPolygon
    flaws: tuple[Polygon, ...]
    grain_known: bool
    one_way: bool
    swatches: tuple[tuple[Rgb, float, str], ...]
    reads_as: str
    pieces: tuple[SheetPiece, ...]
    photo: bytes | None = None
    cloth: ClothPicture | None = None
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class StripPicture:
    """One strip of yardage as cut: its size and the pieces in it, in inches.

    `narrower` are the strips that its end is cut into.
    """

    title: str
    text: str
    width: float
    height: float
    pieces: tuple[SheetPiece, ...]
    narrower: tuple[Polygon, ...] = ()


@dataclass(frozen=True)
class StripSource:
    """A length at hand or to be bought, told in `text`, and the strips to cut from it."""

    text: str
    strips: tuple[StripPicture, ...]


@dataclass(frozen=True)
class RoleShort:
    """What a role still needs from yardage: what is wanting, from what to cut it, what to buy."""

    role: str
    buy: str
    wanting: str
    sources: tuple[StripSource, ...]


@dataclass(frozen=True)
class CuttingReport:
    """The whole answer for one project."""

    project: str
    finished: str
    lines: tuple[PieceLine, ...]
    sheets: tuple[ScrapSheet, ...]
    ready_lines: tuple[str, ...]
    short: tuple[RoleShort, ...]
    notes: tuple[str, ...]
    units: Units
    ruler_step: float

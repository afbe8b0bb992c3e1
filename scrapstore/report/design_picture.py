"""The picture of a design: its pieces in plain tints, each with the letter of its line.

Letters and the words below say what the tints say, so that the picture also reads in grey.
"""

from collections.abc import Iterator
from itertools import cycle
from pathlib import Path
from typing import Final

from shapely import Polygon, affinity, box

from scrapstore.designs import Design
from scrapstore.report.forms import Rgb
from scrapstore.report.painting import Area, Drawing, Part, TextLine
from scrapstore.report.picture_file import write_picture
from scrapstore.shapes import label_in, piece_letters
from scrapstore.units import Paper, Units, format_about

__all__ = ["design_drawing", "role_tints", "write_design"]

_WIDE: Final = 480.0  # points; the longer side of the top
_MARGIN: Final = 24.0
_HEAD: Final = 44.0
_LINE: Final = 20.0
_BOX: Final = 13.0
_LARGEST: Final = 15.0  # points; a letter
_SMALLEST: Final = 4.0
_TINTS: Final[tuple[Rgb, ...]] = (
    (238, 196, 110), (206, 130, 104), (134, 186, 184), (214, 214, 220), (140, 156, 196),
    (192, 212, 150), (214, 172, 196), (170, 152, 130),
)  # fmt: skip
_BACKGROUND: Final[Rgb] = (246, 243, 234)
_WHITE: Final[Rgb] = (255, 255, 255)


def design_drawing(design: Design, units: Units = "in") -> Drawing:
    """Return the top, with its piece list below."""
    west, _, _, north = design.outline.bounds
    scale = _WIDE / max(design.sides)
    wide, tall = (side * scale for side in design.sides)
    letters = piece_letters([line.name for line in design.lines])
    colours = role_tints(design)
    parts: list[Part] = [
        TextLine(design.title, _MARGIN, _MARGIN + 8, 15.0, bold=True),
        TextLine(_measures(design, units), _MARGIN, _MARGIN + 26, 11.0),
    ]
    left = _MARGIN + (_WIDE - wide) / 2
    for piece in design.pieces:
        on_paper = affinity.affine_transform(
            piece.outline,
            [scale, 0, 0, -scale, left - west * scale, _MARGIN + _HEAD + north * scale],
        )
        parts.append(Area(on_paper, colours[piece.role], 0.8))
        parts += _letter(on_paper, letters[piece.piece])
    top = _MARGIN + _HEAD + tall + _LINE
    for row, line in enumerate(design.lines):
        y = top + row * _LINE
        parts.append(Area(box(_MARGIN, y, _MARGIN + 2 * _BOX, y + _BOX), colours[line.role], 0.8))
        parts.append(
            TextLine(letters[line.name], _MARGIN + _BOX, y + 10.5, 10.0, bold=True, anchor="middle")
        )
        words = f"{line.count} × {line.name}: {label_in(line.shape, units)}".replace("~", "about ")
        parts.append(TextLine(words, _MARGIN + 2 * _BOX + 8, y + 10.5, 11.0))
    width, height = _WIDE + 2 * _MARGIN, top + len(design.lines) * _LINE + _MARGIN / 2
    # Where a page is dark, dark words need paper of their own.
    return Drawing(width, height, (Area(box(0, 0, width, height), _WHITE), *parts))


def _measures(design: Design, units: Units) -> str:
    size = format_about(design.size, units)
    return f"{size} {design.measured}, finished; {len(design.pieces)} pieces"


def role_tints(design: Design) -> dict[str, Rgb]:
    """Return a colour for each role, where nothing is known of its cloth."""
    tints = cycle(_TINTS)
    roles = dict.fromkeys(line.role for line in design.lines)
    return {role: _BACKGROUND if role == "background" else next(tints) for role in roles}


def _letter(on_paper: Polygon, letter: str) -> Iterator[TextLine]:
    """Yield the letter in the middle of a piece, as large as fits; none on one that is tiny."""
    middle = on_paper.centroid
    room = on_paper.exterior.distance(middle)
    size = min(_LARGEST, 1.4 * room / max(1.0, 0.7 * len(letter)))
    if size >= _SMALLEST:
        yield TextLine(letter, middle.x, middle.y + 0.36 * size, size, anchor="middle")


def write_design(design: Design, file: Path, units: Units = "in", paper: Paper = "letter") -> Path:
    """Write the picture to `file`; return where it is. Raises as `write_picture` does."""
    drawing = design_drawing(design, units)
    return write_picture(drawing, file, "design", title=design.title, paper=paper)

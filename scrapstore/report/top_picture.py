"""A top drawn in the cloth itself: each piece shows the part of its scrap that it is cut from.

Under it stands a key, so that every colour has a word too. In grey it shows value alone.
"""

import io
import math
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from string import digits
from typing import Final, NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, Point, Polygon, affinity, box

from scrapstore.colour import lab_to_srgb, srgb_to_lab
from scrapstore.report.forms import ClothPicture, Rgb
from scrapstore.report.painting import Area, Drawing, Matrix, Part, Picture, TextLine
from scrapstore.sentences import several

__all__ = ["Mark", "Patch", "label_marks", "top_drawing"]

_MARGIN: Final = 24.0  # points
_HEAD: Final = 34.0
_RIM_OF_PAGE: Final = 6.0
_LINE: Final = 20.0
_GAP: Final = 16.0
_MOST_COLUMNS: Final = 3
_MOST_SIGNS: Final = 80
"""Of a line of the key; a longer one would make the page wide and the top small on it."""
_SWATCH: Final = (34.0, 16.0)
_SEAM: Final = 0.5
_MARK: Final = 10.0
_LARGEST: Final = 0.42  # inches of the top; a label
_WORDS: Final = 11.0
_LETTER, _BOLD = 0.52, 0.7
"""Of the size of the text; the width of a letter."""
_SHARP: Final = 2.0  # pixels of cloth to a point of the drawing
_RIM: Final = 2  # pixels kept beyond what is shown, so that edges are not those of the picture
_QUALITY: Final = 85
_PALE: Final = 0.75
"""How much white lies over what is not highlighted."""
_WHITE: Final[Rgb] = (255, 255, 255)


@dataclass(frozen=True)
class Patch:
    """One finished piece of the top, in the top's inches, y up, and the cloth it is of.

    `word` names the cloth, by its fabric or colour, and `rgb` is its colour. Where `to_scrap` is
    given it takes the top's inches to those of the scrap with the number `scrap`, whose picture is
    then shown: mirrored only where the piece is cut from the other side of its cloth. `label` is
    that of the cut piece ("A1"), or the letter of its line.
    """

    position: str
    outline: Polygon
    rgb: Rgb
    word: str
    label: str = ""
    scrap: int | None = None
    to_scrap: Matrix | None = None


class Mark(NamedTuple):
    """Text whose middle lies at a point of the top; `size` is in inches of the top, else usual."""

    text: str
    x: float
    y: float
    size: float | None = None


def top_drawing(
    title: str,
    patches: Sequence[Patch],
    pictures: Mapping[int, ClothPicture],
    *,
    grey: bool = False,
    marks: Iterable[Mark] = (),
    highlight: Collection[str] | None = None,
    bare: bool = False,
    side: float = 480.0,
) -> Drawing:
    """Return the top, its longer side `side` points, with its key below.

    `pictures` are those of the scraps by number; a patch without one is in its plain colour. With
    `grey` everything has the lightness it has (L* of CIELAB), and no colour. With `highlight` these
    positions are shown as they are, and all others pale. A `bare` drawing is the top alone.
    """
    west, south, east, north = shapely.total_bounds([one.outline for one in patches]).tolist()
    scale = side / max(east - west, north - south)
    left = 0.0 if bare else _MARGIN
    upper = 0.0 if bare else _MARGIN + _HEAD if title else _RIM_OF_PAGE
    on_paper = (scale, 0.0, 0.0, -scale, left - west * scale, upper + north * scale)
    wide, tall = (east - west) * scale, (north - south) * scale
    cloths = {
        number: _Cloth(pictures[number], own, scale, grey=grey)
        for number, own in _by_scrap(patches).items()
        if number in pictures
    }
    parts: list[Part] = []
    for patch in patches:
        shape = affinity.affine_transform(patch.outline, on_paper)
        parts += _cloth_in(patch, shape, on_paper, cloths, grey=grey)
        if highlight is not None and patch.position not in highlight:
            parts.append(Area(shape, _WHITE, opacity=_PALE))
    # Seams last: cloth that is painted later would cover half of them.
    parts += [
        Area(affinity.affine_transform(patch.outline, on_paper), edge=_SEAM) for patch in patches
    ]
    for mark in marks:
        x, y = on_paper[0] * mark.x + on_paper[4], on_paper[3] * mark.y + on_paper[5]
        size = _MARK if mark.size is None else mark.size * scale
        parts.append(TextLine(mark.text, x, y + 0.36 * size, size, True, "middle", halo=True))
    if bare:
        return Drawing(wide, tall, tuple(parts))
    if title:
        parts.append(TextLine(title, _MARGIN, _MARGIN + 10, 15.0, bold=True))
    key = _in_columns(_key(patches, cloths, scale, grey=grey), wide)
    parts += key.at(_MARGIN, upper + tall + _LINE / 2)
    width = max(wide, key.width) + 2 * _MARGIN
    height = upper + tall + _LINE / 2 + key.height + _RIM_OF_PAGE
    # Where a page is dark, dark words need paper of their own.
    return Drawing(width, height, (Area(box(0, 0, width, height), _WHITE), *parts))


def label_marks(patches: Iterable[Patch]) -> Iterator[Mark]:
    """Yield the label of each patch as a mark in its middle, as large as fits."""
    for patch in patches:
        if patch.label:
            x, y, room = _middle(patch.outline)
            west, _, east, _ = patch.outline.bounds
            across = patch.outline.intersection(LineString([(west, y), (east, y)])).length
            size = min(1.5 * room, 0.8 * across / (_BOLD * len(patch.label)), _LARGEST)
            yield Mark(patch.label, x, y, size)


def _middle(shape: Polygon) -> tuple[float, float, float]:
    """Return a point well inside a shape, and how far it is to the edge."""
    circle = shapely.maximum_inscribed_circle(shape, tolerance=0.02)
    spot, room = Point(circle.coords[0]), circle.length
    centre = shape.centroid
    if shape.contains(centre) and shape.exterior.distance(centre) > 0.8 * room:
        spot = centre
    return spot.x, spot.y, shape.exterior.distance(spot)


def _by_scrap(patches: Iterable[Patch]) -> dict[int, list[Patch]]:
    found: dict[int, list[Patch]] = {}
    for patch in patches:
        if patch.scrap is not None and patch.to_scrap is not None:
            found.setdefault(patch.scrap, []).append(patch)
    return found


class _Cloth:
    """The picture of one scrap: no more of it, and no sharper, than its patches show."""

    def __init__(
        self, picture: ClothPicture, patches: Sequence[Patch], scale: float, *, grey: bool
    ) -> None:
        shown = shapely.total_bounds(
            [affinity.affine_transform(one.outline, _given(one)) for one in patches]
        )
        self.data, self._box = _cropped(picture, shown.tolist(), scale * _SHARP, grey=grey)

    def lies(self, patch: Patch, on_paper: Matrix) -> Matrix:
        """Return where the picture lies in the drawing, for one patch of it."""
        left, bottom, right, top = self._box
        on_scrap = _square((right - left, 0.0, 0.0, bottom - top, left, top))
        drawn = _square(on_paper) @ np.linalg.inv(_square(_given(patch))) @ on_scrap
        return _numbers(drawn)


def _given(patch: Patch) -> Matrix:
    assert patch.to_scrap is not None
    return patch.to_scrap


def _square(matrix: Matrix) -> npt.NDArray[np.float64]:
    a, b, d, e, x, y = matrix
    return np.array([[a, b, x], [d, e, y], [0.0, 0.0, 1.0]])


def _numbers(square: npt.NDArray[np.float64]) -> Matrix:
    (a, b, x), (d, e, y), _ = square.tolist()
    return a, b, d, e, x, y


def _cropped(
    picture: ClothPicture, shown: Sequence[float], per_inch: float, *, grey: bool
) -> tuple[bytes, tuple[float, float, float, float]]:
    """Return the part of a picture that is shown, at most so many pixels an inch, and its box."""
    from PIL import Image

    left, bottom, right, top = picture.box
    with Image.open(io.BytesIO(picture.data)) as stored:
        image = stored.convert("RGB")
    across, down = image.width / (right - left), image.height / (top - bottom)
    crop = (
        max(0, int((shown[0] - left) * across) - _RIM),
        max(0, int((top - shown[3]) * down) - _RIM),
        min(image.width, int((shown[2] - left) * across) + 1 + _RIM),
        min(image.height, int((top - shown[1]) * down) + 1 + _RIM),
    )
    if crop[0] >= crop[2] or crop[1] >= crop[3]:
        crop = (0, 0, 1, 1)  # nothing of it is shown
    part = image.crop(crop)
    own = (
        left + crop[0] / across, top - crop[3] / down,
        left + crop[2] / across, top - crop[1] / down,
    )  # fmt: skip
    smaller = min(1.0, per_inch / min(across, down))
    size = (max(1, round(part.width * smaller)), max(1, round(part.height * smaller)))
    part = part.resize(size, Image.Resampling.LANCZOS)
    if grey:
        part = Image.fromarray(_greys(np.asarray(part))).convert("RGB")
    content = io.BytesIO()
    part.save(content, "JPEG", quality=_QUALITY, optimize=True)
    return content.getvalue(), own


def _greys(rgb: npt.ArrayLike) -> npt.NDArray[np.uint8]:
    """Return the greys that are as light as these colours (L* of CIELAB), shape (..., 3) kept."""
    lab = srgb_to_lab(rgb)
    lab[..., 1:] = 0.0
    return np.clip(np.rint(lab_to_srgb(lab)), 0, 255).astype(np.uint8)


def _plain(rgb: Rgb, *, grey: bool) -> Rgb:
    if not grey:
        return rgb
    red, green, blue = _greys(rgb).tolist()
    return red, green, blue


def _cloth_in(
    patch: Patch, shape: Polygon, on_paper: Matrix, cloths: Mapping[int, _Cloth], *, grey: bool
) -> Iterator[Part]:
    """Yield the patch's cloth within `shape`: its colour, and its picture where there is one."""
    yield Area(shape, _plain(patch.rgb, grey=grey))
    cloth = None if patch.scrap is None else cloths.get(patch.scrap)
    if cloth is not None and patch.to_scrap is not None:
        yield Picture(cloth.data, cloth.lies(patch, on_paper), shape)


def _key(
    patches: Sequence[Patch], cloths: Mapping[int, _Cloth], scale: float, *, grey: bool
) -> list[Drawing]:
    """Return a line for each cloth, those of most pieces first."""
    groups: dict[str, list[Patch]] = {}
    for patch in patches:
        groups.setdefault(patch.word, []).append(patch)
    swatch = box(0, 0, *_SWATCH)
    lines = []
    for word, own in sorted(groups.items(), key=lambda one: -len(one[1])):
        shown = max(own, key=lambda one: (one.scrap in cloths, one.outline.area))
        text = f"{_counts(own)}: {word}"
        text = text if len(text) <= _MOST_SIGNS else f"{text[: _MOST_SIGNS - 1]}…"
        x = _SWATCH[0] + 9
        parts = (
            *_swatch(shown, swatch, scale, cloths, grey=grey),
            Area(swatch, edge=0.8),
            TextLine(text, x, 12, _WORDS),
        )
        lines.append(Drawing(x + len(text) * _LETTER * _WORDS, _LINE, parts))
    return lines


def _in_columns(lines: Sequence[Drawing], room: float) -> Drawing:
    """Return the lines in as many columns as there is room for, one at least."""
    for count in range(_MOST_COLUMNS, 0, -1):
        high = math.ceil(len(lines) / count)
        columns = [lines[start : start + high] for start in range(0, len(lines), high)]
        wide = [max(line.width for line in column) for column in columns]
        width = sum(wide) + _GAP * (len(wide) - 1)
        if width <= room:
            break
    lefts = [sum(wide[:at]) + _GAP * at for at in range(len(wide))]
    return Drawing(width, high * _LINE, tuple(
        part
        for left, column in zip(lefts, columns, strict=True)
        for row, line in enumerate(column)
        for part in line.at(left, row * _LINE)
    ))  # fmt: skip


def _swatch(
    patch: Patch, swatch: Polygon, scale: float, cloths: Mapping[int, _Cloth], *, grey: bool
) -> Iterator[Part]:
    """Yield the middle of a patch's cloth, larger where the patch is smaller than the swatch."""
    x, y, room = _middle(patch.outline)
    factor = max(scale, math.hypot(*_SWATCH) / 2 / room)
    middle = swatch.centroid
    on_paper = (factor, 0.0, 0.0, -factor, middle.x - factor * x, middle.y + factor * y)
    yield from _cloth_in(replace(patch, outline=swatch), swatch, on_paper, cloths, grey=grey)


def _counts(patches: Sequence[Patch]) -> str:
    """Return ``6 A and 4 C``, or ``10 pieces`` where they have no letters."""
    letters = Counter(patch.label.rstrip(digits) for patch in patches)
    if set(letters) == {""}:
        return f"{len(patches)} piece{'' if len(patches) == 1 else 's'}"
    named = sorted((letter, count) for letter, count in letters.items() if letter)
    words = [f"{count} {letter}" for letter, count in named]
    return several([*words, *([f"{letters['']} more"] if letters[""] else [])])

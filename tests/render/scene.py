"""A scene and its photograph, with everything that is true about it."""

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Final

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from PIL import ExifTags, Image
from shapely.geometry import LineString, Polygon
from shapely.geometry.polygon import orient

from tests.render.camera import Camera
from tests.render.cloth import Cloth, TrueColour
from tests.render.colours import Floats, encode_table, linear
from tests.render.light import Light
from tests.render.outlines import densely
from tests.render.printed import Paper, TrueSquare
from tests.render.raster import Box, box_around, coverage
from tests.render.tables import Table, contrast

Points = NDArray[np.float64]
Pixels = NDArray[np.uint8]


@dataclass(frozen=True)
class Piece:
    """A scrap as it lies: its outline in table inches, its cloth, where the warp points.

    `folds` are creases pressed in: (through x, y, direction in degrees, width in inches, strength).
    `threads` are loose ends that stick out of the edge, each a polyline in table inches; they are
    no part of the outline.
    """

    outline: Polygon
    cloth: Cloth
    grain_deg: float = 0.0
    folds: tuple[tuple[float, float, float, float, float], ...] = ()
    threads: tuple[Points, ...] = ()
    lift: float = 0.03


@dataclass(frozen=True)
class Scene:
    """All that the camera sees; `seed` is for the noise alone."""

    camera: Camera
    table: Table
    light: Light = field(default_factory=Light)
    pieces: tuple[Piece, ...] = ()
    papers: tuple[Paper, ...] = ()
    seed: int = 0


@dataclass(frozen=True)
class TrueScrap:
    """What a perfect measurement would say of one scrap, in the table frame (inches, y up).

    `grain_deg` is the direction of the warp; `one_way_deg` the upward direction of a one-way print;
    `contrast` the CIELAB distance from the table to the nearest main colour of the cloth.
    """

    outline: Polygon
    cloth: str
    colours: tuple[TrueColour, ...]
    grain_deg: float
    one_way_deg: float | None
    contrast: float


@dataclass(frozen=True)
class Truth:
    """Everything true about a photo. Squares give the table frame: align by their corners."""

    scraps: tuple[TrueScrap, ...]
    squares: tuple[TrueSquare, ...]
    camera: Camera
    light: Light
    table: str


@dataclass(frozen=True)
class RenderedPhoto:
    """`image` is (height, width, 3) encoded RGB, upright, before JPEG."""

    image: Pixels
    truth: Truth
    exif: dict[str, object] = field(default_factory=dict)

    def save_jpeg(
        self,
        path: Path,
        *,
        quality: int = 92,
        orientation: int = 1,
        gps: bool = False,
        model: str = "Sample Camera",
        taken: str = "2026:05:16 10:30:00",
    ) -> None:
        """Write the photo as a camera would, with its EXIF.

        `orientation` is the EXIF value 1, 3, 6 or 8: the pixels are stored turned, so that obeying
        it shows the photo upright. `gps` adds a place (of the open sea), to be taken out again.
        """
        back = {1: 0, 3: 2, 6: 1, 8: 3}[orientation]
        camera = self.truth.camera
        exif = Image.Exif()
        base = ExifTags.Base
        exif[base.Make] = "Sample"
        exif[base.Model] = model
        exif[base.Orientation] = orientation
        exif[base.DateTime] = taken
        inner = exif.get_ifd(ExifTags.IFD.Exif)
        wide = max(camera.width, camera.height)
        equivalent = camera.focal / wide * 36.0
        inner[base.FocalLength] = round(equivalent / 4.8, 2)
        inner[base.FocalLengthIn35mmFilm] = round(equivalent)
        inner[base.DateTimeOriginal] = taken
        inner[base.ExposureTime] = 1 / 60
        inner[base.FNumber] = 1.8
        inner[base.ISOSpeedRatings] = 200
        if gps:
            place = exif.get_ifd(ExifTags.IFD.GPSInfo)
            place[ExifTags.GPS.GPSLatitudeRef] = "N"
            place[ExifTags.GPS.GPSLatitude] = (45.0, 0.0, 0.0)
            place[ExifTags.GPS.GPSLongitudeRef] = "W"
            place[ExifTags.GPS.GPSLongitude] = (30.0, 0.0, 0.0)
        turned = np.ascontiguousarray(np.rot90(self.image, back))
        Image.fromarray(turned).save(path, quality=quality, exif=exif, optimize=True)


def render(scene: Scene) -> RenderedPhoto:
    """Photograph a scene."""
    camera = scene.camera
    x, y = camera.table_map()
    picture = scene.table.look(x, y)
    for paper in scene.papers:
        _lay_paper(picture, scene, paper)
    for number, piece in enumerate(scene.pieces):
        _lay_piece(picture, scene, piece, (x, y), number)
    image = _expose(picture, scene, x, y)
    truth = Truth(
        true_scraps(scene),
        tuple(square for paper in scene.papers for square in paper.squares),
        camera,
        scene.light,
        scene.table.kind,
    )
    return RenderedPhoto(image, truth)


def true_scraps(scene: Scene) -> tuple[TrueScrap, ...]:
    """What a perfect measurement would say of the scraps of a scene."""
    return tuple(
        _true_scrap(piece, scene.table, number) for number, piece in enumerate(scene.pieces)
    )


def _true_scrap(piece: Piece, table: Table, number: int) -> TrueScrap:
    cloth = piece.cloth
    one_way = None if cloth.one_way is None else (cloth.one_way + piece.grain_deg) % 360
    return TrueScrap(
        piece.outline,
        cloth.name,
        _colours_shown(piece, number),
        piece.grain_deg,
        one_way,
        contrast(cloth, table),
    )


_SEEN_EVERY: Final = 0.02


def _colours_shown(piece: Piece, number: int) -> tuple[TrueColour, ...]:
    """The cloth's colours with the part of this scrap that has each: a repeat may be larger."""
    cloth = piece.cloth
    if cloth.amounts is None:
        return cloth.colours
    left, bottom, right, top = piece.outline.bounds
    x, y = np.meshgrid(np.arange(left, right, _SEEN_EVERY), np.arange(bottom, top, _SEEN_EVERY))
    on = shapely.contains_xy(piece.outline, x, y)
    across, up = _on_cloth(piece, x[on].astype(np.float32), y[on].astype(np.float32), number)
    _, rows, columns = cloth.amounts.shape
    row = np.floor(-up * cloth.per_inch).astype(int) % rows
    column = np.floor(across * cloth.per_inch).astype(int) % columns
    amounts = cloth.amounts[:, row, column].sum(axis=1, dtype=np.float64)
    shown = [
        replace(colour, share=float(share))
        for colour, share in zip(cloth.colours, amounts / amounts.sum(), strict=True)
    ]
    return tuple(sorted(shown, key=lambda colour: -colour.share))


def _rings(camera: Camera, polygon: Polygon) -> list[Points]:
    whole = orient(polygon)
    return [
        camera.project(densely(LineString(r.coords))) for r in (whole.exterior, *whole.interiors)
    ]


def _cut(box: Box) -> tuple[slice, slice]:
    left, top, width, height = box
    return slice(top, top + height), slice(left, left + width)


def _shadow(
    picture: Floats, scene: Scene, ring: Points, cover: Floats, box: Box, lift: float
) -> None:
    """Darken the table beside an edge that stands `lift` inches high, away from the lamp."""
    if lift <= 0:
        return
    ppi = scene.camera.pixels_per_inch()
    lamp = scene.light.lamps[0].at
    away = -np.array(lamp[:2]) / max(lamp[2], 1.0)
    shift = np.clip(away, -1.5, 1.5) * lift * ppi
    soft = max(lift * ppi * 0.9, 0.8)
    move = np.array([[1, 0, shift[0]], [0, 1, -shift[1]]], dtype=np.float64)
    moved = cv2.warpAffine(cover, move, (cover.shape[1], cover.shape[0]))
    dark = 0.55 * cv2.GaussianBlur(np.asarray(moved), (0, 0), soft)
    picture[_cut(box)] *= (1 - dark)[..., None]


def _lay_paper(picture: Floats, scene: Scene, paper: Paper) -> None:
    camera = scene.camera
    closed = np.vstack([paper.border, paper.border[:1]])
    ring = camera.project(densely(LineString(closed)))
    box = box_around(ring, 20, camera.width, camera.height)
    if box is None:
        return
    cover = coverage([ring], box)
    _shadow(picture, scene, ring, cover, box, 0.008)
    part = picture[_cut(box)]
    part += (linear(paper.white) - part) * cover[..., None]
    for colour, rings in paper.inked:
        drawn = [camera.project(densely(LineString(np.vstack([r, r[:1]])), 0.25)) for r in rings]
        inner = box_around(drawn[0], 2, camera.width, camera.height)
        if inner is not None:
            ink = coverage(drawn, inner)[..., None]
            part = picture[_cut(inner)]
            part += (linear(colour) - part) * ink


def _lay_piece(
    picture: Floats, scene: Scene, piece: Piece, at: tuple[Floats, Floats], number: int
) -> None:
    camera = scene.camera
    rings = _rings(camera, piece.outline)
    ppi = camera.pixels_per_inch()
    box = box_around(rings[0], 0.35 * ppi, camera.width, camera.height)
    if box is None:
        return
    cut = _cut(box)
    cover = coverage(rings, box)
    threads = _thread_cover(camera, piece, box)
    _shadow(picture, scene, rings[0], np.maximum(cover, 0.7 * threads), box, piece.lift)
    x, y = at[0][cut], at[1][cut]
    cloth = _look(piece, x, y, ppi, number) * _creases(piece, x, y)[..., None]
    part = picture[cut]
    if piece.threads:
        part += (linear(piece.cloth.thread) * 0.8 - part) * threads[..., None]
    part += (cloth - part) * cover[..., None]


def _thread_cover(camera: Camera, piece: Piece, box: Box) -> Floats:
    if not piece.threads:
        return np.zeros((box[3], box[2]), dtype=np.float32)
    rings = []
    for line in piece.threads:
        way = np.gradient(line, axis=0)
        way /= np.maximum(np.linalg.norm(way, axis=1, keepdims=True), 1e-9)
        side = np.column_stack([-way[:, 1], way[:, 0]]) * 0.004
        rings.append(camera.project(np.vstack([line - side, (line + side)[::-1]])))
    return coverage(rings, box)


def _on_cloth(piece: Piece, x: Floats, y: Floats, number: int) -> tuple[Floats, Floats]:
    """Inches along the warp and across it, left of it, of table places.

    The repeat of each scrap of a scene begins somewhere of its own.
    """
    turn, centre = np.radians(piece.grain_deg), piece.outline.centroid
    dx, dy = x - np.float32(centre.x), y - np.float32(centre.y)
    u = np.float32(np.cos(turn)) * dx + np.float32(np.sin(turn)) * dy
    v = np.float32(-np.sin(turn)) * dx + np.float32(np.cos(turn)) * dy
    begin = np.float32(1.37 * (number + 1))
    return u + begin, v + begin


def _look(piece: Piece, x: Floats, y: Floats, ppi: float, number: int) -> Floats:
    """The cloth's reflectance under each pixel."""
    cloth = piece.cloth
    u, v = _on_cloth(piece, x, y, number)
    tile = cloth.tile
    if ppi < 0.85 * cloth.per_inch:  # seen from afar: threads melt before they are sampled
        size = (
            round(tile.shape[1] * ppi / cloth.per_inch),
            round(tile.shape[0] * ppi / cloth.per_inch),
        )
        tile = np.asarray(cv2.resize(tile, size, interpolation=cv2.INTER_AREA), dtype=np.float32)
    across = np.float32(tile.shape[1] / (cloth.tile.shape[1] / cloth.per_inch))
    down = np.float32(tile.shape[0] / (cloth.tile.shape[0] / cloth.per_inch))
    columns, rows = u * across - 0.5, -v * down - 0.5
    return np.asarray(cv2.remap(tile, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_WRAP))


def _creases(piece: Piece, x: Floats, y: Floats) -> Floats:
    """Light and dark along pressed-in folds, mean 1."""
    step = 6
    cx, cy = x[::step, ::step], y[::step, ::step]
    shade = np.ones_like(cx)
    for px, py, direction, width, strength in piece.folds:
        a = np.radians(direction)
        d = ((cx - px) * -np.sin(a) + (cy - py) * np.cos(a)) / width
        shade += np.float32(strength) * d * np.exp(0.5 - d**2 / 2)
    size = (x.shape[1], x.shape[0])
    return np.asarray(cv2.resize(shade.astype(np.float32), size), dtype=np.float32)


_BAND: Final = 256


def _grains(rng: np.random.Generator, width: int) -> Floats:
    """Noise of spread about 1 for one band: most of it in lightness, as cameras leave it."""
    grey = rng.standard_normal((_BAND, width, 1), dtype=np.float32)
    colour = rng.standard_normal((_BAND, width, 3), dtype=np.float32)
    return np.asarray(np.float32(0.85) * grey + np.float32(0.45) * colour, dtype=np.float32)


def _path(length: float, direction_deg: float) -> Floats:
    """The kernel of a camera that moves evenly along a line of so many pixels."""
    side = 2 * int(np.ceil(length / 2)) + 3
    kernel = np.zeros((side, side), np.float32)
    turn, middle = np.radians(direction_deg), (side - 1) / 2
    for at in np.linspace(-length / 2, length / 2, 8 * side):
        x, y = middle + at * np.cos(turn), middle - at * np.sin(turn)
        left, top = int(x), int(y)
        for row, part_y in ((top, 1 - y + top), (top + 1, y - top)):
            for column, part_x in ((left, 1 - x + left), (left + 1, x - left)):
                kernel[row, column] += part_x * part_y
    return np.asarray(kernel / kernel.sum(), dtype=np.float32)


def _expose(picture: Floats, scene: Scene, x: Floats, y: Floats) -> Pixels:
    """From reflectance to the file's pixels: light, lens, noise, tone, sharpening."""
    light = scene.light
    lamps = light.fall(scene.camera, x, y)
    rng = np.random.default_rng([scene.seed, 77])
    curve = encode_table(light.contrast)
    out = np.empty(picture.shape, dtype=np.uint8)
    grains = _grains(rng, picture.shape[1]) * np.float32(light.noise)
    for top in range(0, len(picture), _BAND):
        band = slice(top, top + _BAND)
        seen = [cv2.transform(picture[band], m) * w[band, :, None] for w, m in lamps]
        picture[band] = seen[0] if len(seen) == 1 else seen[0] + seen[1]
    if light.blur > 0:
        picture = np.asarray(cv2.GaussianBlur(picture, (0, 0), light.blur), dtype=np.float32)
    if light.shake[0] > 0:
        picture = np.asarray(cv2.filter2D(picture, -1, _path(*light.shake)), dtype=np.float32)
    for top in range(0, len(picture), _BAND):
        part = picture[top : top + _BAND]
        if light.noise > 0:
            # One band of noise, slid along for each further band: drawing it all takes as long
            # as the rest of the exposure.
            grain = np.roll(grains, int(rng.integers(picture.shape[1])), axis=1)[: len(part)]
            part += grain * np.sqrt(np.maximum(part, 0) * 0.95 + 0.02)
        steps = np.clip(part * 65535 + 0.5, 0, 65535).astype(np.uint16)
        out[top : top + _BAND] = curve[steps]
    if light.sharpen > 0:
        soft = cv2.GaussianBlur(out, (0, 0), 1.4)
        sharp = cv2.addWeighted(out, 1 + light.sharpen, soft, -light.sharpen, 0)
        out = np.asarray(sharp, dtype=np.uint8)
    return out

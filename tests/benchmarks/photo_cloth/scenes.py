"""Photos of real cloth on a table, with true outlines. Shares no code with the program.

Cloth comes from small pictures, enlarged four to eight times for 140 pixels an inch. The printed
squares are drawn by the measures in the guide: AprilTag 36h11, one inch, on paper of 2 × 2 in.
"""

from dataclasses import dataclass
from pathlib import Path

import cv2
import numpy as np
import shapely
from PIL import Image
from shapely import affinity
from shapely.geometry import Polygon, box

from tests.benchmarks.photo_cloth.tables import Array, grain, linear, table

WIDTH, HEIGHT = 2600, 1950
INCH = 120  # pixels of the drawn table
HALF = np.array([12.5, 9.5])  # inches of it from its middle to its edges
APART = 0.4  # inches between scraps and from the squares


@dataclass(frozen=True, eq=False)
class Square:
    """A printed square; `corners`: 4 × 2 inches, clockwise from its own top left."""

    id: int
    corners: Array


@dataclass(frozen=True, eq=False)
class Scrap:
    """A scrap as it lies: `outline` in inches on the table, y up; `in_picture` of its outer ring.

    `beside`: n × 2 × 3, sRGB: the mean colour just inside and just outside, all along the edge.
    """

    cloth: str
    form: str
    outline: Polygon
    in_picture: Array
    beside: Array


@dataclass(frozen=True, eq=False)
class Truth:
    """What lies on the table in a photo."""

    table: str
    scraps: tuple[Scrap, ...]
    squares: tuple[Square, ...]


class Camera:
    """A tilted camera over the table with a little radial distortion."""

    def __init__(self, draw: np.random.Generator) -> None:
        self.focal = draw.uniform(0.72, 0.85) * WIDTH
        self.k1 = draw.uniform(-0.03, 0.03)
        tilt, way, roll = np.radians([draw.uniform(0, 14), draw.uniform(0, 360), draw.normal(0, 4)])
        spin = cv2.Rodrigues(np.array([0, 0, roll]))[0]
        self.turn = cv2.Rodrigues(tilt * np.array([np.cos(way), np.sin(way), 0]))[0] @ spin
        self.away = np.array([0, 0, draw.uniform(17.0, 19.5) * self.focal / WIDTH])

    def imaged(self, places: Array) -> Array:
        """Pixels (n × 2) of points on the table (n × 2 inches, y up)."""
        space = np.column_stack([places[:, 0], -places[:, 1], np.zeros(len(places))])
        seen = space @ self.turn.T + self.away
        flat = seen[:, :2] / seen[:, 2:]
        flat *= 1 + self.k1 * np.sum(flat**2, axis=1, keepdims=True)
        return np.asarray(flat * self.focal + np.array([WIDTH - 1, HEIGHT - 1]) / 2)

    def on_table(self, pixels: Array) -> Array:
        """Points on the table (n × 2 inches) of pixels (n × 2)."""
        bent = (pixels - np.array([WIDTH - 1, HEIGHT - 1]) / 2) / self.focal
        flat = bent.copy()
        for _ in range(8):
            flat = bent / (1 + self.k1 * np.sum(flat**2, axis=1, keepdims=True))
        ray = np.column_stack([flat, np.ones(len(flat))]) @ self.turn
        eye = self.away @ self.turn
        place = -eye[:2] + ray[:, :2] * (eye[2] / ray[:, 2:])
        return np.column_stack([place[:, 0], -place[:, 1]])


def read_cloths(folder: Path) -> dict[str, Array]:
    """Pictures of cloth (sRGB) by name."""
    return {
        path.stem: np.asarray(Image.open(path).convert("RGB"))
        for path in sorted(folder.glob("*.png"))
    }


def render(
    seed: int, kind: str, cloths: dict[str, Array], what: str = "cloth"
) -> tuple[Array, Truth]:
    """A photo (rows × columns × 3, sRGB) of cloth on a table of this kind, and its truth.

    `what`: "cloth"; "alike" is cloth dyed nearly like the table; "prints" are black-and-white
    prints of about 2 × 2 in; "bare" is no cloth at all.
    """
    draw = np.random.default_rng([seed, *kind.encode()])
    camera = Camera(draw)
    shape = (int(2 * HALF[1] * INCH), int(2 * HALF[0] * INCH))
    light = table(kind, shape, INCH, draw, list(cloths.values()))
    rim = np.array([[0, 0], [WIDTH, 0], [WIDTH, HEIGHT], [0, HEIGHT]], float)
    view = Polygon(camera.on_table(rim)).buffer(-0.5)
    papers = _papers(draw, camera, view)
    bare = light.copy()
    for number, (x, y, degrees) in enumerate(papers):
        _lay(light, _paper(number), _turned(box(-1, -1, 1, 1), x, y, degrees), (x, y, degrees), 1)
    scraps = []
    taken = [_turned(box(-1, -1, 1, 1), *paper) for paper in papers]
    names = list(cloths)
    for _ in range(0 if what == "bare" else int(draw.integers(4, 8))):
        name = names[draw.integers(len(names))]
        placed = _place(draw, view, taken, ["print"] if what == "prints" else list(_FORMS))
        if placed is None:
            continue
        form, outline, turned = placed
        taken.append(outline)
        cloth = _black_on_white(draw) if what == "prints" else _enlarged(cloths[name], draw)
        if what == "alike":
            # Brightness differs by a fifth, tint by a thirtieth.
            off = draw.normal(0, 0.2) + draw.normal(0, 0.03, 3)
            cloth *= (bare.mean(axis=(0, 1)) / cloth.mean(axis=(0, 1)) * np.exp(off)).astype("f4")
        inside = _lay(light, cloth, outline, turned, draw.uniform(0.75, 0.93))
        _threads(light, outline, cloth, draw)
        scraps.append((name, form, outline, _beside(light, bare, inside, outline)))
    photo = _photographed(light, camera, draw)
    truth = Truth(
        kind,
        tuple(
            Scrap(name, form, outline, camera.imaged(_ring(outline)), beside)
            for name, form, outline, beside in scraps
        ),
        tuple(
            Square(
                number,
                _moved(np.array([[-0.5, 0.75], [0.5, 0.75], [0.5, -0.25], [-0.5, -0.25]]), *at),
            )
            for number, at in enumerate(papers)
        ),
    )
    return photo, truth


def _ring(outline: Polygon) -> Array:
    return np.asarray(outline.exterior.coords)[:-1]


def _moved(points: Array, x: float, y: float, degrees: float) -> Array:
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.asarray(points @ np.array([[c, s], [-s, c]]) + (x, y))


def _turned(polygon: Polygon, x: float, y: float, degrees: float) -> Polygon:
    return affinity.translate(affinity.rotate(polygon, degrees, origin=(0, 0)), x, y)


def _papers(
    draw: np.random.Generator, camera: Camera, view: Polygon
) -> list[tuple[float, float, float]]:
    """Places of six loose squares round the picture, wherever the camera's tilt leaves room."""
    papers = []
    middle = np.array([WIDTH, HEIGHT]) / 2
    for u, v in ((-1, 1), (0, 1), (1, 1), (-1, -1), (0, -1), (1, -1)):
        aim = camera.on_table((middle * (1 + np.array([0.78 * u, -0.70 * v])))[None])[0]
        inside = False
        while not inside:
            x, y = aim + draw.normal(0, 0.45, 2)
            degrees = float(draw.uniform(-30, 30))
            inside = view.contains(_turned(box(-1, -1, 1, 1), x, y, degrees))
        papers.append((x, y, degrees))
    return papers


def _paper(number: int) -> Array:
    """One square on its paper with its black, grey and white patch; light, 2 × 2 in."""
    side = 2 * INCH
    sheet = np.full((side, side, 3), linear((238.0,))[0], np.float32)
    family = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    code = cv2.aruco.generateImageMarker(family, number, INCH)
    ink = linear((52.0,))[0]
    top = side - int(1.75 * INCH)
    dark = np.asarray(code)[..., None] < 128
    sheet[top : top + INCH, INCH // 2 : INCH // 2 + INCH] = np.where(dark, ink, sheet[0, 0, 0])
    for left, grey in ((0.3, 52.0), (0.8, 128.0)):
        rows = slice(side - int(0.55 * INCH), side - int(0.15 * INCH))
        sheet[rows, int(left * INCH) : int((left + 0.4) * INCH)] = linear((grey,))[0]
    return sheet


def _place(
    draw: np.random.Generator, view: Polygon, taken: list[Polygon], forms: list[str]
) -> tuple[str, Polygon, tuple[float, float, float]] | None:
    left, low, right, high = view.bounds
    for _ in range(300):
        form = str(draw.choice(forms))
        own = _print(draw) if form == "print" else _FORMS[form](draw)
        at = (draw.uniform(left, right), draw.uniform(low, high), draw.uniform(0, 360))
        outline = _turned(own, *at)
        if view.contains(outline) and all(outline.distance(t) > APART for t in taken):
            return form, outline, at
    return None


def _polygon(draw: np.random.Generator, corners: int, low: float, high: float) -> Polygon:
    way = np.sort(draw.uniform(0, 2 * np.pi / corners, corners) * 0.7) + np.arange(corners) * (
        2 * np.pi / corners
    )
    far = draw.uniform(low, high, corners)
    return Polygon(np.column_stack([far * np.cos(way), far * np.sin(way)]))


def _box(draw: np.random.Generator, w: tuple[float, float], h: tuple[float, float]) -> Polygon:
    wide, tall = draw.uniform(*w), draw.uniform(*h)
    return box(-wide / 2, -tall / 2, wide / 2, tall / 2)


def _wavy(draw: np.random.Generator) -> Polygon:
    points = shapely.get_coordinates(_box(draw, (2.5, 5), (2, 4)).exterior.segmentize(0.04))[:-1]
    wave = 0.07 * np.sin(points * draw.uniform(3, 7)) + 0.04 * np.sin(points * draw.uniform(8, 12))
    return Polygon(points + wave[:, ::-1]).buffer(0)


def _print(draw: np.random.Generator) -> Polygon:
    return _box(draw, (1.7, 2.3), (1.7, 2.3))


def _holed(draw: np.random.Generator) -> Polygon:
    whole = _box(draw, (3.5, 5.5), (3, 4.5))
    hole = _box(draw, (0.7, 1.2), (0.7, 1.2)).buffer(0.15)
    hole = _turned(hole, draw.uniform(-0.6, 0.6), draw.uniform(-0.6, 0.6), 30)
    return Polygon(whole.exterior, [hole.exterior])


def _ell(draw: np.random.Generator) -> Polygon:
    whole = _box(draw, (3, 5), (3, 4.5))
    left, low, right, high = whole.bounds
    wide, tall = (right - left) * draw.uniform(0.4, 0.6), (high - low) * draw.uniform(0.4, 0.6)
    x, y = left + wide, low + tall
    return Polygon([(left, low), (right, low), (right, y), (x, y), (x, high), (left, high)])


_FORMS = {
    "polygon": lambda draw: _polygon(draw, int(draw.integers(4, 8)), 1.2, 2.9),
    "rectangle": lambda draw: _box(draw, (1.6, 5), (1.4, 4)),
    "strip": lambda draw: _box(draw, (4, 8), (0.9, 1.8)),
    "triangle": lambda draw: _polygon(draw, 3, 1.6, 3.2),
    "L": _ell,
    "wavy": _wavy,
    "holed": _holed,
}


def _enlarged(cloth: Array, draw: np.random.Generator) -> Array:
    """The cloth's light, enlarged, mirrored to be large enough, with a weave in it."""
    times = draw.uniform(4, 8) * INCH / 140
    whole = cv2.resize(cloth, None, fx=times, fy=times, interpolation=cv2.INTER_CUBIC)
    whole = np.hstack([np.vstack([whole, whole[::-1]]), np.vstack([whole, whole[::-1]])[:, ::-1]])
    while min(whole.shape[:2]) < 9 * INCH:
        whole = np.vstack([np.hstack([whole, whole]), np.hstack([whole, whole])])
    whole = whole[: 9 * INCH, : 9 * INCH]
    return linear(whole) * (1 + 0.035 * grain(whole.shape[:2], 2, draw))[..., None]


def _black_on_white(draw: np.random.Generator) -> Array:
    """Light of black-and-white cloth: checks, stripes, dots or blots of 0.1 to 0.4 in."""
    side, pitch = 3 * INCH, draw.uniform(0.1, 0.4) * INCH
    rows, columns = np.indices((side, side), dtype=np.float32) / pitch
    pattern = (
        np.sin(np.pi * rows) * np.sin(np.pi * columns),
        np.sin(np.pi * columns),
        0.3 - np.hypot(rows % 1 - 0.5, columns % 1 - 0.5),
        grain((side, side), pitch, draw),
    )[draw.integers(4)]
    black, white = linear((draw.uniform(25, 60),)), linear((draw.uniform(215, 240),))
    weave = 1 + 0.03 * grain((side, side), 2, draw)
    return (np.where(pattern > 0, black, white) * weave)[..., None].repeat(3, axis=2)


def _mask(outline: Polygon, shape: tuple[int, int]) -> Array:
    """How much of each pixel of the drawn table the outline covers, 0 to 1."""
    drawn = np.zeros((2 * shape[0], 2 * shape[1]), np.uint8)
    rings = [outline.exterior, *outline.interiors]
    for ring, value in zip(rings, (255, *[0] * len(outline.interiors)), strict=True):
        places = (np.asarray(ring.coords) * (1, -1) + HALF) * INCH * 2 - 0.5
        cv2.fillPoly(drawn, [np.rint(places * 16).astype(np.int32)], value, cv2.LINE_AA, 4)
    return cv2.resize(drawn, shape[::-1], interpolation=cv2.INTER_AREA).astype(np.float32) / 255


def _lay(
    light: Array, cloth: Array, outline: Polygon, at: tuple[float, float, float], shade: float
) -> Array:
    """Lay cloth on the drawn table, with a soft shadow of this light; return what it covers."""
    mask = _mask(outline, light.shape[:2])
    if shade < 1:
        drop = np.array([[1, 0, 0.05 * INCH], [0, 1, 0.04 * INCH]])
        shadow = cv2.warpAffine(cv2.GaussianBlur(mask, (0, 0), 0.05 * INCH), drop, mask.shape[::-1])
        light *= (1 - (1 - shade) * shadow)[..., None]
    x, y, degrees = at
    turn = cv2.getRotationMatrix2D((cloth.shape[1] / 2, cloth.shape[0] / 2), degrees, 1.0)
    turn[:, 2] += (np.array([x, -y]) + HALF) * INCH - np.array(cloth.shape[1::-1]) / 2
    laid = cv2.warpAffine(
        cloth, turn, light.shape[1::-1], flags=cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT
    )
    light += mask[..., None] * (laid - light)
    return mask


def _threads(light: Array, outline: Polygon, cloth: Array, draw: np.random.Generator) -> None:
    colour = tuple(float(v) for v in cloth.mean(axis=(0, 1)))
    for _ in range(int(draw.integers(0, 3))):
        start = np.array(outline.exterior.interpolate(draw.uniform(), normalized=True).coords[0])
        away = start - np.array(outline.centroid.coords[0])
        way = np.arctan2(away[1], away[0]) + np.cumsum(draw.normal(0, 0.35, 12))
        steps = draw.uniform(0.03, 0.08) * np.column_stack([np.cos(way), np.sin(way)])
        places = (np.vstack([start, start + np.cumsum(steps, 0)]) * (1, -1) + HALF) * INCH
        line = np.rint(places * 16).astype(np.int32)
        cv2.polylines(light, [line], False, colour, 2, cv2.LINE_AA, 4)


def _beside(light: Array, bare: Array, mask: Array, outline: Polygon) -> Array:
    """Mean sRGB colours just inside and just outside, every half inch along the edge."""
    reach = int(0.12 * INCH)
    pairs = []
    for x, y in shapely.get_coordinates(outline.boundary.segmentize(0.5)):
        column, row = (np.array([x, -y]) + HALF) * INCH
        window = (
            slice(max(0, int(row) - reach), int(row) + reach + 1),
            slice(max(0, int(column) - reach), int(column) + reach + 1),
        )
        inside = mask[window] > 0.99
        if inside.any() and not inside.all():
            pairs.append(
                [_srgb(light[window][inside].mean(0)), _srgb(bare[window][~inside].mean(0))]
            )
    return np.array(pairs)


def _srgb(light: Array) -> Array:
    v = np.clip(light, 0, 1)
    return 255 * np.where(v <= 0.0031308, 12.92 * v, 1.055 * v ** (1 / 2.4) - 0.055)


def _photographed(light: Array, camera: Camera, draw: np.random.Generator) -> Array:
    """What a phone makes of it: uneven tinted light, lens, noise, sharpening; sRGB."""
    step = 26
    across, down = np.arange(0, WIDTH + step, step), np.arange(0, HEIGHT + step, step)
    nodes = np.stack(np.meshgrid(across, down), axis=-1).reshape(-1, 2).astype(float)
    places = (camera.on_table(nodes) * (1, -1) + HALF) * INCH - 0.5
    coarse = places.reshape(len(down), len(across), 2).astype(np.float32)
    # Values at pixel 0, step, 2 step …: drawn by an affine warp, which keeps them where they are.
    grow = np.array([[step, 0, 0], [0, step, 0]], float)
    maps = [
        cv2.warpAffine(np.ascontiguousarray(coarse[..., k]), grow, (WIDTH, HEIGHT)) for k in (0, 1)
    ]
    seen = cv2.remap(light, maps[0], maps[1], cv2.INTER_LINEAR, borderMode=cv2.BORDER_REFLECT)
    seen = cv2.GaussianBlur(seen, (0, 0), draw.uniform(0.5, 1.0))
    x, y = np.meshgrid(np.linspace(-1, 1, WIDTH), np.linspace(-1, 1, HEIGHT))
    way = draw.uniform(0, 2 * np.pi)
    fall = 1 - draw.uniform(0.05, 0.4) * (np.cos(way) * x + np.sin(way) * y + 1) / 2
    fall -= draw.uniform(0.0, 0.12) * (x**2 + y**2)
    warm = draw.normal(0, 0.09)
    seen *= (fall[..., None] * np.exp([warm, draw.normal(0, 0.015), -warm])).astype(np.float32)
    noise = draw.normal(size=(HEIGHT // 2, WIDTH // 2, 3)).astype(np.float32)
    noise = cv2.resize(noise, (WIDTH, HEIGHT)) * draw.uniform(0.004, 0.012)
    seen = seen + noise * np.sqrt(np.clip(seen, 0.02, 1))
    picture = _srgb(seen * draw.uniform(0.85, 1.1)).astype(np.float32)
    soft = cv2.GaussianBlur(picture, (0, 0), 1.3)
    return np.clip(picture + draw.uniform(0.2, 0.8) * (picture - soft), 0, 255).astype(np.uint8)


def save(photo: Array, path: Path, seed: int) -> None:
    """Write the photo as a JPEG of quality 84 to 94."""
    quality = 84 + seed % 11
    cv2.imwrite(
        str(path), cv2.cvtColor(photo, cv2.COLOR_RGB2BGR), [cv2.IMWRITE_JPEG_QUALITY, quality]
    )

"""Random scenes: `render_scene` with a scale in view, `render_no_scale` without one.

A photo of scraps as people take it: from 18 to 28 in above a table, not quite straight, under the
lamps there are. Everything follows from the seed; `Options` fixes what a test wants fixed.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import Final, Literal

import numpy as np
from shapely import affinity
from shapely.geometry import Point, Polygon

from scrapstore.photo.squares import SquareSet
from tests.render import outlines
from tests.render.camera import Camera, over_table
from tests.render.cloth import Cloth, Rng
from tests.render.colours import Rgb
from tests.render.light import CastShadow, Lamp, Light
from tests.render.printed import Paper, card, loose_cell, plain_square
from tests.render.prints import MAKERS, make_cloth
from tests.render.scene import Piece, RenderedPhoto, Scene, render
from tests.render.tables import KINDS as TABLES
from tests.render.tables import Table, contrast, make_table
from tests.render.wear import folds, loose_threads

Scale = Literal["loose", "card", "none"]
_GAP: Final = 0.45
"""Inches of table kept free between things, so that each has its own edge."""


@dataclass(frozen=True)
class Options:
    """What a scene is made of; None leaves it to the seed.

    `width` and `height` are pixels. `camera_height` is inches above the table, `focal_mm` the
    focal length as of a 36 mm wide picture, `kelvin` one or two lamps. `wear` 0 gives edges on the
    line, no loose threads, no folds. `clean` leaves out noise, blur, sharpening, fall-off of light,
    shadows and colour casts. `squares`, when given, are drawn loose instead of our own print,
    `count` of them. `contrast` is the least CIELAB distance between the table and every colour
    that takes a tenth of a cloth or more. Things lie within `reach` inches of where the camera
    points.
    """

    scale: Scale = "loose"
    scraps: int | None = 5
    width: int = 4032
    height: int = 3024
    camera_height: float | None = None
    tilt_deg: float | None = None
    focal_mm: float | None = None
    k1: float | None = None
    kelvin: tuple[float, ...] | None = None
    table: str | None = None
    table_colour: Rgb | None = None
    cloths: tuple[str, ...] | None = None
    outlines: tuple[str, ...] | None = None
    sizes: tuple[float, float] = (3.5, 8.5)
    wear: float = 1.0
    clean: bool = False
    squares: SquareSet | None = None
    count: int | None = None
    contrast: float = 12.0
    reach: float = 30.0


@lru_cache(maxsize=12)
def _table(kind: str, seed: int, colour: Rgb | None) -> Table:
    return make_table(kind, seed, colour)


@lru_cache(maxsize=64)
def _cloth(kind: str, seed: int) -> Cloth:
    return make_cloth(kind, seed)


def random_scene(seed: int, options: Options = Options()) -> Scene:
    """A scene that `render` can photograph; the same seed and options give the same scene."""
    rng = np.random.default_rng([seed, 2027])
    camera = _camera(rng, options)
    view = Polygon(camera.view()).intersection(Point(0, 0).buffer(options.reach))
    assert isinstance(view, Polygon)
    papers, taken = _scale(rng, options, view)
    kind = options.table or str(rng.choice(TABLES))
    table = _table(kind, int(rng.integers(12)), options.table_colour)
    wanted = int(rng.integers(1, 9)) if options.scraps is None else options.scraps
    pieces: list[Piece] = []
    for _ in range(wanted):
        piece = _piece(rng, options, view, taken, table)
        if piece is not None:
            pieces.append(piece)
            taken.append(piece.outline)
    return Scene(camera, table, _light(rng, options, view), tuple(pieces), papers, seed)


def render_scene(seed: int, options: Options = Options()) -> RenderedPhoto:
    """Photograph a random scene; `truth` holds all that is true about it."""
    return render(random_scene(seed, options))


def render_no_scale(seed: int, *, width: int = 1600, height: int = 1200) -> RenderedPhoto:
    """A photo in which nothing tells the size, of scraps or of none at all."""
    rng = np.random.default_rng([seed, 2028])
    wanted = int(rng.integers(0, 8))
    return render_scene(seed, Options(scale="none", scraps=wanted, width=width, height=height))


def _camera(rng: Rng, options: Options) -> Camera:
    wide = max(options.width, options.height)
    drawn = float(rng.uniform(24.5, 27.5))
    focal = (drawn if options.focal_mm is None else options.focal_mm) / 36 * wide
    height = float(rng.uniform(18, 28))
    tilt = float(rng.uniform(0, 25))
    k1 = float(rng.uniform(-0.08, 0.08))
    off = rng.normal(0, 0.004, 2) * wide
    towards, roll = (
        float(rng.uniform(0, 360)),
        float(rng.choice([0, 0, 90, 180]) + rng.normal(0, 5)),
    )
    return over_table(
        width=options.width,
        height=options.height,
        focal=focal,
        camera_height=height if options.camera_height is None else options.camera_height,
        tilt_deg=tilt if options.tilt_deg is None else options.tilt_deg,
        tilt_towards_deg=towards,
        roll_deg=roll,
        k1=k1 if options.k1 is None else options.k1,
        centre=((options.width - 1) / 2 + off[0], (options.height - 1) / 2 + off[1]),
    )


def _scale(rng: Rng, options: Options, view: Polygon) -> tuple[tuple[Paper, ...], list[Polygon]]:
    """The papers, and the ground that they take."""
    if options.scale == "none":
        return (), []
    if options.scale == "card":
        room = view.buffer(-3.9)
        at = _point_in(rng, room) if not room.is_empty else (view.centroid.x, view.centroid.y)
        paper = card(at, float(rng.uniform(0, 360)))
        return (paper,), [Polygon(paper.border)]
    count = options.count or int(rng.integers(5, 7))
    numbers = range(count) if options.squares is None else options.squares.ids[:count]
    reach = 1.0 if options.squares is None else options.squares.side * 0.8
    room = view.buffer(-1.45 * reach)
    papers: list[Paper] = []
    places: list[tuple[float, float]] = []
    for number in numbers:
        tries = [_point_in(rng, room) for _ in range(24)]
        # Scattered: of some random places, the one furthest from the squares already lying there.
        far = [min((np.hypot(x - a, y - b) for a, b in places), default=0.0) for x, y in tries]
        best = tries[int(np.argmax(far))] if places else _point_in(rng, room)
        places.append(best)
        turn = float(rng.uniform(0, 360))
        if options.squares is None:
            papers.append(loose_cell(number, best, turn))
        else:
            papers.append(plain_square(options.squares, number, best, turn))
    return tuple(papers), [Polygon(paper.border) for paper in papers]


def _point_in(rng: Rng, room: Polygon) -> tuple[float, float]:
    left, bottom, right, top = room.bounds
    for _ in range(1000):
        x, y = float(rng.uniform(left, right)), float(rng.uniform(bottom, top))
        if room.covers(Point(x, y)):
            return x, y
    return room.centroid.x, room.centroid.y


def _piece(
    rng: Rng, options: Options, view: Polygon, taken: list[Polygon], table: Table
) -> Piece | None:
    """A scrap on free ground, of a cloth that can be told from the table; None when no room."""
    kind = str(rng.choice(options.outlines or outlines.KINDS))
    size = float(rng.uniform(*options.sizes))
    for _ in range(30):
        name = str(rng.choice(options.cloths or list(MAKERS)))
        cloth = _cloth(name, int(rng.integers(4)))
        if contrast(cloth, table) >= options.contrast:
            break
    else:
        return None
    room = view.buffer(-0.5)
    for attempt in range(60):
        shape = outlines.make_outline(kind, rng, size * 0.985**attempt)
        turn = float(rng.uniform(0, 360))
        placed = affinity.translate(
            affinity.rotate(shape, turn, origin=(0, 0)), *_point_in(rng, room)
        )
        if room.covers(placed) and all(placed.distance(other) >= _GAP for other in taken):
            outline = outlines.worn(placed, rng, 0.012 * options.wear)
            return Piece(
                outline,
                cloth,
                turn,
                folds(outline, rng, int(rng.integers(0, 4)), 0.08 * options.wear),
                loose_threads(outline, rng, per_inch=2.5 * options.wear),
                float(rng.uniform(0.015, 0.045)),
            )
    return None


def _light(rng: Rng, options: Options, view: Polygon) -> Light:
    """One lamp or two, somewhere above; the seed's draws do not depend on the options."""
    across = float(np.sqrt(view.area))
    at = rng.uniform(-1.2, 1.2, (2, 2)) * across
    high = rng.uniform(1.1, 2.5, 2) * across
    kelvins = tuple(float(k) for k in rng.uniform(2700, 6500, 2 if rng.random() < 0.35 else 1))
    kelvins = options.kelvin or kelvins
    lamps = tuple(
        Lamp(k, (float(at[i, 0]), float(at[i, 1]), float(high[i])), float(rng.uniform(0.4, 1.0)))
        for i, k in enumerate(kelvins[:2])
    )
    shadow = CastShadow(
        _point_in(rng, view), float(rng.uniform(0, 360)), float(rng.uniform(0.7, 2.5)),
        float(rng.uniform(0.05, 0.3)),
    )  # fmt: skip
    drawn = Light(
        lamps=lamps,
        shadow=shadow if rng.random() < 0.4 else None,
        exposure=float(rng.uniform(0.7, 0.95)),
        balance=float(rng.uniform(0.5, 1.0)),
        vignette=float(rng.uniform(0.0, 0.25)),
        noise=float(rng.uniform(0.006, 0.025)),
        blur=float(rng.uniform(0.6, 1.3)),
        sharpen=float(rng.uniform(0.0, 0.5)),
        contrast=float(rng.uniform(0.0, 0.3)),
    )
    return Light(exposure=0.9) if options.clean else drawn

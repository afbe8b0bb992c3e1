"""Sample photos of several scraps with the scale in view.

The scraps of the Tern Quay waiting room as in `tests.render.samples`, laid out together: three
photos with the print cut into loose squares, a fourth with the card left whole, all by one camera.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon

from tests.render.camera import Camera, over_table
from tests.render.cloth import Rng
from tests.render.colours import Rgb
from tests.render.light import CastShadow, Lamp, Light
from tests.render.outlines import worn
from tests.render.printed import Paper, card, loose_cell
from tests.render.prints import make_cloth
from tests.render.samples import SAMPLES, Sample
from tests.render.scene import Piece, RenderedPhoto, Scene, render
from tests.render.tables import make_table
from tests.render.wear import folds, loose_threads

PIXELS: Final = (2880, 2160)
_FOCAL_MM: Final = 26.0
_K1: Final = 0.024
_SAMPLE: Final[dict[str, Sample]] = {sample.file: sample for sample in SAMPLES}

Place = tuple[float, float, float]
"""x and y of the middle in inches from where the camera points, turn in degrees."""


@dataclass(frozen=True)
class Layout:
    """One photo: which scraps lie where, as one reads, and the scale with them."""

    file: str
    table: str
    table_seed: int
    top: Rgb | None
    scraps: dict[str, Place]
    squares: tuple[Place, ...] = ()
    card: Place | None = None
    camera_height: float = 22.0
    tilt_deg: float = 8.0
    towards_deg: float = 80.0
    kelvin: tuple[float, float] = (4800.0, 6200.0)


LAYOUTS: Final = (
    Layout(
        "by-the-ticket-window.jpg", "wood", 3, (188, 150, 108),
        {
            "deckchair-stripe.jpg": (-2.4, 6.0, 3),
            "curtain-end-teal.jpg": (-5.8, 0.8, -6),
            "boats-nursery-curtain.jpg": (2.0, 1.6, 4),
            "sea-dyed-blue.jpg": (-4.0, -5.0, 5),
            "bunting-red.jpg": (6.4, -4.6, 12),
        },
        squares=((-10.2, 6.2, 12), (7.6, 6.2, -20), (9.2, 0.4, 75), (-9.6, -5.8, 170),
                 (1.0, -4.2, 33), (10.9, -4.2, -8)),
        camera_height=20.0,
    ),
    Layout(
        "on-the-cutting-mat.jpg", "mat", 5, None,
        {
            "coral-pillowcase.jpg": (-5.8, 2.4, 7),
            "tablecloth-gingham.jpg": (2.8, 2.0, -14),
            "buoy-dots.jpg": (-1.0, -5.0, 9),
        },
        squares=((-10.0, 6.0, 20), (-2.0, 6.6, -9), (9.2, 5.8, 100), (-7.4, -4.4, 14),
                 (8.0, -5.0, -33)),
        camera_height=18.5, tilt_deg=11, towards_deg=110, kelvin=(3600.0, 5600.0),
    ),
    Layout(
        "light-cloth-on-slate.jpg", "plain", 2, (74, 80, 86),
        {
            "duvet-white.jpg": (-4.4, 4.6, -3),
            "dress-floral.jpg": (7.0, 4.2, 15),
            "sail-bag-canvas.jpg": (-5.2, -4.4, 4),
            "oat-scallop-blind.jpg": (7.8, -4.6, -7),
        },
        squares=((-11.6, 0.2, 40), (3.4, 9.2, -12), (12.2, 0.2, 80), (1.2, -0.4, 3),
                 (2.6, -9.3, 190)),
        camera_height=22.0, tilt_deg=6, towards_deg=60, kelvin=(5200.0, 6400.0),
    ),
    Layout(
        "shirt-and-apron-with-card.jpg", "plain", 7, (214, 210, 202),
        {
            "shirt-back-chambray.jpg": (-5.0, 2.2, -8),
            "apron-denim.jpg": (-0.4, -4.6, 4),
        },
        card=(4.2, 2.2, 12), camera_height=18.0, tilt_deg=7, towards_deg=95,
    ),
)  # fmt: skip


@dataclass(frozen=True)
class LaidOut:
    """Where things lie in one photo: scraps' outlines by file, in the order of the layout."""

    camera: Camera
    outlines: dict[str, Polygon]
    papers: tuple[Paper, ...]


def lay_out(layout: Layout, rng: Rng) -> LaidOut:
    """Place the camera, the scraps and the scale of a layout."""
    width, height = PIXELS
    camera = over_table(
        width=width, height=height, focal=_FOCAL_MM / 36 * width,
        camera_height=layout.camera_height, tilt_deg=layout.tilt_deg,
        tilt_towards_deg=layout.towards_deg, roll_deg=float(rng.normal(0, 2)), k1=_K1,
        centre=(width / 2 + 6.0, height / 2 - 9.0),
    )  # fmt: skip
    outlines = {}
    for file, (x, y, turn) in layout.scraps.items():
        shape = Polygon(_SAMPLE[file].corners)
        middle = shape.envelope.centroid
        shape = affinity.translate(shape, -middle.x, -middle.y)
        shape = affinity.translate(affinity.rotate(shape, turn, origin=(0, 0)), x, y)
        outlines[file] = worn(shape, rng, 0.012)
    papers: list[Paper] = [loose_cell(k, (x, y), a) for k, (x, y, a) in enumerate(layout.squares)]
    if layout.card is not None:
        papers.append(card(layout.card[:2], layout.card[2]))
    return LaidOut(camera, outlines, tuple(papers))


def photograph_table(layout: Layout, number: int) -> RenderedPhoto:
    """One of LAYOUTS, seen from above by hand."""
    rng = np.random.default_rng([2026, 5, number])
    laid = lay_out(layout, rng)
    pieces = []
    for file, outline in laid.outlines.items():
        sample = _SAMPLE[file]
        cloth = make_cloth(sample.cloth, SAMPLES.index(sample), sample.inks)
        creases = folds(outline, rng, int(rng.integers(2, 5)), 0.06)
        threads = loose_threads(outline, rng, per_inch=2.5)
        grain = layout.scraps[file][2] + sample.grain_deg
        pieces.append(Piece(outline, cloth, grain, creases, threads))
    light = Light(
        lamps=(
            Lamp(layout.kelvin[0], (float(rng.uniform(-20, 20)), float(rng.uniform(14, 26)), 40.0)),
            Lamp(layout.kelvin[1], (float(rng.uniform(-60, 60)), 80.0, 70.0), 2.0),
        ),
        shadow=CastShadow((0.0, -9.0), -90 + float(rng.normal(0, 15)), 1.8, 0.2),
        exposure=0.98, balance=0.9, vignette=0.1, noise=0.012, blur=0.7, sharpen=0.3,
    )  # fmt: skip
    table = make_table(layout.table, layout.table_seed, layout.top)
    return render(Scene(laid.camera, table, light, tuple(pieces), laid.papers, number))


def grain_words(layout: Layout, laid: LaidOut, file: str) -> str:
    """What the list beside the photos says of a scrap's grain, as `scraps.toml` writes it.

    Along or across the longest edge where it runs so; else in degrees from the picture's level,
    which is where its rows run over the table in its middle.
    """
    sample = _SAMPLE[file]
    corners = np.array(sample.corners)
    edges = np.roll(corners, -1, axis=0) - corners
    along = edges[np.argmax(np.hypot(*edges.T))]
    lengths = np.sort(np.hypot(*edges.T))
    # Of a square nobody knows which edge will be measured as the longest.
    plain = not sample.one_way and lengths[-1] > 1.05 * lengths[:-2].max()
    off = (sample.grain_deg - np.degrees(np.arctan2(along[1], along[0]))) % 180
    if plain and min(off, 180 - off) < 1:
        return "suggested"
    if plain and abs(off - 90) < 1:
        return "across"
    middle = np.array(laid.camera.centre)
    level = np.diff(laid.camera.unproject(middle + np.array([[-8.0, 0.0], [8.0, 0.0]])), axis=0)[0]
    turned = layout.scraps[file][2] - np.degrees(np.arctan2(level[1], level[0]))
    return f"{(sample.grain_deg + turned) % (360 if sample.one_way else 180):.0f}"

"""The scraps of the sample scenario, and photos of one of them alone.

The volunteers of the Tern Quay ferry waiting room laid what was left of curtains, shirts, a
deckchair and a table-cloth on the table by the ticket window and photographed it, to make cushions
for the benches. Everything here is invented and comes from seeds.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon

from tests.render.camera import over_table
from tests.render.cloth import Cloth
from tests.render.colours import Rgb
from tests.render.light import CastShadow, Lamp, Light
from tests.render.outlines import worn
from tests.render.prints import make_cloth
from tests.render.scene import Piece, RenderedPhoto, Scene, render
from tests.render.tables import make_table
from tests.render.wear import folds, loose_threads

LONG_SIDE: Final = 1800


@dataclass(frozen=True)
class Sample:
    """One scrap of the scenario; `file` is what a photo of it alone is called.

    `corners` in inches, from the lower left counter-clockwise; `grain_deg` is where its warp points
    in the same drawing. `one_way`: the print points along the warp.
    """

    file: str
    name: str
    fabric: str
    cloth: str
    inks: Sequence[Rgb]
    corners: Sequence[tuple[float, float]]
    place: str
    table: str = "wood"
    top: Rgb | None = None
    kelvin: float = 5200
    grain_deg: float = 0.0
    one_way: bool = False

    @property
    def typed(self) -> tuple[str, str, str]:
        """(kind of size, size, grain) as they would be typed for ``log``."""
        xs, ys = zip(*self.corners, strict=True)
        w, h = _length(max(xs)), _length(max(ys))
        along = "first" if self.grain_deg == 0 else "second"
        if len(self.corners) == 4 and len(set(xs)) == len(set(ys)) == 2:
            if max(xs) > 4 * max(ys):
                return "strip", f"{h} x {w}", "second" if self.grain_deg == 0 else "first"
            return "size", f"{w} x {h}", along
        if len(self.corners) == 3 and len(set(xs)) == 2:
            return "triangle", f"{w} x {h}", along
        return "corners", "  ".join(f"{x:g},{y:g}" for x, y in self.corners), f"{self.grain_deg:g}"


def _length(inches: float) -> str:
    """Inches as a ruler reads them, in quarters: 5 1/2."""
    whole, part = divmod(round(inches * 4), 4)
    return f"{whole}{('', ' 1/4', ' 1/2', ' 3/4')[part]}"


def _box(w: float, h: float) -> list[tuple[float, float]]:
    return [(0, 0), (w, 0), (w, h), (0, h)]


_OAK: Final[Rgb] = (188, 150, 108)
_SLATE: Final[Rgb] = (74, 80, 86)
_PAINT: Final[Rgb] = (214, 210, 202)

_TIN, _BASKET, _SHELF = "blue tin", "basket under the ticket window", "shelf by the kettle"

SAMPLES: Final = (
    Sample("deckchair-stripe.jpg", "deckchair seat", "deckchair stripe", "stripes",
           [(38, 78, 138), (238, 230, 212), (38, 78, 138), (214, 84, 70)],
           _box(12, 2.5), _BASKET, kelvin=5600),
    Sample("curtain-end-teal.jpg", "curtain end", "waiting room curtain", "tone on tone",
           [(18, 108, 118), (60, 146, 150)], _box(7.5, 4.5), _BASKET, kelvin=4300),
    Sample("sail-bag-canvas.jpg", "sail bag", "sail-bag canvas", "canvas", [(246, 240, 222)],
           [(0, 0), (11, 0), (11, 5), (4, 7.5), (0, 7.5)], _SHELF, table="plain", top=_SLATE),
    Sample("shirt-back-chambray.jpg", "shirt back", "blue work shirt", "chambray",
           [(40, 94, 184), (188, 210, 242)], [(0, 0), (7, 0), (6, 4.5), (1, 4.5)], _SHELF,
           kelvin=4600, grain_deg=90),
    Sample("coral-pillowcase.jpg", "pillowcase piece", "coral pillowcase", "solid",
           [(230, 100, 98)], _box(5.5, 5.5), _TIN, table="plain", top=_PAINT, kelvin=5200),
    Sample("tablecloth-gingham.jpg", "table-cloth corner", "red gingham table-cloth", "gingham",
           [(200, 22, 42), (248, 242, 240)], [(0, 0), (6, 0), (0, 6)], _TIN, kelvin=3600),
    Sample("apron-denim.jpg", "apron strip", "ferry hand's apron", "denim",
           [(22, 46, 112), (124, 150, 200)], _box(11, 2.25), _SHELF, table="plain", top=_PAINT,
           kelvin=6000),
    Sample("buoy-dots.jpg", "buoy dots", "yellow dotted cotton", "dots",
           [(238, 190, 62), (250, 244, 228)], _box(5, 4.5), _TIN, table="plain", top=_SLATE,
           kelvin=4200, grain_deg=90),
    Sample("boats-nursery-curtain.jpg", "boats", "boat curtain", "boats",
           [(160, 198, 214), (250, 248, 240), (36, 70, 124)], _box(5.5, 4.5), _BASKET,
           grain_deg=90, one_way=True),
    Sample("duvet-white.jpg", "duvet edge", "white duvet cover", "solid", [(247, 247, 244)],
           _box(12, 5.25), _SHELF, kelvin=5400),
    Sample("dress-floral.jpg", "dress panel", "summer dress", "floral",
           [(250, 243, 228), (216, 92, 84), (240, 196, 84), (84, 136, 104)],
           [(0, 0), (7, 0), (8, 3), (5.5, 6.5), (1, 5.5)], _TIN, table="plain",
           top=(110, 112, 112), kelvin=4800),
    Sample("bunting-red.jpg", "bunting", "red bunting", "solid", [(176, 34, 44)],
           [(0, 0), (6.5, 0), (3.25, 8)], _TIN, kelvin=5200, grain_deg=90),
    Sample("sea-dyed-blue.jpg", "dyed sheet", "hand-dyed sheet", "hand-dyed",
           [(24, 74, 130), (118, 172, 206)], _box(5.5, 4.5), _BASKET, table="plain", top=_PAINT,
           kelvin=4400),
    Sample("oat-scallop-blind.jpg", "roller blind", "scalloped blind", "scallops",
           [(247, 241, 226), (232, 222, 202)], _box(9.5, 5), _SHELF, kelvin=4900, grain_deg=90),
    Sample("tea-towel-green.jpg", "tea towel", "galley tea towel", "gingham",
           [(44, 120, 84), (244, 246, 238)], _box(9, 6), _BASKET, kelvin=5000),
)  # fmt: skip


def photograph(sample: Sample, long_side: int = LONG_SIDE) -> RenderedPhoto:
    """One of SAMPLES on the table, seen from above by hand; `long_side` in pixels."""
    number = SAMPLES.index(sample)
    rng = np.random.default_rng([2026, number])
    shape = Polygon(sample.corners)
    middle = shape.envelope.centroid
    turn = float(rng.normal(0, 5))
    outline = affinity.rotate(affinity.translate(shape, -middle.x, -middle.y), turn, origin=(0, 0))
    outline = worn(outline, rng, 0.012)
    wide = max(sample.corners)[0] * 1.25 + 2.5
    high = max(y for _, y in sample.corners) * 1.3 + 2.5
    ratio = 0.75
    wide = max(wide, high / ratio)
    pixels = (long_side, round(long_side * ratio))
    focal = 26 / 36 * long_side
    camera = over_table(
        width=pixels[0], height=pixels[1], focal=focal, camera_height=wide * focal / long_side,
        tilt_deg=float(rng.uniform(2, 9)), tilt_towards_deg=float(rng.uniform(60, 120)),
        roll_deg=float(rng.normal(0, 2)), k1=0.015,
    )  # fmt: skip
    cloth: Cloth = make_cloth(sample.cloth, number, sample.inks)
    piece = Piece(
        outline, cloth, turn + sample.grain_deg,
        folds(outline, rng, int(rng.integers(3, 6)), 0.07),
        loose_threads(outline, rng, per_inch=3.0),
    )  # fmt: skip
    light = Light(
        lamps=(
            Lamp(sample.kelvin, (float(rng.uniform(-14, 14)), float(rng.uniform(10, 20)), 44.0)),
            Lamp(6200, (float(rng.uniform(-60, 60)), 70.0, 60.0), 2.0),
        ),
        shadow=CastShadow((0.0, -0.42 * high), -90 + float(rng.normal(0, 15)), 2.2, 0.13),
        exposure=1.0, balance=0.93, vignette=0.06, noise=0.01, blur=0.6, sharpen=0.25,
    )  # fmt: skip
    table = make_table(sample.table, 3 if sample.table == "wood" else number, sample.top
                       or (_OAK if sample.table == "wood" else None))  # fmt: skip
    return render(Scene(camera, table, light, (piece,), seed=number))

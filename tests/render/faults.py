"""Photos that cannot be measured, one for each reason why."""

from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon, box

from tests.render.arrange import Options, random_scene
from tests.render.cloth import Cloth, TrueColour
from tests.render.colours import linear
from tests.render.prints import make_cloth
from tests.render.scene import Piece, RenderedPhoto, Scene, render

Change = Callable[[Scene], Scene]


def _blurred(scene: Scene) -> Scene:
    """Out of focus by an eighth of an inch."""
    return replace(scene, light=replace(scene.light, blur=scene.camera.width / 250))


def _scrap_leaves(scene: Scene) -> Scene:
    """One scrap lies across the picture's border, on the side opposite to the nearest square."""
    ring = scene.camera.view()
    squares = np.array([paper.border.mean(axis=0) for paper in scene.papers])
    far = [min(np.hypot(*(squares - corner).T)) for corner in ring]
    x, y = ring[int(np.argmax(far))]
    lone = Piece(box(x - 2.5, y - 2.5, x + 2.5, y + 2.5), make_cloth("solid", 3))
    return replace(scene, pieces=(*scene.pieces, lone))


def _scrap_over_scale(scene: Scene) -> Scene:
    """A strip lies over half of every printed square."""
    over = []
    cloth = make_cloth("solid", 3)
    for paper in scene.papers:
        for square in paper.squares:
            x, y = square.corners[:2].mean(axis=0)
            strip = affinity.rotate(box(x - 1.6, y - 0.4, x + 1.6, y + 0.4), 20, origin=(x, y))
            over.append(Piece(Polygon(strip.exterior), cloth))
    return replace(scene, pieces=(*scene.pieces, *over))


def _scale_cut_off(scene: Scene) -> Scene:
    """Every square lies half outside the picture."""
    ring = scene.camera.view()
    middle = ring.mean(axis=0)
    papers = []
    for number, paper in enumerate(scene.papers):
        corner = ring[(number * 5) % len(ring)]
        square = paper.squares[0]
        shift = corner + (middle - corner) * 0.002 - square.corners.mean(axis=0)
        papers.append(
            replace(
                paper,
                border=paper.border + shift,
                inked=tuple((c, tuple(r + shift for r in rings)) for c, rings in paper.inked),
                squares=tuple(replace(s, corners=s.corners + shift) for s in paper.squares),
            )
        )
    return replace(scene, papers=tuple(papers))


def _no_contrast(scene: Scene) -> Scene:
    """Scraps of the very colour of the table, without shadow at their edges."""
    mean = scene.table.tile.reshape(-1, 3).mean(axis=0)
    tile = np.asarray(scene.table.tile, dtype=np.float32)
    cloth = Cloth(
        "the table's own", tile, scene.table.per_inch, (TrueColour((0, 0, 0), 1.0),), (0, 0, 0)
    )
    assert np.all(np.abs(mean - linear((236, 234, 228))) < 0.1)
    pieces = tuple(replace(p, cloth=cloth, threads=(), folds=(), lift=0.0) for p in scene.pieces)
    return replace(scene, pieces=pieces)


_PLAIN: Final = Options(width=1440, height=1080, scraps=2, table="plain", sizes=(4.0, 6.0))
_LIGHT: Final = replace(_PLAIN, table_colour=(236, 234, 228))

FAULTS: Final[dict[str, tuple[Options, Change | None]]] = {
    "no scale": (replace(_PLAIN, scale="none"), None),
    "scale cut off": (_PLAIN, _scale_cut_off),
    "too tilted": (replace(_PLAIN, tilt_deg=58.0, focal_mm=42.0, reach=9.0), None),
    "too blurred": (_PLAIN, _blurred),
    "scrap leaves the picture": (_PLAIN, _scrap_leaves),
    "scrap over the scale": (_PLAIN, _scrap_over_scale),
    "no contrast": (_LIGHT, _no_contrast),
    "no scrap": (replace(_PLAIN, scraps=0), None),
    "too small": (replace(_PLAIN, width=320, height=240), None),
}
"""Each reason, the options of its scene and the change that spoils it."""


def render_fault(reason: str, seed: int) -> RenderedPhoto:
    """A photo that must be refused for one of FAULTS."""
    options, spoil = FAULTS[reason]
    scene = random_scene(seed, options)
    return render(scene if spoil is None else spoil(scene))

"""The renderer's geometry against OpenCV and shapely, and its pictures against its own truth."""

from dataclasses import replace
from itertools import pairwise

import cv2
import numpy as np
import pytest
from numpy.typing import NDArray
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient

from tests.render.arrange import Options, random_scene, render_scene
from tests.render.camera import Camera, over_table
from tests.render.cloth import Cloth, TrueColour
from tests.render.colours import linear
from tests.render.light import Light
from tests.render.printed import loose_cell
from tests.render.raster import coverage
from tests.render.scene import Piece, Scene, render
from tests.render.tables import Table

Points = NDArray[np.float64]


def _camera(seed: int, width: int = 1200, height: int = 900) -> Camera:
    rng = np.random.default_rng(seed)
    return over_table(
        width=width,
        height=height,
        focal=0.72 * width,
        camera_height=float(rng.uniform(18, 28)),
        tilt_deg=float(rng.uniform(0, 25)),
        tilt_towards_deg=float(rng.uniform(0, 360)),
        roll_deg=float(rng.uniform(0, 360)),
        k1=float(rng.uniform(-0.08, 0.08)),
        centre=(width / 2 + 7.3, height / 2 - 4.1),
    )


def _flat(rgb: tuple[int, int, int]) -> Cloth:
    tile = np.full((8, 8, 3), linear(rgb), dtype=np.float32)
    return Cloth("flat", tile, 8.0, (TrueColour(rgb, 1.0),), rgb)


@pytest.mark.parametrize("seed", range(6))
def test_projection_is_opencvs(seed: int) -> None:
    """The same camera given to cv2.projectPoints puts points on the same pixels."""
    camera = _camera(seed)
    points = np.random.default_rng(seed).uniform(-11, 11, (60, 2))
    space = np.column_stack([points, np.zeros(60)])
    turn, _ = cv2.Rodrigues(camera.rotation)
    lens = np.array([camera.k1, 0.0, 0.0, 0.0])
    theirs, _ = cv2.projectPoints(space, turn, camera.translation, camera.matrix, lens)
    assert np.abs(theirs.reshape(-1, 2) - camera.project(points)).max() < 1e-9
    assert np.abs(camera.unproject(camera.project(points)) - points).max() < 1e-9


def test_map_of_the_table_is_the_inverse_of_the_projection() -> None:
    """Under every pixel lies the table point that is projected there, to a hundredth of a pixel."""
    camera = _camera(3)
    x, y = camera.table_map()
    rows, columns = np.mgrid[0 : camera.height : 37, 0 : camera.width : 41]
    points = np.column_stack([x[rows, columns].ravel(), y[rows, columns].ravel()]).astype(float)
    back = camera.project(points)
    assert np.abs(back - np.column_stack([columns.ravel(), rows.ravel()])).max() < 0.01


@pytest.mark.parametrize("seed", range(5))
def test_coverage_is_the_area_shapely_finds(seed: int) -> None:
    """Each pixel's share equals its square's intersection with the polygon, holes left out."""
    rng = np.random.default_rng(seed)
    turns = np.sort(rng.uniform(0, 2 * np.pi, 9))
    ring = np.column_stack([np.cos(turns), np.sin(turns)]) * rng.uniform(5, 11, (9, 1)) + 7.3
    hole = ring * 0.3 + 0.7 * ring.mean(axis=0)
    shape = orient(
        Polygon(ring, [hole]) if Polygon(ring).contains(Polygon(hole)) else Polygon(ring)
    )
    rings = [np.array(r.coords)[:-1] for r in (shape.exterior, *shape.interiors)]
    share = coverage(rings, (2, 1, 12, 13))
    for j in range(13):
        for i in range(12):
            pixel = box(i + 1.5, j + 0.5, i + 2.5, j + 1.5)
            assert share[j, i] == pytest.approx(shape.intersection(pixel).area, abs=1e-6)


def _edge_offsets(grey: NDArray[np.float64], camera: Camera, a: Points, b: Points) -> Points:
    """How far, in pixels, the picture's edge lies off the projected line a→b, at 40 places.

    Along the normal, the area under the dark side tells where a step from dark to light lies.
    """
    t = np.linspace(0.08, 0.92, 40)[:, None]
    middle, ahead = camera.project(a + (b - a) * t), camera.project(a + (b - a) * (t + 1e-4))
    way = (ahead - middle) / np.linalg.norm(ahead - middle, axis=1, keepdims=True)
    normal = np.column_stack([way[:, 1], -way[:, 0]])
    reach = np.arange(-6, 6.01, 0.25)
    places = (middle[:, None] + normal[:, None] * reach[None, :, None]).astype(np.float32)
    seen = cv2.remap(grey.astype(np.float32), places[..., 0], places[..., 1], cv2.INTER_LINEAR)
    inner = np.minimum(seen[:, :4].mean(axis=1), seen[:, -4:].mean(axis=1))[:, None]
    outer = np.maximum(seen[:, :4].mean(axis=1), seen[:, -4:].mean(axis=1))[:, None]
    dark = ((outer - seen) / (outer - inner)).sum(axis=1) * 0.25
    return np.asarray(dark - 6.125)


@pytest.mark.parametrize("seed", range(4))
def test_true_outline_is_where_the_picture_has_its_edge(seed: int) -> None:
    """A dark scrap on a white table has its edges within 1/20 px of the projected outline."""
    camera = _camera(10 + seed)
    tile = np.full((8, 8, 3), 0.9, dtype=np.float32)
    outline = Polygon([(-7, -5), (6, -6), (7.5, 3), (-1, 6.5)])
    piece = Piece(outline, _flat((12, 12, 12)), lift=0.0)
    bright = Light(exposure=0.95)
    photo = render(Scene(camera, Table("plain", tile, 8.0), bright, (piece,)))
    light = linear(photo.image).mean(axis=2).astype(float)
    corners = np.array(orient(outline).exterior.coords)
    for a, b in pairwise(corners):
        off = _edge_offsets(light, camera, a, b)
        assert abs(off.mean()) < 0.05
        assert np.abs(off).max() < 0.2


@pytest.mark.parametrize("scale", ["loose", "card"])
def test_printed_squares_read_and_lie_where_the_truth_says(scale: str) -> None:
    """OpenCV reads every square; each corner, in its order, is the true one to 2 px of its 30."""
    options = Options(scale="card" if scale == "card" else "loose", width=1440, height=1080,
                      scraps=2, clean=True)  # fmt: skip
    photo = render_scene(5, options)
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_APRILTAG_36h11)
    settings = cv2.aruco.DetectorParameters()
    settings.cornerRefinementMethod = cv2.aruco.CORNER_REFINE_SUBPIX
    grey = cv2.cvtColor(photo.image, cv2.COLOR_RGB2GRAY)
    found, ids, _ = cv2.aruco.ArucoDetector(dictionary, settings).detectMarkers(grey)
    truth = {square.id: square.corners for square in photo.truth.squares}
    assert ids is not None
    assert sorted(int(i) for i in ids.ravel()) == sorted(truth)
    for number, corners in zip(ids.ravel(), found, strict=True):
        seen = photo.truth.camera.project(truth[int(number)])
        assert np.abs(corners.reshape(4, 2) - seen).max() < 2.0


@pytest.mark.parametrize("seed", range(3))
def test_printed_edges_are_where_the_truth_says(seed: int) -> None:
    """The sides of a square's black border lie within 1/20 px of the lines between its corners.

    Measured in linear light: in the file's encoded values a black square looks a quarter of a
    pixel too small on every side, as it does in a real photo.
    """
    camera = replace(_camera(seed), focal=2600.0)
    paper = loose_cell(seed, (0.3, -0.2), 25.0 * seed)
    tile = np.full((8, 8, 3), 0.5, dtype=np.float32)
    photo = render(Scene(camera, Table("plain", tile, 8.0), Light(exposure=0.95), (), (paper,)))
    light = linear(photo.image).mean(axis=2).astype(float)
    corners = paper.squares[0].corners
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        off = _edge_offsets(light, camera, a, b)
        assert abs(off.mean()) < 0.05
        assert np.abs(off).max() < 0.2


def test_scraps_and_papers_leave_room_between_them() -> None:
    """No scrap touches another or a square, and nothing leaves the picture."""
    options = Options(width=800, height=600, scraps=None, cloths=("solid", "canvas"))
    for seed in range(6):
        scene = random_scene(seed, options)
        view = Polygon(scene.camera.view())
        scraps = [piece.outline for piece in scene.pieces]
        papers = [Polygon(paper.border) for paper in scene.papers]
        assert all(view.contains(thing) for thing in scraps + papers)
        for i, scrap in enumerate(scraps):
            assert all(scrap.distance(other) > 0.3 for other in scraps[i + 1 :] + papers)

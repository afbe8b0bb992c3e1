"""Small photographs of scraps laid out by hand on a rendered table, and what measuring says."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon

from scrapstore.photo import Measurement, Refusal, measure
from tests.render.camera import Camera, over_table
from tests.render.light import Light
from tests.render.printed import Paper, loose_cell
from tests.render.prints import MAKERS, make_cloth
from tests.render.scene import Piece, Scene, render
from tests.render.tables import make_table

WIDE, HIGH = 1600, 1200
PLACES = [(-9.0, -5.5), (9.0, -5.0), (-8.5, 5.5), (8.5, 6.0), (0.0, -6.5)]


def camera(
    tilt_deg: float = 6.0, height: float = 20.0, k1: float = 0.0, wide: int = WIDE
) -> Camera:
    return over_table(
        width=wide, height=wide * HIGH // WIDE, focal=26 / 36 * wide, camera_height=height,
        tilt_deg=tilt_deg, tilt_towards_deg=70.0, k1=k1,
    )  # fmt: skip


def loose(places: list[tuple[float, float]] = PLACES) -> tuple[Paper, ...]:
    return tuple(loose_cell(k, place, 17.0 * k) for k, place in enumerate(places))


def scrap(
    outline: Polygon, cloth: str = "solid", colour: tuple[int, int, int] = (150, 40, 50)
) -> Piece:
    inks = [colour, (240, 235, 220), (60, 90, 140), (200, 170, 60)][: MAKERS[cloth][1]]
    return Piece(outline, make_cloth(cloth, 1, inks), lift=0.02)


def photographed(
    folder: Path, pieces: list[Piece], papers: tuple[Paper, ...], *, table: str = "plain",
    colour: tuple[int, int, int] | None = (208, 204, 196), view: Camera | None = None,
    light: Light | None = None, change: Callable[[np.ndarray], np.ndarray] | None = None,
) -> Path:  # fmt: skip
    ground = make_table(table, 2, colour)
    photo = render(Scene(view or camera(), ground, light or Light(), tuple(pieces), papers))
    if change is not None:
        photo = replace(photo, image=change(photo.image))
    path = folder / "photo.jpg"
    photo.save_jpeg(path, model="Fernglas F-1")
    return path


def reading(path: Path, **options: object) -> Measurement:
    found = measure(path, **options)  # type: ignore[arg-type]
    assert found, str(found)
    return found


def refusal(path: Path, **options: object) -> Refusal:
    found = measure(path, **options)  # type: ignore[arg-type]
    assert not found, "this should have been refused"
    assert isinstance(found, Refusal)
    assert found.reason
    assert found.remedy
    assert str(found) == f"{found.reason}; {found.remedy}"
    return found


def shape_error(told: Polygon, true: Polygon) -> float:
    """How far an outline laid best upon the true one is off it anywhere (shapely's Hausdorff)."""
    shift = np.subtract(true.centroid.coords[0], told.centroid.coords[0])
    turned = (affinity.rotate(told, turn, origin="centroid") for turn in np.arange(-8, 8, 0.1))
    return min(affinity.translate(one, *shift).hausdorff_distance(true) for one in turned)

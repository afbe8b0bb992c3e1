"""Labels as the program draws them, lying on a rendered table."""

from dataclasses import replace

import numpy as np
from shapely import Polygon, affinity, box

from scrapstore.report.labels import Label, label_drawing
from scrapstore.report.painting import Area, Drawing
from tests.render.arrange import Options, random_scene
from tests.render.camera import Camera
from tests.render.printed import Paper
from tests.render.scene import RenderedPhoto, render

__all__ = ["a_label", "label_paper", "labels_photo"]

_POINTS = 72.0


def a_label(number: int) -> Label:
    return Label(number, "9 × 6 1/2 in", "blue, medium", "curtain end", "blue tin")


def label_paper(drawing: Drawing, at: tuple[float, float], turn_deg: float) -> Paper:
    """The filled areas of a label as ink on paper, its middle at `at` (table inches)."""

    def placed(shape: Polygon) -> Polygon:
        half = (drawing.width / 2, drawing.height / 2)
        inches = affinity.affine_transform(
            shape, [1 / _POINTS, 0, 0, -1 / _POINTS, -half[0] / _POINTS, half[1] / _POINTS]
        )
        turned = affinity.rotate(inches, turn_deg, origin=(0, 0))
        return affinity.translate(turned, *at)

    inked = []
    for part in drawing.parts:
        if isinstance(part, Area) and part.fill is not None:
            shape = placed(part.shape)
            rings = [np.asarray(r.coords)[:-1] for r in (shape.exterior, *shape.interiors)]
            inked.append((part.fill, tuple(rings)))
    border = placed(box(0, 0, drawing.width, drawing.height))
    return Paper(np.asarray(border.exterior.coords)[:-1], tuple(inked), ())


def labels_photo(
    seed: int, numbers: tuple[int, ...], options: Options
) -> tuple[RenderedPhoto, tuple[int, ...], list[float]]:
    """A random scene with labels among its scraps, the numbers that found room, their scales.

    A scale is pixels an inch, the least in any direction, at the label's middle.
    """
    scene = random_scene(seed, options)
    rng = np.random.default_rng([seed, 2029])
    taken = [piece.outline for piece in scene.pieces]
    taken += [Polygon(paper.border) for paper in scene.papers]
    papers, laid, scales = list(scene.papers), [], []
    reach = 0.5 * scene.camera.width / scene.camera.pixels_per_inch()
    for number in numbers:
        for _ in range(300):
            at = (float(rng.uniform(-reach, reach)), float(rng.uniform(-reach, reach)))
            paper = label_paper(label_drawing(a_label(number)), at, float(rng.uniform(0, 360)))
            lies = Polygon(paper.border)
            if _seen(scene.camera, paper) and not any(one.distance(lies) < 0.4 for one in taken):
                papers.append(paper)
                taken.append(lies)
                laid.append(number)
                scales.append(_scale(scene.camera, at))
                break
    return render(replace(scene, papers=tuple(papers))), tuple(laid), scales


def _seen(camera: Camera, paper: Paper) -> bool:
    """Whether the whole label lies in the picture, 20 pixels from its edge."""
    x, y = camera.project(paper.border).T
    return bool(
        (x.min() > 20 and x.max() < camera.width - 20)
        and (y.min() > 20 and y.max() < camera.height - 20)
    )


def _scale(camera: Camera, at: tuple[float, float]) -> float:
    step = 0.05
    here, right, up = camera.project(np.array([at, (at[0] + step, at[1]), (at[0], at[1] + step)]))
    jacobian = np.column_stack([(right - here) / step, (up - here) / step])
    return float(np.linalg.svd(jacobian, compute_uv=False)[-1])

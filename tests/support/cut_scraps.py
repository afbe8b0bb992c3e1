"""Random scraps with mixed pieces laid on them by the packer, to be cut."""

import random
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from shapely import MultiPolygon, Polygon, affinity, box

from scrapstore.packing import Layout, PieceKind, PlannedCuts, fill, usable_region
from scrapstore.shapes import CutPiece, CuttingPlan, Frame, Tips, cut_shape, make_shape
from tests.support.big_store import outline as random_outline

STEPS = {"1/8 in": 1 / 8, "1/4 in": 1 / 4, "1 mm": 1 / 25.4}

_SIXTHS = tuple(60.0 * k for k in range(6))
_EIGHTHS = tuple(45.0 * k for k in range(8))
_QUARTERS = (0.0, 90.0, 180.0, 270.0)
_HALVES = (0.0, 180.0)

# Name, shape, sizes to choose from, turns to choose from, whether it may be turned over, tips.
_PIECES: tuple[
    tuple[str, str, dict[str, tuple[float, ...]], tuple[tuple[float, ...], ...], bool, Tips], ...
] = (
    ("square", "square", {"side": (1, 1.5, 2, 3)}, ((0.0,),), False, "pointed"),
    ("rectangle", "rectangle", {"width": (1, 2), "height": (2.5, 3, 4.5)}, ((0.0, 90.0),),
     False, "pointed"),
    ("half-square triangle", "half-square-triangle", {"short_side": (1.5, 2, 3)}, (_QUARTERS,),
     False, "pointed"),
    ("half-square triangle, trimmed", "half-square-triangle", {"short_side": (1.5, 2, 3)},
     (_QUARTERS,), False, "trimmed"),
    ("60° diamond", "diamond-60", {"side": (1.25, 1.5, 2)}, (_SIXTHS, _HALVES), False, "pointed"),
    ("60° diamond, trimmed", "diamond-60", {"side": (1.25, 1.5, 2)}, (_SIXTHS,), False, "trimmed"),
    ("45° diamond", "diamond-45", {"side": (1.25, 1.5, 2)}, (_EIGHTHS, _HALVES), False, "pointed"),
    ("equilateral triangle", "triangle-60", {"side": (1.5, 2, 3)}, (_SIXTHS, _HALVES), False,
     "pointed"),
    ("half triangle", "half-triangle-left", {"side": (2, 3)}, (_QUARTERS,), True, "pointed"),
    ("hexagon", "hexagon", {"side": (1, 1.5)}, (_SIXTHS,), False, "pointed"),
)  # fmt: skip


@dataclass(frozen=True)
class ScrapToCut:
    """A scrap, what may be cut of it, and what the packer laid there."""

    outline: Polygon
    region: MultiPolygon
    kinds: list[PieceKind]
    layout: Layout
    ruler: str

    @property
    def step(self) -> float:
        return STEPS[self.ruler]


def scraps_to_cut(count: int, seed: int = 0, *, plenty: bool = False) -> Iterator[ScrapToCut]:
    """Yield `count` scraps: cut, torn, turned, flawed, with margins; the same for a seed.

    One to three kinds of piece are laid on a fifth to seven tenths of the cloth; with `plenty` so
    many are wanted that the layouts are dense.
    """
    draw = random.Random(seed)
    made = 0
    while made < count:
        outline = random_outline(draw)
        if draw.random() < 0.3:
            outline = affinity.rotate(outline, draw.uniform(0, 90), origin=(0, 0))
        flaws = []
        if draw.random() < 0.2:
            x, y = outline.representative_point().coords[0]
            flaws = [affinity.translate(box(-0.3, -0.3, 0.3, 0.3), x, y)]
        region = usable_region(outline, flaws, draw.choice((0.0, 0.125, 0.125, 0.2)))
        chosen = draw.sample(_PIECES, draw.choice((1, 1, 2, 2, 3)))
        makers = [_maker(draw, *piece) for piece in chosen]
        mean = sum(make(1).outline.area for make in makers) / len(makers)
        room = region.area * draw.uniform(0.2, 0.7) / mean / len(makers)
        kinds = [make(30 if plenty else max(1, int(room))) for make in makers]
        ruler = draw.choice(list(STEPS))
        layout = fill(region, kinds, seconds=0.1, seed=made, workers=1)
        if layout.placements:
            made += 1
            yield ScrapToCut(outline, region, kinds, layout, ruler)


def _maker(
    draw: random.Random,
    name: str,
    shape: str,
    sizes: dict[str, tuple[float, ...]],
    turns: tuple[tuple[float, ...], ...],
    mirror: bool,
    tips: Tips,
) -> Callable[[int], PieceKind]:
    chosen = {size: float(draw.choice(values)) for size, values in sizes.items()}
    outline = cut_shape(make_shape(shape, **chosen), 0.25, tips)
    rotations = draw.choice(turns)
    return lambda wanted: PieceKind(name, outline, wanted, rotations, mirror)


def corners(outline: Polygon) -> list[tuple[float, float]]:
    return [(x, y) for x, y in outline.exterior.coords[:-1]]


def as_plan(outline: Polygon, planned: PlannedCuts, step: float) -> CuttingPlan:
    pieces = tuple(
        CutPiece(str(number), placement.kind, placement.outline, part, template)
        for number, (placement, part, template) in enumerate(
            zip(planned.placements, planned.parts, planned.template, strict=True)
        )
    )
    return CuttingPlan(Frame(), outline, planned.cuts, pieces, step)


def as_json(plan: CuttingPlan) -> dict[str, Any]:
    """The plan as `match --json` prints it, in the frame of its drawing."""
    return {
        "cuts": [
            {
                "part": cut.part,
                "line": cut.line,
                "gives": list(cut.gives),
                "from": cut.ruler_from,
                "distance": cut.distance,
                "angle_deg": cut.angle_deg,
                "corners": cut.corners,
                "point": cut.point,
                "point_distance": cut.point_distance,
            }
            for cut in plan.cuts
        ],
        "placements": [
            {
                "label": piece.label,
                "outline": corners(piece.outline),
                "part": piece.part,
                "template": piece.template,
            }
            for piece in plan.pieces
        ],
    }

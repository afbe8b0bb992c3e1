"""How what a plan takes from each scrap is cut: on the marks of the user's ruler, as data."""

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Final, TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon, affinity

from scrapstore.matching import Answer, Need, ScrapStock, kind_on
from scrapstore.packing import (
    PieceKind,
    Placement,
    PlannedCuts,
    cut_faults,
    plan_cuts,
    usable_region,
)
from scrapstore.planning.result import ScrapCut
from scrapstore.projects import Project
from scrapstore.shapes import CutPiece, CuttingPlan, Frame, Line, labelled
from scrapstore.store import Scrap

__all__ = ["MapAll", "answer_with_cuts", "cut_scraps"]

_Task = tuple[
    Polygon, Polygon | MultiPolygon, Sequence[PieceKind], Sequence[Placement], float, bool
]  # what `plan_cuts` takes

MapAll = Callable[[Callable[[_Task], PlannedCuts], Sequence[_Task]], Iterable[PlannedCuts]]
"""Plans the cuts of several scraps, in their order, perhaps in processes; `map` does."""

_Shape = TypeVar("_Shape", Polygon, shapely.Point)
_FINE: Final = 9  # decimals of an inch: nothing a tolerance sees, and no noise of rounding


def answer_with_cuts(
    answer: Answer,
    stock: Mapping[int, ScrapStock],
    scraps: Mapping[int, Scrap],
    needs: Sequence[Need],
    step: float,
    map_all: MapAll = map,
) -> tuple[Answer, dict[int, PlannedCuts]]:
    """Return the answer with its pieces placed so that they can be cut, and the cuts by scrap.

    All of it in the grain frames of the scraps. Where the match was stopped they are planned
    quickly; see `plan_cuts`.
    """
    tasks: list[_Task] = []
    for use in answer.scrap_uses:
        one = stock[use.scrap_id]
        kinds = [kind for need in needs if (kind := kind_on(need, one)) is not None]
        outline = _turned(scraps[use.scrap_id].outline, -_grain_deg(scraps[use.scrap_id]))
        tasks.append((outline, one.region, kinds, use.placements, step, answer.stopped))
    # The longest work first, so that all processes end at about the same time.
    order = sorted(range(len(tasks)), key=lambda k: -len(tasks[k][3]))
    done = dict(zip(order, map_all(_planned, [tasks[k] for k in order]), strict=True))
    planned = [done[k] for k in range(len(tasks))]
    uses = [
        replace(use, placements=one.placements)
        for use, one in zip(answer.scrap_uses, planned, strict=True)
    ]
    plans = {use.scrap_id: one for use, one in zip(uses, planned, strict=True)}
    return replace(answer, scrap_uses=tuple(uses)), plans


def _planned(task: _Task) -> PlannedCuts:
    outline, region, kinds, placements, step, quick = task
    return plan_cuts(outline, region, kinds, placements, step, quick=quick)


def cut_scraps(
    project: Project,
    answer: Answer,
    plans: Mapping[int, PlannedCuts],
    scraps: Mapping[int, Scrap],
    step: float,
) -> tuple[ScrapCut, ...]:
    """Return how each scrap is cut; labels run on from scrap to scrap."""
    letters = project.letters
    counts: Counter[str] = Counter()
    cuts = []
    for use in answer.scrap_uses:
        scrap = scraps[use.scrap_id]
        plan = _cutting_plan(scrap, plans[use.scrap_id], step)
        cutting = labelled(plan, letters, counts, project.labels)
        cuts.append(_cut(scrap, use.placements, cutting))
    return tuple(cuts)


def _cut(scrap: Scrap, placements: Sequence[Placement], cutting: CuttingPlan) -> ScrapCut:
    """Turn placements back from the grain frame into the scrap's own."""
    turn = _grain_deg(scrap)
    return ScrapCut(
        scrap=scrap,
        region=usable_region(
            scrap.outline, scrap.flaws, scrap.margin + scrap.uncertainty, scrap.old_edges
        ),
        placements=tuple(
            Placement(p.kind, _turned(p.outline, turn),
                      (p.rotation_deg + turn) % 360, p.mirrored)
            for p in placements
        ),
        grain_assumed=scrap.grain_deg is None,
        cutting=cutting,
    )  # fmt: skip


def _cutting_plan(scrap: Scrap, planned: PlannedCuts, step: float) -> CuttingPlan:
    """Return the cuts in the frame of the scrap's drawing, its pieces without labels.

    There the lengthwise grain lies level, the box round the outline begins at (0, 0), and, where
    either way round will do, the scrap looks as near as can be to how it was measured.
    """
    grain = _grain_deg(scrap)
    one_way = bool(scrap.fabric and scrap.fabric.one_way_print)
    turn = -grain if one_way else (-grain + 90) % 180 - 90
    outline = _turned(scrap.outline, turn)
    left, bottom, _, _ = outline.bounds
    # From the grain frame to that of the drawing: nothing, or half round.
    half = round((turn + grain) / 180) % 2 == 1

    def drawn(points: NDArray[np.float64]) -> NDArray[np.float64]:
        return np.round((-points if half else points) - (left, bottom), _FINE) + 0.0

    x, y = _turned(shapely.Point(left, bottom), -turn).coords[0]
    plan = CuttingPlan(
        frame=Frame((round(x, _FINE) + 0.0, round(y, _FINE) + 0.0), -turn % 360),
        outline=shapely.transform(outline, lambda at: np.round(at - (left, bottom), _FINE) + 0.0),
        cuts=tuple(
            replace(
                cut,
                line=_line(drawn(np.array(cut.line))),
                point=None if cut.point is None else _point(drawn(np.array(cut.point))),
            )
            for cut in planned.cuts
        ),
        pieces=tuple(
            CutPiece(
                "", placement.kind, shapely.transform(placement.outline, drawn), part, template
            )
            for placement, part, template in zip(
                planned.placements, planned.parts, planned.template, strict=True
            )
        ),
        step=step,
    )
    # What the verifier will not have is cut by template: that needs nothing but the outlines.
    return by_template(plan) if cut_faults(plan) else plan


def by_template(plan: CuttingPlan) -> CuttingPlan:
    """Return the plan with no cuts, every piece by template."""
    pieces = tuple(replace(piece, part=0, template=True) for piece in plan.pieces)
    return replace(plan, cuts=(), pieces=pieces)


def _line(ends: NDArray[np.float64]) -> Line:
    (ax, ay), (bx, by) = ends.tolist()
    return (ax, ay), (bx, by)


def _point(at: NDArray[np.float64]) -> tuple[float, float]:
    x, y = at.tolist()
    return x, y


def _grain_deg(scrap: Scrap) -> float:
    return scrap.grain_deg or 0.0


def _turned(shape: _Shape, turn_deg: float) -> _Shape:
    return affinity.rotate(shape, turn_deg, origin=(0, 0))

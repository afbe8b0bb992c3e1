"""Which templates a project needs: one for each shape that straight cuts at marks do not make."""

from collections.abc import Sequence
from typing import Final

from shapely import Polygon

from scrapstore.planning.result import MatchResult
from scrapstore.planning.strip_cuts import strip_cuttings
from scrapstore.projects import PieceNeed
from scrapstore.report.forms import PieceLine, Template
from scrapstore.shapes import GrainDirection, GrainEdge, GrainFree

__all__ = ["project_templates"]

_FULL: Final = 1 - 1e-6


def project_templates(result: MatchResult, lines: Sequence[PieceLine]) -> tuple[Template, ...]:
    """Return the templates, in the order of the piece list; `lines` are those of the list.

    A rectangle needs one only where the plan cuts it by template. Lines of one shape that lie on
    the cloth in the same way share one.
    """
    plans = [cut.cutting for cut in result.cuts]
    for role in strip_cuttings(result):
        plans += [one for way in (role.on_hand, role.bought) for strips in way for alike in strips
                  for one in alike]  # fmt: skip
    by_template = {piece.name for plan in plans for piece in plan.pieces if piece.template}
    shared: dict[object, list[tuple[PieceNeed, PieceLine]]] = {}
    for piece, line in zip(result.project.pieces, lines, strict=True):
        if piece.name in by_template or not _is_rectangle(piece.cut):
            key = (piece.cut.wkb, piece.shape.outline.wkb, piece.grain, piece.mirror)
            shared.setdefault(key, []).append((piece, line))
    return tuple(_template(alike) for alike in shared.values())


def _is_rectangle(outline: Polygon) -> bool:
    return outline.area >= _FULL * outline.minimum_rotated_rectangle.area


def _template(alike: Sequence[tuple[PieceNeed, PieceLine]]) -> Template:
    piece, line = alike[0]
    grain = piece.grain
    return Template(
        letters=tuple(one.letter for _, one in alike),
        names=tuple(one.name for _, one in alike),
        counts=tuple(one.wanted for _, one in alike),
        finishes_as=line.label,
        sizes=line.cut_size,
        cut=piece.cut,
        finished=piece.shape.outline,
        # Turned by the first of its rotations, the piece lies with the lengthwise grain at 0°.
        grain_deg=None if isinstance(grain, GrainFree) else -piece.rotations_deg[0],
        one_way=isinstance(grain, GrainDirection),
        both_ways=isinstance(grain, GrainEdge) and grain.direction == "either",
        handed=piece.handed,
    )

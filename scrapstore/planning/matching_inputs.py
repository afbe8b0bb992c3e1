"""What a project asks for, and ready-cut pieces as they are offered, in the words of matching."""

import math
from collections.abc import Iterator

from shapely import Polygon, box

from scrapstore.designs import Makes, least_square
from scrapstore.matching import Need, ReadyStock, RoleRule
from scrapstore.matching.ready import SIDE_INCHES
from scrapstore.projects import PieceNeed, Project
from scrapstore.shapes import GrainEdge, cut_shape
from scrapstore.store import ReadyCut

__all__ = ["piece_need", "ready_stock", "role_rule"]


def ready_stock(lot: ReadyCut) -> ReadyStock:
    """Return a lot of ready-cut pieces as it is offered."""
    fabric = lot.fabric
    family = lot.family or (fabric.family if fabric else None)
    return ReadyStock(
        id=lot.id,
        fabric=fabric.name if fabric else None,
        families=frozenset({family} if family else ()),
        value=lot.value or (fabric.value if fabric else None),
        fibre=fabric.fibre if fabric else None,
        outline=lot.cut,
        count=lot.count,
        sides_alike=bool(fabric and fabric.alike),
    )


def piece_need(piece: PieceNeed, seam_allowance: float) -> Need:
    """Return one line of the piece list as it is asked for."""
    # Where the grain is not known, a straight edge of the drawing is as good a guess as any, and
    # the sheet says so; a rule that parts lengthwise from crosswise cannot be kept by guessing.
    edged = isinstance(piece.grain, GrainEdge) and piece.grain.direction != "either"
    return Need(
        name=piece.name,
        role=piece.role,
        outline=piece.cut,
        wanted=piece.count,
        rotations_deg=piece.rotations_deg,
        mirror=piece.mirror,
        one_way=piece.one_way,
        needs_grain=piece.one_way or edged,
        sews_as=tuple(
            cut_shape(piece.shape, seam_allowance, tips) for tips in ("pointed", "trimmed")
        ),
        ready_as=tuple(_smaller_squares(piece.makes, piece.cut, seam_allowance)),
    )


def _smaller_squares(makes: Makes | None, cut: Polygon, seam: float) -> Iterator[Polygon]:
    """Yield squares that make the same units, from `cut` down to the least that will do.

    They are as far apart as lots may differ, and let none in that is smaller than the least.
    """
    if makes is None or not makes.parts:
        return
    kind, parts = ("quarter", 4) if makes.each == 4 else ("half", 2)
    finished = math.sqrt(parts * makes.parts[0].area)
    least = least_square(f"{kind}-square-triangle", makes.each, finished, seam) + SIDE_INCHES
    west, _, east, _ = cut.bounds
    side = east - west - SIDE_INCHES
    while side > least:
        yield box(0, 0, side, side)
        side -= SIDE_INCHES
    yield box(0, 0, least, least)


def role_rule(project: Project, name: str) -> RoleRule:
    """Return the conditions of one role."""
    role = project.roles[name]
    return RoleRule(
        name=name,
        families=frozenset(role.families),
        values=frozenset(role.values),
        fabrics=frozenset(role.fabrics),
        fibres=frozenset(role.fibres),
        scraps=frozenset(role.scraps),
        same_fabric_sets=role.same_fabric_sets,
        min_fabrics=role.min_fabrics,
        max_per_fabric=role.max_per_fabric,
    )

"""What a project file says of its finishing, and the pieces of the back, cut with all others."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from math import atan2, degrees, dist
from typing import Any, Final

from shapely import Polygon

from scrapstore.errors import ScrapstoreError, ShapeError
from scrapstore.finishing import (
    BackKind,
    BackWish,
    BindingWish,
    QuiltingWish,
    TopOutline,
    back_pieces,
    measured_outline,
    rectangle,
)
from scrapstore.near_words import did_you_mean
from scrapstore.projects.faults import Finding
from scrapstore.projects.forms import PieceNeed, Project, Role
from scrapstore.projects.schema import BackEntry, BindingEntry, QuiltingEntry
from scrapstore.shapes import GrainEdge, corners_of, cut_shape, make_shape

__all__ = ["back_role_findings", "back_role_of", "top_outline", "with_finishing"]

_BACK: Final = "back"
"""The role of the back where none is named; any cloth will do when the file has no such role."""
_BECOMES: Final[dict[BackKind, str]] = {
    "envelope": "half of the back, one long side hemmed",
    "zip": "half of the back, one long side sewn to the zip",
    "plain": "the back",
}
_STRAIGHT: Final = 1e-3
"""Degrees by which a corner may differ from 180 that is none."""


def back_role_of(data: Mapping[str, Any]) -> str | None:
    """Return the role that the back of a file has, None without a back."""
    back = data.get("back")
    return str(back.get("role", _BACK)) if isinstance(back, dict) else None


def back_role_findings(data: Mapping[str, Any], roles: Mapping[str, Any]) -> Iterator[Finding]:
    """Yield what is wrong with the role of the back."""
    name = back_role_of(data)
    if name is None:
        return
    role = roles.get(name)
    if role is None and name != _BACK:
        hint = did_you_mean(name, roles) if roles else "leave it out for any cloth"
        yield ("back", "role"), f"there is no [roles.{name}]; {hint}"
    if isinstance(role, dict) and role.get("same_fabric_sets") is not None:
        msg = "same_fabric_sets cannot hold for the single pieces of a back; give it its own role"
        yield ("back",), msg


def with_finishing(
    project: Project,
    quilting: QuiltingEntry | None,
    back: BackEntry | None,
    binding: BindingEntry | None,
) -> tuple[Project, list[Finding]]:
    """Return the project with what the file says of its finishing, its back among the pieces.

    The back is cut for the top before quilting draws it in: it is trimmed with the top.
    """
    project = replace(
        project,
        quilting=None if quilting is None else QuiltingWish(**quilting.model_dump()),
        back=None if back is None else BackWish(**back.model_dump()),
        binding=None if binding is None else BindingWish(**binding.model_dump()),
    )
    if project.back is None:
        return project, []
    try:
        top = top_outline(project)
        if top is None:
            msg = "the size of the top is not said; give [cushion] with its width and height"
            return project, [(("back",), msg)]
        width, height = top.moved(min(project.seam_allowance, project.cover_seam)).bounds
        pieces = [_piece(project, *piece) for piece in back_pieces(project.back, width, height)]
    except ScrapstoreError as error:
        return project, [(("back",), str(error).removeprefix("back: "))]
    taken = {piece.name for piece in project.pieces} & {piece.name for piece in pieces}
    if taken:
        msg = f"a piece is called {min(taken)!r} already; give that another name"
        return project, [(("back",), msg)]
    roles = {project.back.role: Role(project.back.role)} | dict(project.roles)
    return replace(project, pieces=(*project.pieces, *pieces), roles=roles), []


def _piece(project: Project, name: str, width: float, height: float) -> PieceNeed:
    assert project.back is not None
    allowance = project.seam_allowance
    shape = make_shape("rectangle", width=width - 2 * allowance, height=height - 2 * allowance)
    cut = cut_shape(shape, allowance, project.tips)
    return PieceNeed(
        name, shape, cut, 1, project.back.role, GrainEdge(), project.tips,
        becomes=_BECOMES[project.back.kind],
    )  # fmt: skip


def top_outline(project: Project) -> TopOutline | None:
    """Return the finished outline of the top, clockwise; None where the project does not say.

    Its first side is the uppermost one. Raises ShapeError for a top that is not convex.
    """
    if project.design is not None:
        return _clockwise(project.design.outline)
    return None if project.cushion is None else rectangle(*project.cushion)


def _clockwise(outline: Polygon) -> TopOutline:
    """Return a convex polygon by its sides and corners, seen from the front."""
    corners = _turning(corners_of(outline))
    if not outline.exterior.is_ccw:
        corners.reverse()
    corners.reverse()  # y points up
    count = len(corners)
    middles = [corners[at][1] + corners[(at + 1) % count][1] for at in range(count)]
    first = max(range(count), key=lambda at: (round(middles[at], 6), -corners[at][0]))
    corners = corners[first:] + corners[:first]
    sides = [dist(corners[at], corners[(at + 1) % count]) for at in range(count)]
    angles = [180 - _turn(corners, (at + 1) % count) for at in range(count)]
    if max(angles) >= 180:
        msg = "the top has corners that turn inward, and finishing is planned for others; give its"
        raise ShapeError(f"{msg} outline as it will be trimmed: finish --size or --sides")
    return measured_outline(sides, angles)


def _turning(corners: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return the corners at which the outline turns."""
    return [one for at, one in enumerate(corners) if abs(_turn(corners, at)) > _STRAIGHT]


def _turn(corners: list[tuple[float, float]], at: int) -> float:
    """Return by how many degrees an outline turns clockwise at a corner, y up."""
    (x0, y0), (x, y), (x1, y1) = (corners[(at + step) % len(corners)] for step in (-1, 0, 1))
    return (degrees(atan2(y - y0, x - x0) - atan2(y1 - y, x1 - x)) + 180) % 360 - 180

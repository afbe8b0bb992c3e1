"""A `Project` as the text of a project file."""

from collections.abc import Iterable
from fractions import Fraction

from scrapstore.projects.forms import PieceNeed, Project, Role
from scrapstore.projects.schema import FORMAT
from scrapstore.shapes import (
    KINDS,
    Grain,
    GrainDirection,
    GrainEdge,
    GrainFree,
    Shape,
    ShapeKind,
    corners_of,
    make_shape,
)

__all__ = ["project_to_toml"]


def project_to_toml(project: Project) -> str:
    """Return the text of a project file that reads back as `project`.

    Sizes and corners come back as they were; a shape that was turned or moved after it was made
    comes back as it is drawn.
    """
    import tomlkit

    document = tomlkit.document()
    document["format"] = FORMAT
    document["name"] = project.name
    if project.notes:
        document["notes"] = project.notes
    document["seam_allowance"] = _length(project.seam_allowance)
    document["usable_width"] = _length(project.usable_width)
    document["tips"] = project.tips
    if project.cushion is not None:
        width, height = project.cushion
        document["cushion"] = {"width": _length(width), "height": _length(height)}
    document["roles"] = {name: _role(role) for name, role in project.roles.items()}
    pieces = tomlkit.aot()
    for piece in project.pieces:
        table = tomlkit.table()
        for key, value in _piece(piece, project):
            table[key] = value
        pieces.append(table)
    document["pieces"] = pieces
    return tomlkit.dumps(document)


def _role(role: Role) -> dict[str, object]:
    written = {
        "families": list(role.families),
        "values": list(role.values),
        "fabrics": list(role.fabrics),
        "same_fabric_sets": role.same_fabric_sets,
        "min_fabrics": role.min_fabrics,
        "max_per_fabric": role.max_per_fabric,
    }
    return {key: value for key, value in written.items() if value}


def _piece(piece: PieceNeed, project: Project) -> Iterable[tuple[str, object]]:
    kind = KINDS[piece.shape.kind]
    yield "name", piece.name
    yield "shape", kind.title
    if kind.by_corners:
        yield "corners", [[_length(x), _length(y)] for x, y in corners_of(piece.shape.outline)]
    else:
        for name in _given_by(kind, piece.shape):
            yield name, _length(piece.shape.measures[name])
    yield "count", piece.count
    yield "role", piece.role
    if piece.tips != project.tips:
        yield "tips", piece.tips
    if piece.grain != GrainEdge():
        yield "grain", _grain(piece.grain)
    if piece.mirror:
        yield "mirror", True


def _given_by(kind: ShapeKind, shape: Shape) -> tuple[str, ...]:
    """Return a set of sizes that makes the shape again, to the last bit where there is one."""
    known = [names for names in kind.takes if set(names) <= set(shape.measures)]
    made = {
        names: make_shape(kind.name, **{name: shape.measures[name] for name in names}).outline
        for names in known
    }
    return min(known, key=lambda names: made[names].hausdorff_distance(shape.outline))


def _grain(rule: Grain) -> dict[str, object]:
    match rule:
        case GrainEdge(edges=None, direction=direction):
            return {"along": direction}
        case GrainEdge(edges=edges, direction=direction):
            return {"edges": [edge + 1 for edge in edges or ()], "along": direction}
        case GrainDirection(deg=deg):
            return {"one_way_deg": float(deg)}
        case GrainFree(step_deg=step):
            return {"free_every_deg": float(step)}


def _length(inches: float) -> str:
    """Return inches as a ruler's fraction where it is one, else with all its digits."""
    exact = Fraction(inches)
    if exact.denominator > 64 or exact.denominator == 1:
        return f"{inches!r}" if exact.denominator > 64 else str(exact.numerator)
    whole, part = divmod(abs(exact), 1)
    sign = "-" if exact < 0 else ""
    return f"{sign}{whole} {part}" if whole else f"{sign}{part}"

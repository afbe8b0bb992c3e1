"""From one entry of the project file to the piece itself, and the rules between entries."""

from collections.abc import Callable, Iterable, Mapping
from typing import Any

from pydantic import ValidationError

from scrapstore.designs import Makes
from scrapstore.errors import LengthError, ScrapstoreError, ShapeError
from scrapstore.near_words import did_you_mean
from scrapstore.projects.faults import Finding, listed
from scrapstore.projects.finishing import back_role_findings, back_role_of
from scrapstore.projects.forms import PieceNeed
from scrapstore.projects.schema import (
    COLOUR_FAMILIES,
    RIGHT,
    GrainEntry,
    PieceEntry,
    measure_names,
)
from scrapstore.shapes import (
    Grain,
    GrainDirection,
    GrainEdge,
    GrainFree,
    Shape,
    ShapeKind,
    Tips,
    corners_of,
    cut_shape,
    make_polygon,
    make_shape,
    shape_kind,
)
from scrapstore.units import read_length

__all__ = ["FamilyOf", "build_piece", "plain_family", "role_findings"]

FamilyOf = Callable[[str], str]
"""Gives the colour family that a word names; raises ScrapstoreError with what would be right."""


def plain_family(word: str) -> str:
    """Return `word` where it is one of the eleven families; the caller may know more words."""
    if word in COLOUR_FAMILIES:
        return word
    raise ScrapstoreError(f"{word!r} is no colour word; {did_you_mean(word, COLOUR_FAMILIES)}")


def build_piece(
    raw: Mapping[str, Any], entry: PieceEntry | None, unit: str, seam_allowance: float, tips: Tips
) -> tuple[PieceNeed | None, list[Finding]]:
    """Return the piece, or None with what the schema cannot see; keys count from its own table.

    `raw` is the table as it stands in the file, `entry` the same once it fits the schema, else
    None: what is in order is looked at even where something else is not.
    """
    written = raw.get("shape")
    if not isinstance(written, str) or not written:
        return None, []
    try:
        kind = shape_kind(written)
    except ShapeError as error:
        return None, [(("shape",), str(error))]
    findings = list(_key_findings(raw, kind))
    sizes, found = _sizes(raw, kind, unit)
    findings += found
    shape, found = _shape(raw, kind, unit, sizes) if not findings else (None, [])
    findings += found
    cut = None
    if shape is not None:
        try:
            cut = cut_shape(shape, seam_allowance, tips)
        except ShapeError as error:
            findings.append((("corners",) if kind.by_corners else ("shape",), str(error)))
    grain = _grain(raw.get("grain", "straight"), shape or _example(kind))
    if isinstance(grain, str):
        findings.append((("grain",), f"{grain}; give {RIGHT['grain']}"))
    if findings or entry is None or shape is None or cut is None or not isinstance(grain, Grain):
        return None, findings
    need = PieceNeed(
        entry.name, shape, cut, entry.count, entry.role, grain, tips, mirror=entry.mirror,
        makes=Makes(entry.makes.piece, entry.makes.each) if entry.makes else None,
    )  # fmt: skip
    return need, []


def _extra(raw: Mapping[str, Any]) -> list[str]:
    """Return the keys that are a size, or a slip."""
    return [key for key in raw if key not in PieceEntry.model_fields]


def _key_findings(raw: Mapping[str, Any], kind: ShapeKind) -> Iterable[Finding]:
    """Yield keys that this shape does not take, and sizes that it lacks."""
    extra, takes = _extra(raw), _takes(kind)
    for name in extra:
        if name in kind.meanings:
            continue
        if name in measure_names():
            yield (name,), f"a {kind.title} has no {name}; it takes {takes}"
            continue
        known = [*PieceEntry.model_fields, *kind.meanings]
        yield (name,), f"no such key; {did_you_mean(name, known)}"
    if kind.by_corners and "corners" not in raw:
        yield ("corners",), f"missing; give {RIGHT['corners']}"
    if not kind.by_corners and "corners" in raw:
        yield ("corners",), f'a {kind.title} takes {takes}; corners belong to shape = "polygon"'
    given = set(extra) & set(kind.meanings)
    if kind.takes and given not in [set(names) for names in kind.takes]:
        arrived = " and ".join(sorted(given)) or "no size"
        if given or not extra:  # a misspelt size is reported once
            yield ("shape",), f"{arrived} given for a {kind.title}; it takes {takes}"


def _takes(kind: ShapeKind) -> str:
    if kind.by_corners:
        return "corners"
    return ", or ".join(" and ".join(names) for names in kind.takes)


def _sizes(
    raw: Mapping[str, Any], kind: ShapeKind, unit: str
) -> tuple[dict[str, float], list[Finding]]:
    sizes: dict[str, float] = {}
    findings: list[Finding] = []
    for name in kind.meanings:
        if name in raw:
            try:
                sizes[name] = read_length(raw[name], default_unit=unit)
            except LengthError as error:
                findings.append(((name,), str(error)))
    return sizes, findings


def _shape(
    raw: Mapping[str, Any], kind: ShapeKind, unit: str, sizes: Mapping[str, float]
) -> tuple[Shape | None, list[Finding]]:
    findings: list[Finding] = []
    try:
        if kind.by_corners:
            return _polygon(raw["corners"], unit, findings), findings
        return make_shape(kind.name, **sizes), []
    except ShapeError as error:
        return None, [(("corners",) if kind.by_corners else ("shape",), str(error))]


def _example(kind: ShapeKind) -> Shape | None:
    """Return some shape of the kind, which has as many edges as any other."""
    return None if kind.by_corners else make_shape(kind.name, **kind.example)


def _polygon(corners: Any, unit: str, findings: list[Finding]) -> Shape | None:
    """Return the polygon; None where a corner is no pair, which the schema reports."""
    if not isinstance(corners, list):
        return None
    points = []
    for i, corner in enumerate(corners):
        if not isinstance(corner, list) or len(corner) != 2:
            return None
        try:
            x, y = (read_length(one, default_unit=unit, signed=True) for one in corner)
            points.append((x, y))
        except LengthError as error:
            findings.append((("corners", i), str(error)))
    return None if findings else make_polygon(points)


def _grain(written: Any, shape: Shape | None) -> Grain | str | None:
    """Return the rule, or what is wrong with it; None where the schema reports that already."""
    words: dict[str, Grain] = {
        "straight": GrainEdge(),
        "lengthwise": GrainEdge(None, "lengthwise"),
        "crosswise": GrainEdge(None, "crosswise"),
        "free": GrainFree(),
        "one-way": GrainDirection(90.0),
    }
    if isinstance(written, str):
        return words.get(written)
    try:
        entry = GrainEntry.model_validate(written)
    except ValidationError:
        return None
    ways = (entry.edges, entry.one_way_deg, entry.free_every_deg)
    if sum(way is not None for way in ways) > 1:
        return "edges, one_way_deg and free_every_deg exclude one another"
    if entry.one_way_deg is not None:
        return GrainDirection(entry.one_way_deg)
    if entry.free_every_deg is not None:
        return GrainFree(entry.free_every_deg)
    if entry.edges is None:
        return GrainEdge(None, entry.along)
    count = len(corners_of(shape.outline)) if shape is not None else max(entry.edges)
    if max(entry.edges) > count:
        return f"there is no edge {max(entry.edges)}; the shape has edges 1 to {count}"
    return GrainEdge(tuple(edge - 1 for edge in entry.edges), entry.along)


def role_findings(data: Mapping[str, Any], family_of: FamilyOf) -> list[Finding]:
    """Find what is wrong between pieces and roles; looks only at entries of the right form."""
    roles = data.get("roles")
    roles = roles if isinstance(roles, dict) else {}
    written = data.get("pieces")
    pieces = [
        (i, piece)
        for i, piece in enumerate(written if isinstance(written, list) else [])
        if isinstance(piece, dict)
    ]
    findings: list[Finding] = []
    names: dict[str, int] = {}
    for i, piece in pieces:
        role, name = piece.get("role"), piece.get("name")
        if isinstance(role, str) and role and role not in roles:
            hint = did_you_mean(role, list(roles)) if roles else RIGHT["roles"]
            findings.append((("pieces", i, "role"), f"there is no [roles.{role}]; {hint}"))
        if isinstance(name, str) and names.setdefault(name, i) != i:
            message = f"piece {names[name] + 1} has the same name; give each its own"
            findings.append((("pieces", i, "name"), message))
    findings += back_role_findings(data, roles)
    for name, role in roles.items():
        if isinstance(role, dict):
            mine = [(i, piece) for i, piece in pieces if piece.get("role") == name]
            if not mine and name != back_role_of(data):
                message = "no piece has this role; give it to a piece, or take the role out"
                findings.append((("roles", name), message))
            findings += _conditions(name, role, mine, family_of)
    return findings


def _conditions(
    name: str,
    role: Mapping[str, Any],
    pieces: list[tuple[int, dict[str, Any]]],
    family_of: FamilyOf,
) -> Iterable[Finding]:
    """Yield the conditions of one role that no cloth could keep, and words that are no colour."""
    here = ("roles", name)
    wanted = role.get("families")
    for i, family in enumerate(wanted if isinstance(wanted, list) else []):
        if isinstance(family, str):
            try:
                family_of(family)
            except ScrapstoreError as error:
                yield (*here, "families", i), str(error)
    if not pieces:
        return
    counts = {i: piece.get("count") for i, piece in pieces}
    whole = {i: count for i, count in counts.items() if type(count) is int and count > 0}
    sets = _number(role, "same_fabric_sets")
    for i, count in whole.items():
        if sets and count % sets:
            message = f"{count} pieces cannot come in sets of {sets} from one fabric; change either"
            yield ("pieces", i, "count"), f"{message} (same_fabric_sets of role {name!r})"
    least, most = _number(role, "min_fabrics"), _number(role, "max_per_fabric")
    total = sum(whole.values())
    if least and len(whole) == len(pieces) and least > total // (sets or 1):
        message = f"{total} pieces cannot be from {least} different fabrics; give a smaller number"
        yield (*here, "min_fabrics"), message
    fabrics = role.get("fabrics")
    if isinstance(fabrics, list) and fabrics and least and least > len(fabrics):
        message = f"{least} fabrics wanted, but only {listed(list(map(str, fabrics)))} may be used"
        yield (*here, "min_fabrics"), f"{message}; name more, or want fewer"
    if sets and most and most < sets:
        message = f"{most} is less than one set of {sets} (same_fabric_sets); give at least {sets}"
        yield (*here, "max_per_fabric"), message


def _number(role: Mapping[str, Any], key: str) -> int | None:
    value = role.get(key)
    return value if type(value) is int and value > 0 else None

"""From the text of a project file to a `Project`, or to every fault in it."""

from collections.abc import Collection, Iterable, Mapping
from pathlib import Path
from typing import Any, Final

from pydantic import ValidationError

from scrapstore.errors import ProjectError, UsageError
from scrapstore.near_words import did_you_mean
from scrapstore.projects.building import FamilyOf, build_piece, plain_family, role_findings
from scrapstore.projects.faults import Fault, Finding, place, report
from scrapstore.projects.finishing import with_finishing
from scrapstore.projects.forms import PieceNeed, Project, Role
from scrapstore.projects.lattice import with_lattice_pieces
from scrapstore.projects.lines import Key, key_lines, line_of
from scrapstore.projects.placing import placed_design
from scrapstore.projects.schema import (
    FORMAT,
    MOST_PIECES,
    RIGHT,
    BackEntry,
    BindingEntry,
    DesignEntry,
    GrainEntry,
    LatticeEntry,
    MakesEntry,
    PieceEntry,
    ProjectEntry,
    QuiltingEntry,
    RoleEntry,
)
from scrapstore.shapes import Tips
from scrapstore.toml_files import (
    NotTomlError,
    UnreadableFileError,
    parsed_toml,
    shown_value,
    toml_text,
)

__all__ = ["load_project", "read_project"]


def load_project(
    path: Path,
    *,
    seam_allowance: float = 0.25,
    usable_width: float = 40.0,
    family_of: FamilyOf = plain_family,
) -> Project:
    """Return the project in the file `path`.

    `seam_allowance` and `usable_width` (inches) hold where the file gives none; `family_of`
    gives the colour family that a word names, or raises ScrapstoreError. Raises ProjectError
    listing every fault with its line, or saying why the file cannot be read.
    """
    text = _text(path)
    return read_project(
        text,
        file=str(path),
        seam_allowance=seam_allowance,
        usable_width=usable_width,
        family_of=family_of,
    )


def read_project(
    text: str,
    *,
    file: str = "project",
    seam_allowance: float = 0.25,
    usable_width: float = 40.0,
    family_of: FamilyOf = plain_family,
) -> Project:
    """Return the project that `text` describes; as `load_project`, with `file` for the messages."""
    project = _read(text, seam_allowance, usable_width, family_of)
    if isinstance(project, Project):
        return project
    raise ProjectError(report(file, project))


def _text(path: Path) -> str:
    try:
        return toml_text(path)
    except FileNotFoundError:
        raise ProjectError(f"{path}: there is no such file; check its name") from None
    except UnreadableFileError as error:
        raise ProjectError(f"{path}: {error}") from None


def _read(
    text: str, seam_allowance: float, usable_width: float, family_of: FamilyOf
) -> Project | tuple[Fault, ...]:
    try:
        data = parsed_toml(text)
    except NotTomlError as error:
        return (Fault(error.line, "", str(error)),)
    try:
        data = with_lattice_pieces(data, _unit(data))
    except UsageError as error:
        return _faults(text, data, [(("lattice",), str(error))])
    entry, findings = _validated(data)
    if lattice := [one for one in findings if one[0][:1] == ("lattice",)]:
        return _faults(text, data, lattice)  # all pieces follow from it
    pieces, found = _pieces(data, entry, seam_allowance, family_of)
    findings += found
    count = sum(piece.count for piece in pieces)
    if count > MOST_PIECES:
        msg = f"{count:,} pieces in all are too many; a project may have {MOST_PIECES:,}"
        findings.append((("pieces",), msg))
    design = None
    if entry is not None and not findings:
        design, pieces, findings = placed_design(entry, pieces)
    if entry is None or findings:
        return _faults(text, data, findings)
    roles = {name: _role(name, role, family_of) for name, role in entry.roles.items()}
    project = Project(
        name=entry.name,
        seam_allowance=_or(entry.seam_allowance, seam_allowance),
        tips=entry.tips,
        usable_width=_or(entry.usable_width, usable_width),
        pieces=tuple(pieces),
        roles=roles,
        cushion=(entry.cushion.width, entry.cushion.height) if entry.cushion else None,
        notes=entry.notes,
        design=design,
        arranged=frozenset(entry.arrangement),
    )
    project, findings = with_finishing(project, entry.quilting, entry.back, entry.binding)
    return _faults(text, data, findings) if findings else project


def _or(given: float | None, otherwise: float) -> float:
    return otherwise if given is None else given


def _validated(data: dict[str, Any]) -> tuple[ProjectEntry | None, list[Finding]]:
    """Return the entry, and what the schema finds wrong."""
    try:
        return ProjectEntry.model_validate(data, context={"unit": _unit(data)}), []
    except ValidationError as error:
        return None, list(_schema_findings(error, data))


def _unit(data: Mapping[str, Any]) -> str:
    return "cm" if data.get("units") == "cm" else "in"


def _schema_findings(error: ValidationError, data: dict[str, Any]) -> Iterable[Finding]:
    """Turn the schema's errors into sentences; one for each key."""
    seen: set[Key] = set()
    for found in error.errors(include_url=False, include_context=True):
        # Where one of several forms was allowed, the location also names the form tried.
        key = _in_data(found["loc"], data)
        if found["type"] == "missing":
            key = (*key, found["loc"][-1])
        arrived = _arrived(key, data)
        table_for_word = key[-1:] == ("grain",) and isinstance(arrived, dict)
        if key in seen or (table_for_word and found["type"] == "literal_error"):
            continue  # reported already, or by what is wrong inside the table
        seen.add(key)
        yield key, _sentence(found["type"], found["msg"], key, arrived)


def _in_data(loc: tuple[str | int, ...], data: Any) -> Key:
    """Return the part of a location that is really in the file."""
    key: Key = ()
    for part in loc:
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            continue
        key += (part,)
    return key


def _arrived(key: Key, data: Any) -> Any:
    for part in key:
        try:
            data = data[part]
        except (KeyError, IndexError, TypeError):
            return None
    return data


_KNOWN_KEYS: Final[Mapping[str, Collection[str]]] = {
    "top": tuple(ProjectEntry.model_fields),
    "roles": tuple(RoleEntry.model_fields),
    "pieces": tuple(PieceEntry.model_fields),
    "grain": tuple(GrainEntry.model_fields),
    "cushion": ("width", "height"),
    "lattice": tuple(LatticeEntry.model_fields),
    "makes": tuple(MakesEntry.model_fields),
    "design": tuple(DesignEntry.model_fields),
    "quilting": tuple(QuiltingEntry.model_fields),
    "back": tuple(BackEntry.model_fields),
    "binding": tuple(BindingEntry.model_fields),
}


def _sentence(kind: str, message: str, key: Key, arrived: Any) -> str:
    """Say what arrived and what would be right."""
    names = [part for part in key if isinstance(part, str)]
    last = names[-1] if names else ""
    right = RIGHT.get(last, "something else")
    if kind == "missing":
        return f"missing; give {right}"
    if kind == "extra_forbidden":
        table = next((one for one in ("grain", "makes") if one in names[:-1]), names[0])
        table = "top" if len(key) == 1 else table
        return f"no such key; {did_you_mean(last, _KNOWN_KEYS[table])}"
    if kind == "length":
        return message
    if len(key) == 2 and key[0] == "roles":
        right = f'a table, [roles.{last}], with families = ["blue"] or the like under it'
    if last == "format" and isinstance(arrived, int) and arrived > FORMAT:
        return f"{arrived} is newer than this program, which reads {FORMAT}; update scrapstore"
    if kind == "literal_error" and isinstance(arrived, str):
        return f"{arrived!r} will not do; give {right}"
    return f"{shown_value(arrived)} will not do; give {right}"


def _pieces(
    data: dict[str, Any],
    entry: ProjectEntry | None,
    seam_allowance: float,
    family_of: FamilyOf,
) -> tuple[list[PieceNeed], list[Finding]]:
    """Build every piece that can be built, and find what the schema cannot see."""
    unit, findings = _unit(data), role_findings(data, family_of)
    if entry is not None:
        seam_allowance = _or(entry.seam_allowance, seam_allowance)
    common: Tips = "trimmed" if data.get("tips") == "trimmed" else "pointed"
    built = []
    written = data.get("pieces")
    for i, raw in enumerate(written if isinstance(written, list) else []):
        if not isinstance(raw, dict):
            continue
        try:
            piece = PieceEntry.model_validate(raw, context={"unit": unit})
        except ValidationError:
            piece = None  # the schema reports why
        tips = piece.tips if piece is not None and piece.tips is not None else common
        need, wrong = build_piece(raw, piece, unit, seam_allowance, tips)
        findings += [(("pieces", i, *key), text) for key, text in wrong]
        if need is not None:
            built.append(need)
    return built, findings


def _role(name: str, entry: RoleEntry, family_of: FamilyOf) -> Role:
    return Role(
        name=name,
        families=tuple(dict.fromkeys(family_of(word) for word in entry.families)),
        values=tuple(entry.values),
        fabrics=tuple(entry.fabrics),
        fibres=tuple(entry.fibres),
        scraps=tuple(dict.fromkeys(entry.scraps)),
        same_fabric_sets=entry.same_fabric_sets,
        min_fabrics=entry.min_fabrics,
        max_per_fabric=entry.max_per_fabric,
        fill=entry.fill,
    )


def _faults(text: str, data: dict[str, Any], findings: Iterable[Finding]) -> tuple[Fault, ...]:
    lines = key_lines(text)
    written = data.get("pieces")
    names = {
        i: piece["name"]
        for i, piece in enumerate(written if isinstance(written, list) else [])
        if isinstance(piece, dict) and isinstance(piece.get("name"), str)
    }
    faults = {Fault(line_of(key, lines), place(key, names), message) for key, message in findings}
    return tuple(sorted(faults, key=lambda fault: (fault.line, fault.key, fault.text)))

"""An arranged project as a file: a role for each cloth, and the positions of its pieces."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from scrapstore.projects.forms import PieceNeed, Project, Role
from scrapstore.projects.lattice import with_lattice_pieces
from scrapstore.shapes import KINDS

__all__ = ["ArrangedCloth", "arranged_text"]

_CONDITIONS: Final = ("families", "values", "fibres")
"""Conditions that each piece keeps by itself; those on a whole role are kept by the arrangement."""


@dataclass(frozen=True, slots=True)
class ArrangedCloth:
    """One cloth of an arrangement: a fabric, or else scraps by number, and where it lies."""

    name: str
    fabric: str | None
    scraps: tuple[int, ...]
    positions: tuple[str, ...]


def arranged_text(text: str, project: Project, cloths: Sequence[ArrangedCloth], name: str) -> str:
    """Return the project file `text` of `project` with these cloths in their places.

    `name` is the new project's. Roles of which every piece is arranged give way to a role for each
    cloth, which keeps their conditions on it, and their lines to a line for each shape and cloth.
    Whatever stands above the roles stays as it is written.
    """
    import tomlkit

    assert project.design is not None
    placed = {piece.position: piece for piece in project.design.pieces}
    needs = {need.name: need for need in project.pieces}
    document = tomlkit.parse(text)
    plain = document.unwrap()
    listed = with_lattice_pieces(plain, "cm" if plain.get("units") == "cm" else "in")["pieces"]
    raw: Mapping[str, Any] = {one["name"]: one for one in listed}
    gone = {placed[position].piece for cloth in cloths for position in cloth.positions}
    # The pieces of a back are among those of the project and not in this list.
    staying = [need for need in project.pieces if need.name not in gone]
    gone_roles = {needs[line].role for line in gone} - {need.role for need in staying}
    roles = {name: one for name, one in document["roles"].items() if name not in gone_roles}
    lines: list[dict[str, Any]] = []
    where: dict[str, list[str]] = {}
    taken = {need.name for need in staying}
    for cloth in cloths:
        by_piece: dict[tuple[Any, ...], list[str]] = {}
        for position in cloth.positions:
            need = needs[placed[position].piece]
            by_piece.setdefault(_alike(need, project.roles[need.role]), []).append(position)
        own_roles: dict[tuple[Any, ...], str] = {}
        for positions in by_piece.values():
            need = needs[placed[positions[0]].piece]
            conditions = _conditions(project.roles[need.role])
            key = tuple(sorted(conditions.items()))
            if key not in own_roles:
                own_roles[key] = _unlike(cloth.name, roles)
                roles[own_roles[key]] = _role(tomlkit.table(), cloth, conditions)
            title = _unlike(f"{cloth.name} {_short(need)}", taken)
            taken.add(title)
            line = dict(raw[need.name])
            line |= {"name": title, "count": len(positions), "role": own_roles[key]}
            lines.append(line)
            where[title] = positions
    document["name"] = name
    document["roles"] = roles
    pieces = tomlkit.aot()
    for line in [*lines, *(dict(raw[need.name]) for need in staying if need.name in raw)]:
        pieces.append(tomlkit.item(line))
    pieces[-1].add(tomlkit.nl())
    document["pieces"] = pieces
    before: Mapping[str, Any] = document.get("arrangement", {})
    kept = {line: list(spots) for line, spots in before.items() if line not in gone}
    document.pop("arrangement", None)
    document["arrangement"] = kept | where
    return tomlkit.dumps(document)


def _alike(need: PieceNeed, role: Role) -> tuple[Any, ...]:
    """Return what two pieces of one cloth have in common where they make one line."""
    return (
        need.shape.kind, need.cut.wkb, need.grain, need.tips, need.mirror,
        tuple(sorted(_conditions(role).items())),
    )  # fmt: skip


def _conditions(role: Role) -> dict[str, tuple[str, ...]]:
    return {key: value for key in _CONDITIONS if (value := getattr(role, key))}


def _role(table: Any, cloth: ArrangedCloth, conditions: Mapping[str, Sequence[str]]) -> Any:
    if cloth.fabric is not None:
        table["fabrics"] = [cloth.fabric]
    else:
        table["scraps"] = list(cloth.scraps)
    for key, words in conditions.items():
        table[key] = list(words)
    return table


def _short(need: PieceNeed) -> str:
    """Return what a piece is called after its cloth: its shape, or its name where it has none."""
    kind = KINDS[need.shape.kind]
    return need.name if kind.by_corners else kind.title


def _unlike(name: str, taken: Any) -> str:
    """Return the name, with a number after it where something has it already."""
    number, own = 2, name
    while own in taken:
        own, number = f"{name} ({number})", number + 1
    return own

"""Every piece in its place: the design that a project file names, checked by its piece list."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from scrapstore.designs import (
    Design,
    DesignPiece,
    Makes,
    least_square,
    make_design,
    square_parts,
    squares_needed,
)
from scrapstore.errors import UsageError
from scrapstore.near_words import did_you_mean
from scrapstore.projects.faults import Finding
from scrapstore.projects.forms import PieceNeed
from scrapstore.projects.lattice import lattice_design
from scrapstore.projects.schema import ProjectEntry
from scrapstore.shapes import same_outline

__all__ = ["placed_design"]

_SLACK: Final = 1e-3
"""Inches, and radians: beyond this an outline was changed, not rounded."""
_WAY_OUT: Final = "put it back, or take [design] out of the file"
_Placed = tuple[Design | None, list[PieceNeed], list[Finding]]


def placed_design(entry: ProjectEntry, pieces: Sequence[PieceNeed]) -> _Placed:
    """Return the design whose pieces name lines of `pieces`, and the pieces.

    Those that make others know then where those lie in them. No design where the file has none, or
    where something does not agree: the findings say what.
    """
    if entry.design is not None and entry.lattice is not None:
        return (
            None,
            [*pieces],
            [(("lattice",), "there is a [design] already; take one of them out")],
        )
    if entry.design is None and entry.lattice is None:
        said = "there is no [design] whose {} it could name"
        findings: list[Finding] = []
        if entry.arrangement:
            findings.append((("arrangement",), said.format("positions")))
        makers = (i for i, need in enumerate(pieces) if need.makes)
        findings += [(("pieces", i, "makes"), said.format("pieces")) for i in makers]
        return None, [*pieces], findings
    table = "design" if entry.lattice is None else "lattice"
    try:
        design = _made(entry)
    except UsageError as error:
        return None, [*pieces], [((table,), str(error).removeprefix("design: "))]
    lines, findings = _arranged(design, entry.arrangement, pieces)
    if not findings:
        findings = [*_disagreements(design, lines, pieces)]
    if findings:
        return None, [*pieces], findings
    own = {line.name: line for line in design.lines}
    known = [replace(need, makes=_with_parts(need, own)) if need.makes else need for need in pieces]
    return _with_lines(design, lines, known), known, []


def _made(project: ProjectEntry) -> Design:
    if project.lattice is not None:
        return lattice_design(project.lattice)
    entry = project.design
    assert entry is not None
    # A seam and a ruler count only where the piece follows from the size; here it is given.
    parameters = entry.model_dump(exclude={"name", "wanted"}, exclude_none=True)
    design = make_design(entry.name, seam=0.0, mark=0.125, **parameters)
    shrinkage = project.quilting.shrinkage if project.quilting is not None else None
    return replace(design, wanted=entry.wanted, shrinkage=shrinkage or 0.0)


def _arranged(
    design: Design, arrangement: Mapping[str, Sequence[str]], pieces: Sequence[PieceNeed]
) -> tuple[dict[str, str], list[Finding]]:
    """Return the line of the piece list of every position, and what is wrong with the table."""
    made_by = {need.makes.piece: need.name for need in reversed(pieces) if need.makes}
    made_by |= {need.name: need.name for need in pieces}
    lines = {one.position: made_by.get(one.piece, one.piece) for one in design.pieces}
    findings: list[Finding] = []
    seen: dict[str, str] = {}
    for name, positions in arrangement.items():
        for i, position in enumerate(positions):
            key = ("arrangement", name, i)
            if position not in lines:
                hint = did_you_mean(position, list(lines), listed=[*lines][:3])
                findings.append((key, f"the design has no position {position!r}; {hint}"))
            elif position in seen:
                findings.append((key, f"{position!r} stands at {seen[position]!r} already"))
            else:
                seen[position] = name
    return lines | seen, findings


def _disagreements(
    design: Design, lines: Mapping[str, str], pieces: Sequence[PieceNeed]
) -> Iterator[Finding]:
    """Yield where the piece list is not that of the design."""
    own = {line.name: line for line in design.lines}
    at = {need.name: i for i, need in enumerate(pieces)}
    used = {(piece.piece, lines[piece.position]) for piece in design.pieces}
    for line, name in sorted(used):
        if name not in at:
            count = sum(one == name for one in lines.values())
            key = ("arrangement", name) if name != line else ("design",)
            msg = f"{count} of its pieces are called {name!r}, and the piece list has none of that"
            yield key, f"{msg} name; {_WAY_OUT}"
            continue
        need = pieces[at[name]]
        if need.makes is not None:
            for (own_key,), text in _made_of(need, own[line]):
                yield ("pieces", at[name], own_key), text
        elif not same_outline(need.shape, own[line].shape, slack=_SLACK):
            msg = f"the design has {own[line].shape.label} here, not {need.shape.label}"
            yield ("pieces", at[name], "shape"), f"{msg}; {_WAY_OUT}"
    for name, count in Counter(lines.values()).items():
        if name in at:
            need, what = pieces[at[name]], "it"
            if need.makes is not None:
                count, what = squares_needed(design, lines, name, need.makes.each), "these squares"
            if need.count != count:
                msg = f"the design has {count} of {what}, not {need.count}"
                yield ("pieces", at[name], "count"), f"{msg}; {_WAY_OUT}"


def _made_of(need: PieceNeed, line: DesignPiece) -> Iterator[tuple[tuple[str], str]]:
    """Yield why `line` cannot be made of the squares of `need`."""
    assert need.makes is not None
    each = need.makes.each
    if need.makes.piece != line.name:
        yield ("makes",), f"it lies where the design has {line.name!r}; name that"
        return
    known = {"half-square-triangle": (2, 8), "quarter-square-triangle": (4,)}
    if each not in known.get(line.shape.kind, ()) or need.shape.kind != "square":
        msg = f"a {need.shape.kind} gives no {each} of {line.shape.label}"
        yield ("makes",), f"{msg}; squares give 2 or 8 half-square, or 4 quarter-square triangles"
        return
    seam = _seam(need)
    cut = need.shape.measures["side"] + 2 * seam
    (finished,) = line.sizes.values()
    least = least_square(line.shape.kind, each, finished, seam)
    if cut < least - _SLACK:
        msg = f"squares cut {cut:.4g} in are too small; {each} of {line.shape.label} take"
        yield ("side",), f"{msg} {least:.4f} in at the least"


def _seam(square: PieceNeed) -> float:
    west, _, east, _ = square.cut.bounds
    return (east - west - square.shape.measures["side"]) / 2


def _with_parts(need: PieceNeed, own: Mapping[str, DesignPiece]) -> Makes:
    assert need.makes is not None
    line = own.get(need.makes.piece)
    if line is None or line.shape.kind not in ("half-square-triangle", "quarter-square-triangle"):
        return need.makes
    (finished,) = line.sizes.values()
    side = need.shape.measures["side"]
    parts = square_parts(line.shape.kind, need.makes.each, finished, side, _seam(need))
    return replace(need.makes, parts=parts)


def _with_lines(design: Design, lines: Mapping[str, str], pieces: Sequence[PieceNeed]) -> Design:
    """Return the design with the lines and roles of the piece list in place of its own."""
    own = {line.name: line for line in design.lines}
    was = {lines[piece.position]: own[piece.piece] for piece in design.pieces}
    counts = Counter(lines.values())
    needs = {need.name: need for need in pieces}
    return replace(
        design,
        lines=tuple(
            DesignPiece(
                need.name, was[need.name].shape, was[need.name].sizes, counts[need.name], need.role
            )
            for need in pieces
            if need.name in was
        ),
        pieces=tuple(
            replace(piece, piece=lines[piece.position], role=needs[lines[piece.position]].role)
            for piece in design.pieces
        ),
    )

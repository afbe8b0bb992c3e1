"""Every piece in its place: the design that a project file names, checked by its piece list."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from scrapstore.designs import Design, DesignPiece, make_design
from scrapstore.errors import UsageError
from scrapstore.near_words import did_you_mean
from scrapstore.projects.faults import Finding
from scrapstore.projects.forms import PieceNeed
from scrapstore.projects.schema import DesignEntry, ProjectEntry
from scrapstore.shapes import same_outline

__all__ = ["placed_design"]

_SLACK: Final = 1e-3
"""Inches, and radians: beyond this an outline was changed, not rounded."""
_WAY_OUT: Final = "put it back, or take [design] out of the file"


def placed_design(
    entry: ProjectEntry, pieces: Sequence[PieceNeed]
) -> tuple[Design | None, list[Finding]]:
    """Return the design whose pieces name lines of `pieces`, or None with what does not agree.

    None without findings where the file has no design.
    """
    if entry.design is None:
        if entry.arrangement:
            return None, [(("arrangement",), "there is no [design] whose positions it could name")]
        return None, []
    try:
        design = _made(entry.design)
    except UsageError as error:
        return None, [(("design",), str(error).removeprefix("design: "))]
    lines, findings = _arranged(design, entry.arrangement)
    if not findings:
        findings = [*_disagreements(design, lines, pieces)]
    return (None, findings) if findings else (_with_lines(design, lines, pieces), [])


def _made(entry: DesignEntry) -> Design:
    # A seam and a ruler count only where the piece follows from the size; here it is given.
    parameters = entry.model_dump(exclude={"name", "wanted"}, exclude_none=True)
    design = make_design(entry.name, seam=0.0, mark=0.125, **parameters)
    return replace(design, wanted=entry.wanted)


def _arranged(
    design: Design, arrangement: Mapping[str, Sequence[str]]
) -> tuple[dict[str, str], list[Finding]]:
    """Return the line of the piece list of every position, and what is wrong with the table."""
    lines = {piece.position: piece.piece for piece in design.pieces}
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
        elif not same_outline(pieces[at[name]].shape, own[line].shape, slack=_SLACK):
            msg = f"the design has {own[line].shape.label} here, not {pieces[at[name]].shape.label}"
            yield ("pieces", at[name], "shape"), f"{msg}; {_WAY_OUT}"
    for name, count in Counter(lines.values()).items():
        if name in at and pieces[at[name]].count != count:
            msg = f"the design has {count} of it, not {pieces[at[name]].count}"
            yield ("pieces", at[name], "count"), f"{msg}; {_WAY_OUT}"


def _with_lines(design: Design, lines: Mapping[str, str], pieces: Sequence[PieceNeed]) -> Design:
    """Return the design with the lines and roles of the piece list in place of its own."""
    own = {line.name: line for line in design.lines}
    was = {lines[piece.position]: own[piece.piece] for piece in design.pieces}
    needs = {need.name: need for need in pieces}
    return replace(
        design,
        lines=tuple(
            DesignPiece(
                need.name, was[need.name].shape, was[need.name].sizes, need.count, need.role
            )
            for need in pieces
            if need.name in was
        ),
        pieces=tuple(
            replace(piece, piece=lines[piece.position], role=needs[lines[piece.position]].role)
            for piece in design.pieces
        ),
    )

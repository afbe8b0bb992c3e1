"""The answer of a match to what scraps give, without what they do not."""

from collections import Counter
from dataclasses import replace

from scrapstore.matching import Totals
from scrapstore.planning.result import MatchResult
from scrapstore.shapes import labelled, piece_letters

__all__ = ["only_given"]


def only_given(result: MatchResult, name: str) -> MatchResult:
    """Return the answer as one to a project that wants just what the scraps give: all covered.

    That project is called `name`.
    """
    given = {supply.need: supply.scraps for supply in result.supplies}
    pieces = tuple(
        replace(piece, count=given[piece.name])
        for piece in result.project.pieces
        if given[piece.name]
    )
    used = {piece.role for piece in pieces}
    letters = piece_letters([piece.name for piece in pieces])
    counts: Counter[str] = Counter()
    total = sum(piece.count for piece in pieces)
    area = sum(piece.count * piece.cut.area for piece in pieces)
    return replace(
        result,
        project=replace(
            result.project,
            name=name,
            pieces=pieces,
            roles={name: role for name, role in result.project.roles.items() if name in used},
        ),
        supplies=tuple(
            replace(supply, wanted=supply.scraps, at_most=supply.scraps)
            for supply in result.supplies
            if supply.scraps
        ),
        cuts=tuple(
            replace(cut, cutting=labelled(cut.cutting, letters, counts)) for cut in result.cuts
        ),
        together=Totals(total, total, total, area, area),
        best_covered=total,
    )

"""Pieces of a plan that were left over when it was sewn: which lots they are in."""

import re
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence

from scrapstore.errors import UsageError
from scrapstore.planning.cut_sources import cut_sources
from scrapstore.planning.result import MatchResult
from scrapstore.store import Plan

__all__ = ["left_over_lots"]


def left_over_lots(
    plan: Plan, result: MatchResult, left: Sequence[str], count_of: Callable[[int], int]
) -> dict[int, int]:
    """Return how many pieces of each lot `left` names, as ``2 A``, ``2 corner square`` or ``A3``.

    `count_of` gives how many pieces are in the lot with a number. Raises UsageError for pieces that
    there are not, and for more than there are.
    """
    lots = _lots_of_pieces(plan, result)
    by_label = {label.casefold(): piece for label, piece in plan.pieces.items()}
    counts: Counter[int] = Counter()
    for text in dict.fromkeys(part.strip().casefold() for part in left):
        piece = by_label.get(text)
        if piece is not None and piece.ready_cut_id is not None:
            wanted, places = 1, [piece.ready_cut_id]
        else:
            wanted, name = _count_and_name(text, result)
            places = lots.get(name, [])
        for lot in places:
            taken = min(wanted, count_of(lot) - counts[lot])
            counts[lot] += taken
            wanted -= taken
        if wanted > 0:
            raise UsageError(f"--left {text!r}: there were not so many; {wanted} too many")
    return dict(counts)


def _count_and_name(text: str, result: MatchResult) -> tuple[int, str]:
    """Return how many of which piece ``2 a`` says; UsageError."""
    letters = result.project.letters
    found = re.fullmatch(r"(\d{1,6})\s+(.+)", text)
    if found is None:
        msg = f"--left: no piece that was cut is called {text!r}; write '2 A', or a label as 'A3'"
        raise UsageError(msg)
    for name, letter in letters.items():
        if found[2] in (name.casefold(), letter.casefold()):
            return int(found[1]), name
    there = ", ".join(f"{letter} ({name})" for name, letter in letters.items())
    raise UsageError(f"--left: {found[2]!r} is no piece of this plan; there are {there}")


def _lots_of_pieces(plan: Plan, result: MatchResult) -> dict[str, list[int]]:
    """Return the lots that hold each piece: what was cut, then what was ready."""
    names: dict[str, str] = {}
    for source in cut_sources(result):
        names |= {piece.label: piece.name for plan in source.plans for piece in plan.pieces}
        if source.ready is not None:
            names |= dict.fromkeys(source.ready_labels, source.ready.need)
    lots: defaultdict[str, list[int]] = defaultdict(list)
    for label, piece in plan.pieces.items():
        if piece.ready_cut_id is not None and piece.ready_cut_id not in lots[names[label]]:
            lots[names[label]].append(piece.ready_cut_id)
    for use in result.ready:
        if use.parts == 1:
            lots[use.need].append(use.lot.id)
    return dict(lots)

"""What scraps give for what is open, in the first lines that somebody at the table reads."""

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import Final

from scrapstore.planning.still_wanted import StillWanted
from scrapstore.sentences import several

__all__ = ["GivenPieces", "given_lines", "pieces_for"]

_MOST_SCRAPS: Final = 3
"""Scraps that have a sentence each; of more the numbers are added up."""

GivenPieces = tuple[int, str, StillWanted, int]
"""A scrap's number, the name of a piece, what wants it, how many."""


def given_lines(
    scraps: Sequence[int], wanted: Sequence[StillWanted], given: Sequence[GivenPieces]
) -> list[str]:
    """Return what the scraps with these numbers give of what is wanted."""
    if not wanted:
        return ["Nothing is wanted now: what is open has all its pieces."]
    names = several([one.called for one in wanted], "or")
    if not given:
        if len(scraps) == 1:
            return [f"Scrap {scraps[0]} gives no piece for {names}."]
        return [f"None of the {len(scraps)} scraps gives a piece for {names}."]
    giving = [(number, list(own)) for number, own in groupby(given, key=lambda one: one[0])]
    if len(giving) <= _MOST_SCRAPS:
        return [f"Scrap {number} gives {_each_for(own)}." for number, own in giving]
    total = sum(count for *_, count in given)
    shares = [
        f"{sum(count for _, _, whose, count in given if whose is one)} for {one.called}"
        for one in wanted
        if any(whose is one for _, _, whose, _ in given)
    ]
    return [f"Of {len(scraps)} scraps {len(giving)} give {total} pieces: {several(shares)}."]


def pieces_for(given: Iterable[GivenPieces]) -> list[tuple[StillWanted, str]]:
    """Return, for each thing that one scrap gives pieces for, the pieces: ``2 × sail, 1 × sky``."""
    return [
        (list_[0][2], ", ".join(f"{count} × {piece}" for _, piece, _, count in list_))
        for _, own in groupby(given, key=lambda one: one[2].called)
        if (list_ := list(own))
    ]


def _each_for(given: Sequence[GivenPieces]) -> str:
    return several([f"{pieces} for {wanted.called}" for wanted, pieces in pieces_for(given)])

"""What is doubtful of measured scraps, and the sentences that ask the person to look."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass

__all__ = ["Doubt", "said_of_doubts"]


@dataclass(frozen=True)
class Doubt:
    """One thing that is doubtful of some scraps.

    `sentence`: with `{}` where they are named; `scraps`: their numbers, from 1, ascending.
    """

    sentence: str
    scraps: tuple[int, ...]


def said_of_doubts(doubts: Iterable[Doubt], scraps: Collection[int]) -> tuple[str, ...]:
    """Return a sentence for each doubt about any of `scraps` (numbers); it names those alone."""
    named = [(doubt, [str(n) for n in doubt.scraps if n in scraps]) for doubt in doubts]
    return tuple(
        doubt.sentence.format(f"scrap{'s' if len(those) > 1 else ''} {', '.join(those)}")
        for doubt, those in named
        if those
    )

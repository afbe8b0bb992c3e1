"""What can be arranged, in words for somebody who stands at the mat."""

from collections.abc import Iterator

from scrapstore.designs.arranging import By, SchemeFound
from scrapstore.planning.arranging.result import Arranged, CuttableWay
from scrapstore.sentences import several

__all__ = ["how_many", "impossible_lines", "lies_words", "scheme_lines", "why_words"]

_ONE: dict[By, str] = {
    "fabric": "one fabric each",
    "colour": "one colour each, of several fabrics",
    "value": "one value each, of several fabrics",
    "piece": "piece by piece",
}


def how_many(arranged: Arranged) -> str:
    """Say how many ways can be cut without buying."""
    count, found = len(arranged.ways), arranged.schemed.schemes
    if not count:
        return "No way can be cut without buying."
    possible = [one for one in found if one.arrangements]
    every = sum(one.count for one in possible)
    # A way may be one of two schemes: their sum counts ways only where all of them are shown.
    if all(one.complete for one in possible) and (len(possible) == 1 or every == count):
        ways = "1 way" if every == 1 else f"{every} ways"
        best = "the best first:" if every == count else f"the best {count}:"
        return f"{ways} can be cut without buying, and no others; {best}"
    ways = "1 way" if count == 1 else f"{count} ways"
    counted = [f"{one.scheme} {one.count}" for one in possible if one.complete]
    which = several([*counted, "of the others as many as you ask for"]) if counted else ""
    more = f"{ways} and more can be cut without buying{which and f': {which}'}."
    return f"{more} The best of each in turn:"


def lies_words(way: CuttableWay) -> str:
    """Say what lies where, in one line that begins with a capital."""
    said = ", ".join(f"{where}: {cloth}" for where, cloth in way.arrangement.blocks)
    return said[:1].upper() + said[1:]


def why_words(way: CuttableWay) -> str:
    """Say how well it does what its scheme is about."""
    said = way.arrangement.said
    return f"{said[:1].upper()}{said[1:]}."


def scheme_lines(arranged: Arranged) -> Iterator[str]:
    """Yield how many ways there are of each scheme that can be cut at all."""
    for found in arranged.schemed.schemes:
        if found.arrangements:
            yield f"{found.scheme}, {_ONE[found.by]}: {_count(found)}"


def _count(found: SchemeFound) -> str:
    if found.complete:
        return f"{found.count}, and no others" if found.count > 1 else "1, and no other"
    return "as many as you ask for" if found.by == "piece" else f"{found.count} and more"


def impossible_lines(arranged: Arranged) -> Iterator[str]:
    """Yield what cannot be cut and why, in counts: schemes, and the nearest miss of others."""
    reasons = {found.reason for found in arranged.schemed.schemes}
    if len(reasons) == 1 and "" not in reasons:
        yield f"any scheme: {reasons.pop()}"
        return
    for found in arranged.schemed.schemes:
        misses = "; ".join(miss.words for miss in found.misses)
        if not found.arrangements:
            yield f"{found.scheme}: {found.reason or misses}"
        elif misses and found.by in ("colour", "value"):
            yield f"{found.scheme}, one fabric each: {misses}"
        elif misses:
            lies = ", ".join(f"{where} {cloth}" for where, cloth in found.misses[0].instead)
            yield f"{found.scheme}, the nearest that lacks something: {misses} ({lies})"

"""What the user settles: cloth pinned to places, and two places or cloths that are swapped."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from scrapstore.colour import family_of_word
from scrapstore.designs.arranging.forms import Arrangement, Job, OfferedCloth, TopPlaces, can_give
from scrapstore.errors import PlanError, ScrapstoreError, UsageError
from scrapstore.near_words import did_you_mean

__all__ = ["named_places", "with_pins", "with_swap"]

_VALUES: Final = ("light", "medium", "dark")


def with_pins(job: Job, pins: Sequence[str]) -> Job:
    """Return the job with these pins, such as "round 1=mustard"; a later pin overrules.

    Raises UsageError for a place or a cloth that is not there, or that does not go there.
    """
    allowed, pinned = list(job.allowed), dict(job.pinned)
    for text in pins:
        where, cloth = _sides(text, "pin", "round 1=mustard")
        places = _places(job.top, where, "pin")
        wanted = _cloths(job.cloths, cloth)
        for place in places:
            own = tuple(c for c in job.allowed[place] if c in wanted)
            if not own:
                role = job.top.places[place].role
                msg = f"pin {text!r}: what {role!r} asks of its cloth does not allow {cloth}"
                raise UsageError(f"{msg}; pin another, or change the role in the project file")
            allowed[place], pinned[place] = own, f"{where} (pinned)"
    return replace(job, allowed=tuple(allowed), pinned=pinned)


def with_swap(job: Job, arrangement: Arrangement, swap: str) -> Arrangement:
    """Return the arrangement with two places, rounds, wedges or cloths swapped.

    Raises UsageError for what is not there, or not of the same pieces; PlanError where the cloth
    does not suffice, or a role does not allow it.
    """
    one, other = _sides(swap, "swap", "round 1=round 5")
    cloth_of = list(arrangement.cloth_of)
    first, second = named_places(job.top, one), named_places(job.top, other)
    if first is not None and second is not None:
        kinds = [[job.top.places[i].kind for i in places] for places in (first, second)]
        if kinds[0] != kinds[1]:
            msg = f"swap {swap!r}: {one} has {len(first)} pieces and {other} {len(second)}"
            if len(first) == len(second):
                msg = f"swap {swap!r}: their pieces are not cut alike"
            raise UsageError(f"{msg}; swap what is alike, or two fabrics all over the top")
        for i, j in zip(first, second, strict=True):
            cloth_of[i], cloth_of[j] = cloth_of[j], cloth_of[i]
    elif first is None and second is None:
        here, there = (_one_cloth(job, name, swap) for name in (one, other))
        exchange = {here: there, there: here}
        cloth_of = [exchange.get(cloth, cloth) for cloth in cloth_of]
    else:
        raise UsageError(f"swap {swap!r}: name two places, or two fabrics")
    _refuse_uncuttable(job, cloth_of, swap)
    swapped = tuple(cloth_of)
    blocks = arrangement.blocks
    if swapped != arrangement.cloth_of:
        blocks = _blocks_again(job, arrangement, swapped)
    return replace(arrangement, cloth_of=swapped, blocks=blocks, said=f"{swap} swapped")


def _blocks_again(
    job: Job, before: Arrangement, cloth_of: Sequence[int]
) -> tuple[tuple[str, str], ...]:
    """Say anew what lies in each round or wedge that had been one cloth, else in the whole top."""
    blocks = []
    for name, _ in before.blocks:
        places = named_places(job.top, name) or tuple(range(len(cloth_of)))
        words = dict.fromkeys(job.cloths[cloth_of[i]].word for i in places)
        counts = [f"{w} {sum(job.cloths[cloth_of[i]].word == w for i in places)}" for w in words]
        blocks.append((name, next(iter(words)) if len(words) == 1 else ", ".join(counts)))
    return tuple(blocks)


def _refuse_uncuttable(job: Job, cloth_of: Sequence[int], swap: str) -> None:
    for place, cloth in enumerate(cloth_of):
        if cloth not in job.allowed[place]:
            own, word = job.top.places[place], job.cloths[cloth].word
            msg = f"swap {swap!r}: {own.role!r} does not allow {word} at {own.position}"
            if place in job.pinned:
                msg = f"swap {swap!r}: {own.position} is pinned"
            raise PlanError(f"{msg}; swap others")
    for cloth in sorted(set(cloth_of)):
        needs = job.top.amount([i for i, own in enumerate(cloth_of) if own == cloth])
        gives = job.cloths[cloth].gives
        if not can_give(gives, needs):
            lacks = min(
                sum(max(0, b - a) for a, b in zip(one, needs, strict=True)) for one in gives
            )
            word = job.cloths[cloth].word
            msg = f"swap {swap!r} cannot be cut: {word} gives {sum(needs) - lacks} of {sum(needs)}"
            raise PlanError(f"{msg}; swap others")
    broken = job.broken(cloth_of)
    if broken:
        raise PlanError(f"swap {swap!r}: {broken}; swap others")


def named_places(top: TopPlaces, name: str) -> tuple[int, ...] | None:
    """Return the places of a round, a wedge, a role or a line, or one position; else None."""
    wanted = " ".join(name.lower().split())
    word, _, number = wanted.rpartition(" ")
    found = [
        i
        for i, place in enumerate(top.places)
        if (word in ("round", "ring") and number == str(place.ring))
        or (word == "wedge" and number == str(place.wedge))
        or wanted in (place.position.lower(), place.role.lower(), place.line.lower())
    ]
    return tuple(found) or None


def _places(top: TopPlaces, name: str, what: str) -> tuple[int, ...]:
    found = named_places(top, name)
    if found is None:
        rings = sorted({f"round {p.ring}" for p in top.places if p.ring is not None})
        wedges = sorted({f"wedge {p.wedge}" for p in top.places if p.wedge is not None})
        known = [*rings, *wedges, *(place.position for place in top.places)]
        listed = [*rings[:3], *wedges[:2], *known[-1:]]
        hint = did_you_mean(name, known, listed=listed)
        raise UsageError(f"{what}: there is no {name!r} to arrange on this top; {hint}")
    return found


def _sides(text: str, what: str, example: str) -> tuple[str, str]:
    where, equals, cloth = text.partition("=")
    if not equals or not where.strip() or not cloth.strip():
        raise UsageError(f"{what} {text!r} does not say what goes where; write {example!r}")
    return where.strip(), cloth.strip()


def _cloths(cloths: Sequence[OfferedCloth], name: str) -> frozenset[int]:
    """Return the cloths of a fabric, a colour family or a value, or one scrap ("scrap 12")."""
    wanted = " ".join(name.lower().split())
    found = [
        c
        for c, cloth in enumerate(cloths)
        if wanted in (cloth.fabric.lower(), cloth.word.lower().partition(" (")[0])
    ]
    if not found and wanted in _VALUES:
        found = [c for c, cloth in enumerate(cloths) if cloth.value == wanted]
    if not found:
        try:
            family = family_of_word(wanted)
        except ScrapstoreError:
            family = None
        found = [c for c, cloth in enumerate(cloths) if family and cloth.family == family]
    if not found:
        known = list(dict.fromkeys(cloth.word.partition(" (")[0] for cloth in cloths))
        hint = did_you_mean(name, known, listed=known[:4])
        raise UsageError(f"no cloth that gives a piece of this top is called {name!r}; {hint}")
    return frozenset(found)


def _one_cloth(job: Job, name: str, swap: str) -> int:
    found = sorted(_cloths(job.cloths, name))
    if len(found) > 1:
        raise UsageError(f"swap {swap!r}: {name} is more than one cloth; name fabrics or places")
    return found[0]

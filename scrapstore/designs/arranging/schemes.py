"""The schemes by name, with their aims, and what all of them make of one top and its cloth."""

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Final

from scrapstore.designs.arranging.blocks import alternating, by_rounds, by_wedges, graded_rounds
from scrapstore.designs.arranging.forms import Arrangement, Job, SchemeFound
from scrapstore.designs.arranging.graded import graded_pieces
from scrapstore.designs.arranging.patches import families_together
from scrapstore.designs.arranging.pieces import mirrored, plain_middle, scattered

__all__ = ["SCHEMES", "Scheme", "Schemed", "arrange"]


@dataclass(frozen=True, slots=True)
class Scheme:
    """One way of arranging: `about` says what it does, `aim` by what its arrangements are ranked.

    `pieces` says that each piece is chosen by itself, so that there are as many as one asks for.
    """

    name: str
    about: str
    aim: str
    find: Callable[[Job], SchemeFound]
    pieces: bool = False


def _graded(job: Job) -> SchemeFound:
    """Return rounds of one fabric each, or else pieces that are chosen one by one."""
    by_fabric = graded_rounds(job) if "fabric" in job.by else None
    if by_fabric is not None and (by_fabric.arrangements or len(job.by) == 1):
        return by_fabric
    singly = graded_pieces(job)
    return by_fabric if by_fabric is not None and not singly.arrangements else singly


SCHEMES: Final[Mapping[str, Scheme]] = MappingProxyType(
    {
        scheme.name: scheme
        for scheme in (
            Scheme(
                "rounds", "one fabric, or one colour, a round",
                "rounds that touch differ as much as can be: the least difference counts, then "
                "the mean",
                by_rounds,
            ),
            Scheme(
                "wedges", "one fabric, or one colour, a wedge",
                "wedges that touch differ as much as can be: the least difference counts, then "
                "the mean",
                by_wedges,
            ),
            Scheme(
                "alternating", "two fabrics, or two colours, in turn",
                "the two differ as much as can be",
                alternating,
            ),
            Scheme(
                "graded", "from light to dark, round by round",
                "the least step in lightness (L*) is as large as can be; piece by piece: the "
                "range is wide and its steps even",
                _graded,
            ),
            Scheme(
                "families", "each colour family in one patch",
                "as many families as can be, and a clear difference at their borders",
                families_together, pieces=True,
            ),
            Scheme(
                "plain middle", "colour outside, a plain middle",
                "the middle differs as much as can be from the colours round it",
                plain_middle, pieces=True,
            ),
            Scheme(
                "scattered", "no two neighbours of one fabric",
                "as many fabrics as can be, then neighbours that differ as much as can be",
                scattered, pieces=True,
            ),
            Scheme(
                "mirrored", "one half mirrors the other",
                "the mirror is exact; neighbours differ as much as can be",
                mirrored, pieces=True,
            ),
        )
    }
)  # fmt: skip
"""Every scheme by its name, in the order of the list."""


@dataclass(frozen=True)
class Schemed:
    """What comes of several schemes: `arrangements` by their numbers from 1, best first in turn."""

    schemes: tuple[SchemeFound, ...]
    arrangements: tuple[Arrangement, ...]


def arrange(job: Job, names: Collection[str], count: int) -> Schemed:
    """Return up to `count` arrangements: the best of each scheme first, then the second of each.

    One that several schemes find is there once, with all their names.
    """
    chosen = [scheme for scheme in SCHEMES.values() if scheme.name in names]
    bare = [
        place for place, allowed in zip(job.top.places, job.allowed, strict=True) if not allowed
    ]
    if bare:
        where = bare[0].role if len({place.role for place in bare}) == 1 else "the whole of it"
        reason = f"no available cloth gives a piece for {where} ({len(bare)} places)"
        return Schemed(tuple(SchemeFound(one.name, reason=reason) for one in chosen), ())
    each = -(-count // max(len(chosen), 1)) + 1
    found = [scheme.find(replace(job, want=each)) for scheme in chosen]
    listed = _in_turn(job, found)
    if len(listed) < count:
        # Schemes that can give more make up for those that cannot.
        found = [
            scheme.find(replace(job, want=count)) if len(one.arrangements) >= each else one
            for scheme, one in zip(chosen, found, strict=True)
        ]
        listed = _in_turn(job, found)
    return Schemed(tuple(found), tuple(listed[:count]))


def _in_turn(job: Job, found: Sequence[SchemeFound]) -> list[Arrangement]:
    listed: dict[tuple[str, ...], Arrangement] = {}
    for rank in range(max((len(one.arrangements) for one in found), default=0)):
        for one in found:
            if rank < len(one.arrangements):
                arrangement = one.arrangements[rank]
                key = tuple(job.cloths[c].fabric for c in arrangement.cloth_of)
                before = listed.get(key)
                if before is None:
                    listed[key] = arrangement
                elif one.scheme not in before.schemes:
                    listed[key] = replace(before, schemes=(*before.schemes, one.scheme))
    return list(listed.values())

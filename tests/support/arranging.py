"""Tops and cloths for tests of arranging, and the obvious way to find every arrangement."""

from collections.abc import Iterator, Sequence
from itertools import product

from scrapstore.colour import srgb_to_lab, typical_rgb
from scrapstore.designs import Design, make_design
from scrapstore.designs.arranging import Amount, Job, OfferedCloth, TopPlaces, top_of

__all__ = ["STAR", "STORY", "a_cloth", "a_job", "every_assignment", "star_top", "story_job"]

STAR = make_design("star", piece=1.5, seam=0.25, mark=0.125)
"""54 diamonds in rounds of 6, 12, 18, 12 and 6."""
STORY = (
    ("mustard", 6, "yellow", "light"),
    ("rust", 12, "orange", "medium"),
    ("teal", 18, "green", "medium"),
    ("grey", 12, "grey", "light"),
    ("navy", 11, "blue", "dark"),
)
"""Five fabrics, how many diamonds each gives, and what it reads as."""


def a_cloth(
    name: str, gives: int | Sequence[Amount], family: str = "blue", value: str = "medium"
) -> OfferedCloth:
    light, a, b = srgb_to_lab(typical_rgb(family, value)).tolist()
    amounts = ((gives,),) if isinstance(gives, int) else tuple(gives)
    return OfferedCloth(name, name, family, value, (light, a, b), frozenset(), amounts)


def star_top(a_side: int = 3) -> TopPlaces:
    star = STAR if a_side == 3 else make_design("star", piece=1.5, seam=0.25, mark=0.125, a_side=2)
    return of_design(star, [line.role for line in star.lines if line.role != "background"])


def of_design(design: Design, roles: Sequence[str]) -> TopPlaces:
    """The top of these roles, every shape one kind."""
    kind_of = {line.name: line.shape.label for line in design.lines}
    kinds = dict.fromkeys(kind_of[line.name] for line in design.lines if line.role in roles)
    return top_of(design, kind_of, roles, tuple(kinds))


def a_job(top: TopPlaces, cloths: Sequence[OfferedCloth], want: int = 6) -> Job:
    """Any cloth anywhere."""
    return Job(top, tuple(cloths), (tuple(range(len(cloths))),) * len(top.places), want=want)


def story_job(want: int = 6) -> Job:
    return a_job(star_top(), [a_cloth(name, n, f, v) for name, n, f, v in STORY], want)


def every_assignment(
    amounts: Sequence[Sequence[int]], gives: Sequence[Sequence[Amount]]
) -> Iterator[tuple[int, ...]]:
    """Every way to give each block a source so that none gives more than one of its amounts.

    Counted from the beginning for each: no pruning, no sharing.
    """
    kinds = range(len(amounts[0]))
    for way in product(range(len(gives)), repeat=len(amounts)):
        total = [
            [sum(a[k] for a, s in zip(amounts, way, strict=True) if s == source) for k in kinds]
            for source in range(len(gives))
        ]
        if all(
            any(all(have >= need for have, need in zip(one, taken, strict=True)) for one in own)
            for own, taken in zip(gives, total, strict=True)
        ):
            yield way

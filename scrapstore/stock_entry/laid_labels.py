"""Labels that lie among measured scraps: which scrap each lies by, which thing is its paper."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from shapely import Point, Polygon

from scrapstore.photo import MeasuredScrap, Measurement
from scrapstore.photo.codes import read_codes
from scrapstore.photo.label_texts import label_number

__all__ = ["LaidLabel", "laid_labels"]

_FAR: Final = 3.0
"""Sides of the code from its middle to a scrap: a label farther off belongs to none."""
_PAPER: Final = 8.0
"""A label is about five times as large as its code; a thing larger than this is no label."""


@dataclass(frozen=True)
class LaidLabel:
    """A label in a photo: its number, and numbers of what was measured there.

    `beside` is the scrap it lies by or is pinned to, None when there is none near; `paper` are the
    things that are the label itself or parts of it, none where it was not measured.
    """

    number: int
    beside: int | None
    paper: frozenset[int]


def laid_labels(reading: Measurement) -> tuple[LaidLabel, ...]:
    """Return the labels in a measured photo, from the top down."""
    codes = [(label_number(code.text), code) for code in read_codes(reading.photo.pixels)]
    squares = [
        (number, Polygon(reading.view.to_table(np.asarray(code.corners, dtype=np.float64))))
        for number, code in codes
        if number is not None
    ]
    papers = [_paper(square, reading.scraps) for _, square in squares]
    every = frozenset().union(*papers)
    return tuple(
        LaidLabel(number, _beside(square, reading.scraps, every), paper)
        for (number, square), paper in zip(squares, papers, strict=True)
    )


def _paper(square: Polygon, scraps: tuple[MeasuredScrap, ...]) -> frozenset[int]:
    """Return what is small and has the code on it, or is a spot of the code."""
    found = set()
    for number, scrap in enumerate(scraps, 1):
        around = Polygon(scrap.on_table.exterior)  # the dark of a code may have been cut out
        on_it = around.contains(square.centroid) or square.contains(around.centroid)
        if on_it and around.area < _PAPER * square.area:
            found.add(number)
    return frozenset(found)


def _beside(
    square: Polygon, scraps: tuple[MeasuredScrap, ...], papers: frozenset[int]
) -> int | None:
    """Return the nearest scrap that is no label; one that the code lies on is at no distance."""
    middle: Point = square.centroid
    away = [
        (Polygon(scrap.on_table.exterior).distance(middle), number)
        for number, scrap in enumerate(scraps, 1)
        if number not in papers
    ]
    distance, number = min(away, default=(np.inf, 0))
    return number if distance <= _FAR * square.area**0.5 else None

"""The painter's colour wheel, the order of a contact sheet, and cloths that go together.

"Opposite" and "three apart" are said of the wheel that people learn with paint: red, yellow and
blue a third apart, orange, green and purple half way between (Johannes Itten, "The Art of Color",
1961). CIELAB's own hue circle puts cyan opposite red, where a quilter looks for green, so its
angles are bent to the wheel first: each word sits at the median hue of that family's colours in
sRGB, rounded to 5°.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

from scrapstore.colour.families import FAMILIES, MULTICOLOUR, NEUTRALS
from scrapstore.colour.reading import Reading
from scrapstore.colour.spaces import FloatArray, chroma_hue

__all__ = [
    "FAMILY_ORDER",
    "HUELESS",
    "Relation",
    "Suggestion",
    "go_together",
    "sheet_order",
    "wheel_deg",
]

Relation = Literal["neighbouring", "opposite", "three apart", "light to dark"]

# CIELAB hue in degrees -> degrees on the wheel, red 0, yellow 120, blue 240.
_HUES: Final = np.array([-40.0, 30, 55, 100, 130, 285, 320, 390])
_WHEEL: Final = np.array([-60.0, 0, 60, 120, 180, 240, 300, 360])

HUELESS: Final = (MULTICOLOUR, *NEUTRALS)
"""Families without a hue: nothing lies beside or opposite them on the wheel."""

FAMILY_ORDER: Final = (
    "pink", "red", "orange", "brown", "yellow", "green", "blue", "purple",
    *HUELESS,
)  # fmt: skip
"""Every family in the order of a contact sheet: along the hue circle; then those without a hue."""
_SHEET_STEP_DEG: Final = 20.0  # hues within a step lie side by side, light before dark
_GREYISH: Final = 10.0  # chroma; below it a hue is no ground for a suggestion
_NEAR_DEG: Final = (15.0, 75.0)  # on the wheel, either way: the next two of twelve steps
_ROOM_DEG: Final = 22.0  # on the wheel, either way: a good half of one of twelve steps
_SAME_DYE: Final = 6.0  # L*; steps from light to dark are at least this far apart


@dataclass(frozen=True, slots=True)
class Suggestion:
    """Cloths that go with one cloth, as places in the sequence they came in."""

    relation: Relation
    members: tuple[int, ...]
    """The best first; from light to dark for that relation."""
    reason: str
    """In words, for the sheet."""


def wheel_deg(lab: npt.ArrayLike) -> FloatArray:
    """Return the angle on the painter's wheel, 0 up to 360, of CIELAB (..., 3).

    >>> wheel_deg([(50, 60, 40), (70, 0, 60), (40, 0, -50)]).round()
    array([  9., 107., 230.])
    """
    _, hue = chroma_hue(lab)
    return np.asarray(np.interp(hue, _HUES, _WHEEL) % 360, dtype=np.float64)


def sheet_order(readings: Sequence[Reading]) -> npt.NDArray[np.intp]:
    """Return the places of the cloths along the hue circle, and from light to dark within a hue.

    Families follow one another from pink by red, yellow, green and blue to purple; then come
    multicolour, white, grey and black, which have no hue.
    """
    if not readings:
        return np.zeros(0, dtype=np.intp)
    lead = np.array([reading.lead_lab for reading in readings])
    _, hue = chroma_hue(lead)
    word = np.array([FAMILY_ORDER.index(reading.family) for reading in readings])
    plain = np.array([reading.family in HUELESS for reading in readings])
    # The circle is cut between purple and pink, at 330°.
    step = np.where(plain, 0, ((hue + 30) % 360) // _SHEET_STEP_DEG)
    return np.lexsort((np.arange(len(word)), -lead[:, 0], step, word))


def go_together(
    start: int, readings: Sequence[Reading], *, most: int = 6
) -> tuple[Suggestion, ...]:
    """Return what goes with cloth `start` among `readings`, at most `most` cloths a suggestion.

    Neighbouring, opposite and three apart are hues on the painter's wheel and are said only of a
    cloth with a hue; light to dark are cloths of its own family in even steps, itself among them.
    A relation for which there is no cloth is left out.
    """
    lead = np.array([reading.lead_lab for reading in readings])
    family = [reading.family for reading in readings]
    chroma = chroma_hue(lead)[0]
    found: list[Suggestion] = []
    # A cream is white to a quilter, however yellow it measures.
    coloured = (chroma >= _GREYISH) & ~np.isin(family, HUELESS)
    if coloured[start]:
        angle = wheel_deg(lead)
        coloured[start] = False
        turn = (angle - angle[start] + 180) % 360 - 180
        word = family[start]

        side = np.abs(turn)
        fits = coloured & (side >= _NEAR_DEG[0]) & (side <= _NEAR_DEG[1])
        beside = _nearest(np.abs(side - 45), fits, most)
        found.append(Suggestion("neighbouring", beside, f"hues beside its {word} on the wheel"))

        across = _nearest(180 - side, coloured & (side >= 180 - _ROOM_DEG), most)
        found.append(Suggestion("opposite", across, f"hues opposite its {word} on the wheel"))

        thirds = [
            _nearest(np.abs(turn - way), coloured & (np.abs(turn - way) <= _ROOM_DEG), most)
            for way in (120, -120)
        ]
        # In pairs, one from either side, since three apart needs all three.
        pairs = tuple(at for pair in zip(*thirds, strict=False) for at in pair)[: most // 2 * 2]
        found.append(
            Suggestion("three apart", pairs, f"with its {word}, a third of the wheel apart")
        )
    # By the lightness that decides values, so that the steps are those that are printed.
    lightness = np.array([reading.lab[0] for reading in readings])
    ladder = _ladder(start, lightness, np.array([word == family[start] for word in family]), most)
    found.append(Suggestion("light to dark", ladder, f"{family[start]} from light to dark"))
    return tuple(one for one in found if one.members)


def _nearest(off: FloatArray, allowed: npt.NDArray[np.bool_], most: int) -> tuple[int, ...]:
    """Return the allowed places with the least `off`."""
    places = np.flatnonzero(allowed)
    return tuple(places[np.argsort(off[places], kind="stable")][:most].tolist())


def _ladder(
    start: int, lightness: FloatArray, same: npt.NDArray[np.bool_], most: int
) -> tuple[int, ...]:
    """Return places of the same family in even steps of L*, light first; () for fewer than two."""
    places = np.flatnonzero(same)
    span = lightness[places].max() - lightness[places].min()
    steps = min(most, len(places), int(span / _SAME_DYE) + 1)
    if steps < 2:
        return ()
    rungs = np.linspace(lightness[places].max(), lightness[places].min(), steps)
    # The cloth itself is taken first; then, the ends before the middle, for each rung the nearest
    # cloth that is a step away from all that are taken.
    taken = [start]
    for rung in sorted(rungs.tolist(), key=lambda rung: -abs(rung - rungs.mean())):
        free = np.abs(lightness[places][:, None] - lightness[taken]).min(axis=1) >= _SAME_DYE
        if free.any():
            left = places[free]
            taken.append(int(left[np.abs(lightness[left] - rung).argmin()]))
    taken = sorted(taken[:steps], key=lambda at: (-lightness[at], at))
    return tuple(taken) if len(taken) > 1 else ()


assert {*FAMILY_ORDER} == {*FAMILIES, MULTICOLOUR}

"""What a cloth reads as from across the room, from its swatches.

Two things are weighed. Near by the eye counts the colours: each swatch by its share, and a strong
colour for more than a pale one, so that a red-and-white check is a red and a white ground with a
few red dots is still white; in a woven check the blend of a yarn and white counts as the two. From
afar a small print blurs into one colour: the mean of the light it sends back. Every fact comes with
a confidence from 0 to 1. The weights are common sense, not measured; they are named below.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from scrapstore.colour.families import FAMILIES, MULTICOLOUR, families, family_probabilities
from scrapstore.colour.spaces import FloatArray, chroma_hue, lab_to_linear, linear_to_lab
from scrapstore.colour.swatches import Swatch
from scrapstore.colour.table import tabulate
from scrapstore.colour.yarns import shares_by_yarn

__all__ = [
    "ACCENT_SHARE",
    "Reading",
    "Value",
    "Warmth",
    "blurred",
    "read_many",
    "reads_as",
    "relative_values",
]

Value = Literal["light", "medium", "dark"]
Warmth = Literal["warm", "cool", "neutral"]

ACCENT_SHARE: Final = 0.03
"""A family other than the leading one is an accent from this share of the cloth on."""

_LEADS: Final = 0.45  # of the weight; below it no family leads
_BLUR: Final = 0.25  # how much the look from afar counts beside the look from near by
_STRONG_CHROMA: Final = 50.0  # a swatch of this chroma counts double
_DARK_BELOW: Final = 42.0  # L*
_LIGHT_FROM: Final = 68.0  # L*
_VALUE_DOUBT: Final = 4.0  # L*; how softly one value passes into the next
_LEAST_STEP: Final = 8.0  # L*; the least that parts light from dark in a patchwork
_VALUES: Final[tuple[Value, Value, Value]] = ("dark", "medium", "light")
_WARM_HUE: Final = 50.0  # degrees, orange; a quarter turn either way lie yellow-green and magenta
_NEUTRAL_CHROMA: Final = 6.0


@dataclass(frozen=True, slots=True)
class Reading:
    """What a cloth reads as."""

    family: str
    """One of FAMILIES, or MULTICOLOUR."""
    confidence: float
    """Of the family, 0 to 1: how likely it is the word, against the likeliest other."""
    accents: tuple[str, ...]
    """Other families on the cloth from ACCENT_SHARE on, the largest share first."""
    shares: tuple[tuple[str, float], ...]
    """Every family on the cloth with its share, the largest first."""
    value: Value
    value_confidence: float
    warmth: Warmth
    warmth_confidence: float
    lab: tuple[float, float, float]
    """The one colour it blurs into, CIELAB; its L* is what values are compared by."""
    lead_lab: tuple[float, float, float]
    """The colour that leads: of the leading family's swatches alone, CIELAB."""
    learned: bool = False
    """Whether the family comes from corrections the user made to cloths like it."""


def blurred(labs: FloatArray, shares: FloatArray) -> FloatArray:
    """Return the CIELAB colours (..., 3) that colours (..., k, 3) of shares (..., k) blur into.

    Light adds up in linear light, not in CIELAB.
    """
    return linear_to_lab((shares[..., None] * lab_to_linear(labs)).sum(axis=-2))


def reads_as(swatches: Sequence[Swatch]) -> Reading:
    """Return what a cloth of these swatches reads as; ScrapstoreError when there are none."""
    return read_many([swatches])[0]


def read_many(swatch_sets: Sequence[Sequence[Swatch]]) -> tuple[Reading, ...]:
    """Return what each of many cloths reads as, in their order."""
    table = tabulate(swatch_sets)
    labs = table.labs
    afar = blurred(labs, table.shares)
    yarns = shares_by_yarn(labs, table.shares)

    weights = yarns * (1 + chroma_hue(labs)[0] / _STRONG_CHROMA)
    weights /= weights.sum(axis=1, keepdims=True)
    # Which family leads is decided by the word of each swatch, so that a solid always has one; how
    # sure that is, by how likely people would use the word.
    words = families(labs)
    each = np.eye(len(FAMILIES))
    by_family = np.zeros((len(table), len(FAMILIES)))
    np.add.at(by_family, (np.arange(len(table))[:, None], words), table.shares)
    # A woven check blurs into its own blend, half of it, which its yarns account for already. Nor
    # do people name what they can see nowhere: a black and white stripe is not grey.
    given = np.maximum(table.shares - yarns, 0).sum(axis=1)
    seen = np.take_along_axis(by_family, families(afar)[:, None], axis=1)[:, 0] > 0
    blur = np.where(seen, _BLUR * (1 - np.minimum(2 * given, 1)), 0.0)[:, None]
    mixed = (1 - blur) * np.einsum("nk,nkf->nf", weights, each[words])
    mixed += blur * each[families(afar)]
    leader = mixed.argmax(axis=1)
    leads = mixed.max(axis=1) >= _LEADS
    odds = (1 - blur) * np.einsum("nk,nkf->nf", weights, family_probabilities(labs))
    odds += blur * family_probabilities(afar)
    # Sure is what leaves the next behind, not what is alone on the cloth.
    held = np.take_along_axis(odds, leader[:, None], axis=1)[:, 0]
    np.put_along_axis(odds, leader[:, None], 0.0, axis=1)
    certain = np.where(leads, held / (held + odds.max(axis=1)), 1 - mixed.max(axis=1))

    ranked = np.argsort(-by_family, axis=1, kind="stable")

    # Of a cloth that a family leads, the colours that made it lead; of any other, the blur.
    leading = yarns * (words == leader[:, None]) * leads[:, None]
    sums = leading.sum(axis=1, keepdims=True)
    lead = np.where(sums > 0, blurred(labs, leading / np.where(sums > 0, sums, 1)), afar)

    value, value_confidence = absolute_values(afar[:, 0])
    warmth, warmth_confidence = _warmth(afar)
    readings = []
    for row, sure in enumerate(certain.tolist()):
        name = FAMILIES[leader[row]] if leads[row] else MULTICOLOUR
        parts = by_family[row].tolist()
        found = tuple((FAMILIES[at], parts[at]) for at in ranked[row].tolist() if parts[at] > 0)
        readings.append(
            Reading(
                family=name,
                confidence=sure,
                accents=tuple(w for w, share in found if w != name and share >= ACCENT_SHARE),
                shares=found,
                value=value[row],
                value_confidence=float(value_confidence[row]),
                warmth=warmth[row],
                warmth_confidence=float(warmth_confidence[row]),
                lab=_triple(afar[row]),
                lead_lab=_triple(lead[row]),
            )
        )
    return tuple(readings)


def _triple(lab: FloatArray) -> tuple[float, float, float]:
    lightness, a, b = lab.tolist()
    return lightness, a, b


def absolute_values(lightness: FloatArray) -> tuple[list[Value], FloatArray]:
    """Return light, medium or dark by L* (n,) alone, and how sure each is."""
    above_dark = _rising(lightness - _DARK_BELOW)
    above_medium = _rising(lightness - _LIGHT_FROM)
    odds = np.stack([1 - above_dark, above_dark - above_medium, above_medium])
    place = (lightness >= _DARK_BELOW).astype(int) + (lightness >= _LIGHT_FROM)
    return [_VALUES[at] for at in place], np.take_along_axis(odds, place[None], axis=0)[0]


def relative_values(readings: Sequence[Reading]) -> tuple[tuple[Value, float], ...]:
    """Return each cloth's value among these others, and how sure it is: thirds of their L*.

    A value is relative on a quilt: among pastels the deepest is the dark. Where the thirds lie
    closer than the eye can distinguish in a patchwork, what is between them is medium.
    """
    if not readings:
        return ()
    lightness = np.array([reading.lab[0] for reading in readings])
    low, high = np.quantile(lightness, [1 / 3, 2 / 3])
    middle, half = (low + high) / 2, max((high - low) / 2, _LEAST_STEP / 2)
    below, above = _rising(lightness - (middle - half)), _rising(lightness - (middle + half))
    odds = np.stack([1 - below, below - above, above])
    place = (lightness >= middle - half).astype(int) + (lightness > middle + half)
    return tuple((_VALUES[at], float(odds[at, n])) for n, at in enumerate(place))


def _rising(lightness: FloatArray) -> FloatArray:
    return np.asarray(1 / (1 + np.exp(-lightness / _VALUE_DOUBT)), dtype=np.float64)


def _warmth(lab: FloatArray) -> tuple[list[Warmth], FloatArray]:
    """Return warm towards orange, cool towards blue, neutral near grey, and how sure each is."""
    chroma, hue = chroma_hue(lab)
    coloured = chroma**2 / (chroma**2 + _NEUTRAL_CHROMA**2)
    lean = np.cos(np.radians(hue - _WARM_HUE))
    neutral = coloured < 0.5
    sure = np.where(neutral, 1 - coloured, coloured * (0.5 + np.minimum(0.5, np.abs(lean))))
    sides: list[Warmth] = [
        "neutral" if grey else "warm" if towards >= 0 else "cool"
        for grey, towards in zip(neutral, lean, strict=True)
    ]
    return sides, sure

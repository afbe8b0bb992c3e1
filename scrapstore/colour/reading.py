"""What a cloth reads as from across the room, from its swatches.

Two things are weighed. Near by the eye counts the colours: each swatch by its share, and a strong
colour for more than a pale one, so that a red-and-white check is a red and a white ground with a
few red dots is still white. From afar a small print blurs into one colour: the mean of the light it
sends back. Every fact comes with a confidence from 0 to 1. The weights are common sense, not
measured; they are named below.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from scrapstore.colour.families import FAMILIES, families, family_probabilities
from scrapstore.colour.spaces import FloatArray, chroma_hue, lab_to_linear, linear_to_lab
from scrapstore.colour.swatches import Swatch
from scrapstore.errors import ScrapstoreError

__all__ = ["MULTICOLOUR", "Reading", "Value", "Warmth", "blurred", "reads_as"]

MULTICOLOUR: Final = "multicolour"
"""What a cloth reads as when no family leads."""

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
_WARM_HUE: Final = 50.0  # degrees, orange; a quarter turn either way lie yellow-green and magenta
_NEUTRAL_CHROMA: Final = 6.0


@dataclass(frozen=True, slots=True)
class Reading:
    """What a cloth reads as."""

    family: str
    """One of FAMILIES, or MULTICOLOUR."""
    confidence: float
    """Of the family, 0 to 1."""
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


def blurred(labs: FloatArray, shares: FloatArray) -> FloatArray:
    """Return the CIELAB colour (3,) that colours (n, 3) of the given shares (n,) blur into.

    Light adds up in linear light, not in CIELAB.
    """
    return linear_to_lab(np.average(lab_to_linear(labs), axis=0, weights=shares))


def reads_as(swatches: Sequence[Swatch]) -> Reading:
    """Return what a cloth of these swatches reads as; ScrapstoreError when there are none."""
    if not swatches:
        msg = "colours: a cloth without swatches reads as nothing; give it a photo or a colour"
        raise ScrapstoreError(msg)
    labs = np.array([one.lab for one in swatches])
    shares = np.array([one.share for one in swatches])
    shares = shares / shares.sum()
    afar = blurred(labs, shares)

    weights = shares * (1 + chroma_hue(labs)[0] / _STRONG_CHROMA)
    near = weights @ family_probabilities(labs) / weights.sum()
    mixed = (1 - _BLUR) * near + _BLUR * family_probabilities(afar)
    leader = int(np.argmax(mixed))
    leads = bool(mixed[leader] >= _LEADS)
    name = FAMILIES[leader] if leads else MULTICOLOUR

    by_family = np.bincount(families(labs), weights=shares, minlength=len(FAMILIES))
    ranked = [
        (FAMILIES[at], float(by_family[at]))
        for at in np.argsort(-by_family, kind="stable")
        if by_family[at] > 0
    ]
    value, value_confidence = _value(float(afar[0]))
    warmth, warmth_confidence = _warmth(afar)
    return Reading(
        family=name,
        confidence=float(mixed[leader] if leads else 1 - mixed[leader]),
        accents=tuple(word for word, share in ranked if word != name and share >= ACCENT_SHARE),
        shares=tuple(ranked),
        value=value,
        value_confidence=value_confidence,
        warmth=warmth,
        warmth_confidence=warmth_confidence,
        lab=(float(afar[0]), float(afar[1]), float(afar[2])),
    )


def _value(lightness: float) -> tuple[Value, float]:
    """Return light, medium or dark by L* alone, and how sure that is."""
    above_dark = 1 / (1 + np.exp(-(lightness - _DARK_BELOW) / _VALUE_DOUBT))
    above_medium = 1 / (1 + np.exp(-(lightness - _LIGHT_FROM) / _VALUE_DOUBT))
    if lightness < _DARK_BELOW:
        return "dark", float(1 - above_dark)
    if lightness < _LIGHT_FROM:
        return "medium", float(above_dark - above_medium)
    return "light", float(above_medium)


def _warmth(lab: FloatArray) -> tuple[Warmth, float]:
    """Return warm towards orange, cool towards blue, neutral near grey, and how sure that is."""
    chroma, hue = (float(part) for part in chroma_hue(lab))
    coloured = chroma**2 / (chroma**2 + _NEUTRAL_CHROMA**2)
    if coloured < 0.5:
        return "neutral", 1 - coloured
    lean = float(np.cos(np.radians(hue - _WARM_HUE)))
    side: Warmth = "warm" if lean >= 0 else "cool"
    return side, coloured * (0.5 + 0.5 * min(1.0, abs(lean) / 0.5))

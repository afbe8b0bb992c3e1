"""Learning a user's own colour words from the cloths they corrected.

A correction to a cloth is that cloth's family, and nothing here changes it. For the others it is
evidence: a cloth whose nearest corrected neighbours (k nearest neighbours, scikit-learn) lie close
by takes their word. Close is measured on two colours at once, the one the cloth blurs into and the
one that leads it, in CIELAB; far from any correction the reading stays as it was.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from scrapstore.colour.families import FAMILIES, MULTICOLOUR
from scrapstore.colour.reading import Reading
from scrapstore.colour.spaces import FloatArray
from scrapstore.errors import ScrapstoreError

__all__ = ["Correction", "learn"]

_NEIGHBOURS: Final = 5
_REACH: Final = 20.0  # CIELAB; half way to here a single neighbour's word weighs half
_ENOUGH: Final = 0.5  # of certainty; below it the colour decides as before


@dataclass(frozen=True, slots=True)
class Correction:
    """A cloth and the family its owner says it is."""

    reading: Reading
    """As it was read before the correction."""
    family: str
    """One of FAMILIES, or MULTICOLOUR."""


def learn(readings: Sequence[Reading], corrections: Sequence[Correction]) -> tuple[Reading, ...]:
    """Return the readings, with the family of those like a corrected cloth replaced.

    A replaced reading has `learned` set, and for its confidence how near and how unanimous the
    neighbours are. Raises ScrapstoreError for a correction to a word that is no family.
    """
    for correction in corrections:
        if correction.family not in (*FAMILIES, MULTICOLOUR):
            words = ", ".join((*FAMILIES, MULTICOLOUR))
            msg = f"colour correction: {correction.family!r} is no family; use one of {words}"
            raise ScrapstoreError(msg)
    if not readings or not corrections:
        return tuple(readings)
    from sklearn.neighbors import KNeighborsClassifier

    said = [correction.family for correction in corrections]
    model = KNeighborsClassifier(min(_NEIGHBOURS, len(said)), weights=_nearness)
    model.fit(_places([correction.reading for correction in corrections]), said)
    places = _places(readings)
    apart, _ = model.kneighbors(places, n_neighbors=1)
    near = np.flatnonzero(apart[:, 0] < _REACH)
    learned = list(readings)
    if len(near):
        odds = model.predict_proba(places[near]) * _nearness(apart[near])
        for row, at in zip(odds, near.tolist(), strict=True):
            sure = float(row.max())
            if sure >= _ENOUGH:
                learned[at] = _with_family(readings[at], str(model.classes_[row.argmax()]), sure)
    return tuple(learned)


def _places(readings: Sequence[Reading]) -> FloatArray:
    """Return points (n, 6) whose distance is the mean square of the two colours' distances."""
    both = np.array([(*one.lab, *one.lead_lab) for one in readings], dtype=np.float64)
    return both / float(np.sqrt(2))


def _nearness(apart: FloatArray) -> FloatArray:
    """Return 1 for the same colour, falling to nothing at _REACH (and never quite to 0)."""
    return np.asarray(np.maximum(1 - apart / _REACH, 1e-9), dtype=np.float64)


def _with_family(reading: Reading, word: str, sure: float) -> Reading:
    others = [name for name, _ in reading.shares if name != word]
    kept = [name for name in others if name in reading.accents or name == reading.family]
    return replace(reading, family=word, confidence=sure, accents=tuple(kept), learned=True)

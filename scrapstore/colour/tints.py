"""Tints of near-neutral cloths: the hue that is left in a grey, a white or a black.

Dusty rose, sage and slate are often so grey that people say grey, and a quilter looks for them
under pink, green and blue as well. The tint is what the cloth would be called with more of its own
hue: with lightness and hue kept and chroma raised, it is the first word that is not grey, white or
black. So tints have no borders of their own; they are those of `FAMILY_TABLE`.

A photo says the hue of a pale colour only as well as it says the light: `CAST` either way. A
chroma below twice that is no tint, since white balance may have made it. Of any other the cast may
turn the hue, and every word on that arc is a tint: one word is sure, of several the first is the
likeliest. ``tests.benchmarks.colour_tints`` measures both.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
import numpy.typing as npt

from scrapstore.colour.families import FAMILIES, NEUTRALS, families
from scrapstore.colour.spaces import FloatArray, chroma_hue
from scrapstore.sentences import several

__all__ = ["CAST", "tint_words", "tints"]

CAST: Final = 3.0
"""CIELAB a*, b*: of 100 near-neutral cloths 95 are off by less, balanced by grey patches."""

# Cream counts as white, so what may make a white into cream is no tint of it.
_CREAM: Final = {"yellow", "brown"}

_ARC: Final = (0.0, 0.5, -0.5, 1.0, -1.0)  # of the way that a cast turns a hue, the nearest first
_STRONGER: Final = np.arange(0.0, 60.0, 3.0)  # chroma; a neutral has a word with a hue before


def tints(words: Sequence[str | None], labs: npt.ArrayLike) -> tuple[tuple[str, ...], ...]:
    """Return the tints of each of n cloths, the likeliest first; none for what is not neutral.

    `words` are their families, `labs` (n, 3) the CIELAB colours that lead them.

    >>> tints(["grey", "grey"], [(60, 10, 2), (60, 2, 0)])
    (('pink',), ())
    """
    colours = np.asarray(labs, dtype=np.float64).reshape(-1, 3)
    neutral = np.array([word in NEUTRALS for word in words], dtype=bool)
    tinted = np.flatnonzero(neutral & (chroma_hue(colours)[0] >= 2 * CAST))
    found: list[tuple[str, ...]] = [()] * len(colours)
    for at, arc in zip(tinted.tolist(), _words_on_arc(colours[tinted]), strict=True):
        if words[at] != "white" or _CREAM.isdisjoint(arc):
            found[at] = tuple(dict.fromkeys(arc))
    return tuple(found)


def _words_on_arc(labs: FloatArray) -> list[list[str]]:
    """Return the first words with a hue that colours (n, 3) get with more chroma, along _ARC."""
    chroma, hue_deg = chroma_hue(labs)
    turn = np.arcsin(CAST / chroma)[:, None] * _ARC + np.radians(hue_deg)[:, None]
    grown = (chroma[:, None] + _STRONGER)[:, None, :]
    a, b = grown * np.cos(turn)[..., None], grown * np.sin(turn)[..., None]
    words = families(np.stack([np.broadcast_to(labs[:, 0, None, None], a.shape), a, b], axis=-1))
    hued = ~np.isin(words, [FAMILIES.index(word) for word in NEUTRALS])
    first = np.take_along_axis(words, hued.argmax(axis=-1)[..., None], axis=-1)[..., 0]
    return [[FAMILIES[at] for at in row] for row in first.tolist()]


def tint_words(tinted: Sequence[str]) -> str:
    """Return the tints of one cloth in words; nothing for none.

    >>> tint_words(("pink", "purple"))
    'a little pink or purple'
    """
    return f"a little {several(tinted, 'or')}" if tinted else ""

"""Which plain colour word people use for a colour.

The words are the eleven basic colour terms of English (Berlin and Kay, "Basic Color Terms", 1969);
cream counts as white, since a cream background does a white one's work. People do not cut the hue
circle into bins: brown is a dark orange or a dull yellow, pink a light red, and how little chroma
still makes a grey depends on the hue. So a family is a soft region of hue, chroma and lightness
together: its score is a quadratic form in L*, a*, b*, read from `FAMILY_TABLE`, and the family
with the highest score wins. The table says how it was fitted, and on what.
"""

from typing import Final

import numpy as np
import numpy.typing as npt

from scrapstore.colour.family_table import FAMILY_TABLE
from scrapstore.colour.spaces import FloatArray, srgb_to_lab
from scrapstore.errors import ScrapstoreError

__all__ = [
    "FAMILIES",
    "families",
    "family",
    "family_of_word",
    "family_probabilities",
    "terms",
]

FAMILIES: Final[tuple[str, ...]] = tuple(FAMILY_TABLE)
"""red, orange, yellow, green, blue, purple, pink, brown, white, grey, black."""

_SCORES: Final[FloatArray] = np.array(list(FAMILY_TABLE.values()))

# Other words for the same families, as a quilter may type them to search the store.
_OTHER_WORDS: Final[dict[str, str]] = {
    "gray": "grey", "silver": "grey", "charcoal": "grey", "slate": "grey",
    "cream": "white", "ivory": "white", "off-white": "white", "ecru": "white",
    "beige": "white", "tan": "brown", "chocolate": "brown", "rust": "brown", "khaki": "brown",
    "navy": "blue", "teal": "blue", "turquoise": "blue", "aqua": "blue", "indigo": "purple",
    "violet": "purple", "lilac": "purple", "lavender": "purple", "plum": "purple",
    "mauve": "purple", "burgundy": "red", "maroon": "red", "crimson": "red", "scarlet": "red",
    "rose": "pink", "magenta": "pink", "fuchsia": "pink", "salmon": "pink", "coral": "red",
    "peach": "orange", "apricot": "orange", "gold": "yellow", "mustard": "yellow",
    "lemon": "yellow", "lime": "green", "olive": "green", "mint": "green", "sage": "green",
}  # fmt: skip


def terms(lab: npt.ArrayLike) -> FloatArray:
    """Return the ten terms of the quadratic form, shape (..., 10), of CIELAB (..., 3).

    1, l, a, b, l², a², b², l·a, l·b, a·b with l = (L* − 50) / 50, a = a* / 50, b = b* / 50.
    """
    lightness, a, b = np.moveaxis(np.asarray(lab, dtype=np.float64), -1, 0) / 50
    light = lightness - 1
    one = np.ones_like(light)
    return np.stack([one, light, a, b, light**2, a**2, b**2, light * a, light * b, a * b], axis=-1)


def family_probabilities(lab: npt.ArrayLike) -> FloatArray:
    """Return how likely a person uses each word of FAMILIES; shape (..., 11), rows sum to 1."""
    scores = terms(lab) @ _SCORES.T
    grown = np.exp(scores - scores.max(axis=-1, keepdims=True))
    return np.asarray(grown / grown.sum(axis=-1, keepdims=True), dtype=np.float64)


def families(lab: npt.ArrayLike) -> npt.NDArray[np.intp]:
    """Return the places in FAMILIES of many CIELAB colours; shape (...)."""
    return np.asarray(np.argmax(terms(lab) @ _SCORES.T, axis=-1), dtype=np.intp)


def family(rgb: npt.ArrayLike) -> str:
    """Return the colour word for one sRGB colour, 0 to 255.

    >>> family((0, 0, 128)), family((255, 253, 208)), family((101, 67, 33))
    ('blue', 'white', 'brown')
    """
    return FAMILIES[int(families(srgb_to_lab(rgb)))]


def family_of_word(word: str) -> str:
    """Return the family that a colour word names: itself, or that of a common other word.

    >>> family_of_word("Cream"), family_of_word("gray")
    ('white', 'grey')

    Raises ScrapstoreError for a word that is neither.
    """
    plain = word.strip().lower()
    if plain in FAMILIES:
        return plain
    if plain in _OTHER_WORDS:
        return _OTHER_WORDS[plain]
    msg = f"colour family: {word!r} is not one; use one of {', '.join(FAMILIES)}"
    raise ScrapstoreError(msg)

"""Which plain colour word people use for a colour.

The words are the eleven basic colour terms of English (Berlin and Kay, "Basic Color Terms", 1969);
cream counts as white, since a cream background does a white one's work. People do not cut the hue
circle into bins: brown is a dark orange or a dull yellow, pink a light red, and how little chroma
still makes a grey depends on the hue. So a family is a soft region of hue, chroma and lightness
together: its score is a quadratic form in L*, a*, b*, read from `FAMILY_TABLE`, and the family
with the highest score wins. The table says how it was fitted, and on what.
"""

import re
from typing import Final

import numpy as np
import numpy.typing as npt

from scrapstore.colour.family_table import FAMILY_TABLE
from scrapstore.colour.spaces import FloatArray, srgb_to_lab
from scrapstore.errors import ScrapstoreError
from scrapstore.near_words import did_you_mean

__all__ = [
    "FAMILIES",
    "MULTICOLOUR",
    "NEUTRALS",
    "SAYS_ITS_VALUE",
    "colour_words",
    "families",
    "family",
    "family_of_word",
    "family_probabilities",
    "terms",
]

FAMILIES: Final[tuple[str, ...]] = tuple(FAMILY_TABLE)
"""red, orange, yellow, green, blue, purple, pink, brown, white, grey, black."""

MULTICOLOUR: Final = "multicolour"
"""What a scrap reads as on which no family leads."""

SAYS_ITS_VALUE: Final = ("white", "black")
"""Families whose word says the value as well: white is light, and black is dark."""

NEUTRALS: Final = ("white", "grey", "black")
"""Families of one colour without a hue; what hue is left in one is its tint."""

_SCORES: Final[FloatArray] = np.array(list(FAMILY_TABLE.values()))

# Other words for the same families, as a quilter may type them to search the store.
_OTHER_WORDS: Final[dict[str, str]] = {
    word: family
    for family, words in {
        "grey": "gray silver charcoal slate pewter steel graphite ash stone",
        "white": "cream ivory off-white ecru beige pearl vanilla oatmeal bone champagne natural",
        "brown": "tan chocolate rust khaki sand camel taupe mocha coffee caramel cinnamon copper "
        "bronze fawn sienna umber ochre",
        "blue": "navy teal turquoise aqua cyan cobalt denim sky sapphire cornflower petrol "
        "midnight periwinkle",
        "purple": "indigo violet lilac lavender plum mauve aubergine eggplant heather grape "
        "amethyst orchid",
        "red": "burgundy maroon crimson scarlet coral wine claret ruby cherry brick raspberry",
        "pink": "rose magenta fuchsia salmon blush cerise",
        "orange": "peach apricot terracotta tangerine pumpkin",
        "yellow": "gold mustard lemon amber saffron sunflower marigold canary straw butter",
        "green": "lime olive mint sage emerald forest moss jade seafoam pistachio chartreuse "
        "avocado fern pea",
        "black": "jet ebony ink",
    }.items()
    for word in words.split()
}  # fmt: skip


def colour_words(family: str | None, value: str | None, *, unknown: str) -> str:
    """Return value and family in words; `unknown` stands for a family that is not known.

    >>> colour_words("blue", "light", unknown="?"), colour_words("white", "light", unknown="?")
    ('light blue', 'white')
    """
    own = None if family in SAYS_ITS_VALUE else value
    return " ".join(filter(None, (own, family or unknown)))


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

    Of several words, as in "dusty pink", the last counts. A scrap may also read as `MULTICOLOUR`.

    >>> family_of_word("Cream"), family_of_word("gray"), family_of_word("dusty pink")
    ('white', 'grey', 'pink')

    Raises ScrapstoreError for a word that is neither; it names near ones.
    """
    plain = word.strip().lower()
    for part in (plain, re.split(r"[\s-]+", plain)[-1]):
        if part in (*FAMILIES, MULTICOLOUR):
            return part
        if part in _OTHER_WORDS:
            return _OTHER_WORDS[part]
    words = (*FAMILIES, MULTICOLOUR)
    hint = did_you_mean(plain, (*words, *_OTHER_WORDS), listed=words)
    raise ScrapstoreError(f"{word!r} is no colour word; {hint}")

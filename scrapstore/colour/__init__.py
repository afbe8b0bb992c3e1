"""Colours of cloth: sRGB and CIELAB, differences, dominant colours, the words people use.

Pure: no files, no store, no clock; where chance is needed, a seed comes in. Inside, a colour is
CIELAB under D65; at the edge it is sRGB from 0 to 255.
"""

from scrapstore.colour.corrections import Correction, learn
from scrapstore.colour.difference import delta_e
from scrapstore.colour.families import (
    FAMILIES,
    MULTICOLOUR,
    NEUTRALS,
    SAYS_ITS_VALUE,
    colour_words,
    families,
    family,
    family_of_word,
    family_probabilities,
)
from scrapstore.colour.light import Balance, balance_from_greys, balance_from_paper
from scrapstore.colour.movers import Match, colour_anywhere, most_like
from scrapstore.colour.piles import group_into_piles
from scrapstore.colour.reading import (
    ACCENT_SHARE,
    Reading,
    Value,
    Warmth,
    read_many,
    reads_as,
    relative_values,
)
from scrapstore.colour.spaces import lab_to_srgb, srgb_to_lab
from scrapstore.colour.swatches import Swatch, dominant_colours, swatch
from scrapstore.colour.tints import tint_words, tints
from scrapstore.colour.typical import typical_rgb
from scrapstore.colour.wheel import (
    FAMILY_ORDER,
    HUELESS,
    Relation,
    Suggestion,
    go_together,
    sheet_order,
    wheel_deg,
)

__all__ = [
    "ACCENT_SHARE",
    "FAMILIES",
    "FAMILY_ORDER",
    "HUELESS",
    "MULTICOLOUR",
    "NEUTRALS",
    "SAYS_ITS_VALUE",
    "Balance",
    "Correction",
    "Match",
    "Reading",
    "Relation",
    "Suggestion",
    "Swatch",
    "Value",
    "Warmth",
    "balance_from_greys",
    "balance_from_paper",
    "colour_anywhere",
    "colour_words",
    "delta_e",
    "dominant_colours",
    "families",
    "family",
    "family_of_word",
    "family_probabilities",
    "go_together",
    "group_into_piles",
    "lab_to_srgb",
    "learn",
    "most_like",
    "read_many",
    "reads_as",
    "relative_values",
    "sheet_order",
    "srgb_to_lab",
    "swatch",
    "tint_words",
    "tints",
    "typical_rgb",
    "wheel_deg",
]

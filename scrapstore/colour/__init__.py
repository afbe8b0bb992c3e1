"""Colours of cloth: sRGB and CIELAB, differences, dominant colours, the words people use.

Pure: no files, no store, no clock; where chance is needed, a seed comes in. Inside, a colour is
CIELAB under D65; at the edge it is sRGB from 0 to 255.
"""

from scrapstore.colour.difference import delta_e
from scrapstore.colour.families import (
    FAMILIES,
    families,
    family,
    family_of_word,
    family_probabilities,
)
from scrapstore.colour.reading import MULTICOLOUR, Reading, Value, Warmth, reads_as
from scrapstore.colour.spaces import lab_to_srgb, srgb_to_lab
from scrapstore.colour.swatches import Swatch, dominant_colours, swatch

__all__ = [
    "FAMILIES",
    "MULTICOLOUR",
    "Reading",
    "Swatch",
    "Value",
    "Warmth",
    "delta_e",
    "dominant_colours",
    "families",
    "family",
    "family_of_word",
    "family_probabilities",
    "lab_to_srgb",
    "reads_as",
    "srgb_to_lab",
    "swatch",
]

"""What is tuned in putting a measurement together, with unit and meaning.

Set by hand on rendered photographs (`tests.render`); how far a value may be moved is not known.
"""

from typing import Final

# --- colours ------------------------------------------------------------------------------------
COLOUR_SAMPLES: Final = 2000  # places on a scrap whose colour is read
NEIGHBOUR: Final = 2.5  # px of the photo to the neighbours that a place is compared with
EVEN: Final = 10.0  # sRGB steps between neighbours that are noise
BLENDED: Final = (1.6, 40)  # times this percentile of the differences: more is a blend of two

# --- the grain ----------------------------------------------------------------------------------
NAMED_EDGE: Final = 1.0  # in: shortest straight edge that suggests the grain,
NAMED_SHARE: Final = 0.12  # and its least share of the outline's length
STRAIGHT: Final = 0.5  # in: shorter edges do not count
SQUARE: Final = 5.0  # degrees by which two edges may miss a right angle, or being parallel

# --- what is reported --------------------------------------------------------------------
UNSURE: Final = 0.15  # in of doubt by what is seen of an edge from which on the person is to look
TAUGHT_SQUARES: Final = 4  # squares that teach a lens at least,
TAUGHT_K1: Final = 0.015  # with no larger standard error of its distortion,
LEAST_K1: Final = 0.003  # of which so much is kept in any case
FEW_SQUARES: Final = 3  # fewer, without a known lens, leave far outlines less certain

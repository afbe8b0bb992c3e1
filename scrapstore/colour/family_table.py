"""The scores behind `scrapstore.colour.family`, as numbers one can look at.

Ten numbers a family: its score at mid grey, then the weights of l, a, b, l², a², b², l·a, l·b,
a·b, with l = (L* − 50) / 50, a = a* / 50, b = b* / 50. The highest score wins; the difference of
two scores is the logarithm of how many people say the one word for each who says the other.

Fitted once by ``tests/support/fit_families.py`` (multinomial logistic regression, ridge penalty) on
the names of the xkcd colour survey of 2010 that hold exactly one basic colour word, as matplotlib
carries them (CC0), without the third of them that is held out, and on a few anchors for white,
grey, black and for pale, dull and in-between colours that the script lists. A test refits and
compares.
"""

from typing import Final

__all__ = ["FAMILY_TABLE"]

FAMILY_TABLE: Final[dict[str, tuple[float, ...]]] = {
    "red": (-0.86, -2.15, 2.96, 0.94, -0.68, 3.61, -1.00, -1.30, -0.37, 3.89),
    "orange": (-2.40, 1.48, 3.00, 2.67, 0.18, -0.29, 2.47, 2.26, 1.64, 4.42),
    "yellow": (-4.75, 1.44, -0.24, 2.39, 1.41, -1.63, 4.51, -0.16, 3.33, -0.03),
    "green": (1.77, -0.88, -7.64, 1.81, -0.75, 0.57, 1.22, 0.34, -0.53, -4.67),
    "blue": (1.12, -0.34, -7.74, -9.42, 0.74, 2.31, 4.11, -3.30, -0.48, 0.97),
    "purple": (0.93, -0.14, 5.22, -5.90, -0.31, 0.24, -0.95, -0.98, -2.50, -2.34),
    "pink": (-0.52, 3.12, 5.79, 0.00, -0.79, 3.61, -3.53, 5.49, 1.72, -2.33),
    "brown": (1.40, -1.51, 1.86, 6.67, -0.49, -3.50, -0.34, -2.69, -1.60, 0.81),
    "white": (-1.22, 2.64, -0.17, 0.95, 2.71, -1.53, -1.13, 0.23, 1.31, -0.16),
    "grey": (4.39, 0.47, -2.17, -0.29, -3.81, -2.02, -4.38, -0.89, -2.11, -0.61),
    "black": (0.13, -4.13, -0.88, 0.19, 1.78, -1.37, -0.97, 0.99, -0.41, 0.05),
}  # fmt: skip

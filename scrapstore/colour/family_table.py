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
    "red": (-0.87, -2.16, 2.96, 0.94, -0.67, 3.62, -0.99, -1.30, -0.37, 3.89),
    "orange": (-2.40, 1.49, 3.00, 2.67, 0.19, -0.29, 2.47, 2.26, 1.62, 4.42),
    "yellow": (-4.74, 1.44, -0.24, 2.38, 1.41, -1.63, 4.51, -0.16, 3.33, -0.03),
    "green": (1.76, -0.88, -7.65, 1.82, -0.71, 0.57, 1.22, 0.36, -0.55, -4.67),
    "blue": (1.11, -0.34, -7.73, -9.42, 0.78, 2.33, 4.10, -3.25, -0.45, 0.98),
    "purple": (0.91, -0.13, 5.23, -5.90, -0.26, 0.24, -0.95, -0.98, -2.50, -2.35),
    "pink": (-0.54, 3.14, 5.79, -0.01, -0.75, 3.62, -3.53, 5.47, 1.70, -2.32),
    "brown": (1.40, -1.51, 1.86, 6.69, -0.47, -3.50, -0.34, -2.69, -1.61, 0.81),
    "white": (-1.17, 2.67, -0.17, 0.89, 2.65, -1.56, -1.14, 0.23, 1.28, -0.17),
    "grey": (4.41, 0.42, -2.17, -0.26, -3.97, -2.03, -4.38, -0.93, -2.03, -0.60),
    "black": (0.13, -4.13, -0.88, 0.19, 1.79, -1.37, -0.96, 0.99, -0.41, 0.05),
}  # fmt: skip

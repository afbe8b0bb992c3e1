"""The scores behind `scrapstore.colour.family`, as numbers one can look at.

Ten numbers a family: its score at mid grey, then the weights of l, a, b, l², a², b², l·a, l·b,
a·b, with l = (L* − 50) / 50, a = a* / 50, b = b* / 50. The highest score wins; the difference of
two scores is the logarithm of how many people say the one word for each who says the other.

Fitted once by ``tests/support/fit_families.py`` (multinomial logistic regression, ridge penalty) on
the names of the xkcd colour survey of 2010 that hold exactly one basic colour word, as matplotlib
carries them (CC0), without the third of them that is held out, and on a few anchors for white,
grey, black, pale tints and teal that the script lists. A test refits and compares.
"""

from typing import Final

__all__ = ["FAMILY_TABLE"]

FAMILY_TABLE: Final[dict[str, tuple[float, ...]]] = {
    "red": (-1.84, -1.12, 2.55, 1.17, -0.83, 4.14, -0.57, -1.44, -1.04, 3.73),
    "orange": (-3.17, 0.92, 2.68, 2.24, -0.33, 0.25, 3.06, 1.92, 1.25, 4.41),
    "yellow": (-4.63, 1.49, -0.31, 2.12, 1.45, -1.70, 4.34, -0.19, 3.20, -0.21),
    "green": (1.80, -1.12, -7.07, 1.50, -0.57, 1.23, 1.14, 0.87, -0.24, -4.84),
    "blue": (1.31, -0.40, -7.56, -8.97, 0.90, 2.15, 3.85, -3.11, -0.32, 1.20),
    "purple": (1.21, -0.36, 5.07, -5.21, -0.11, -0.27, -1.03, -1.19, -2.68, -2.49),
    "pink": (-0.39, 3.21, 5.01, -0.13, -0.68, 3.74, -3.84, 5.29, 1.63, -1.87),
    "brown": (1.51, -1.91, 2.34, 5.83, -0.43, -3.64, -0.06, -2.50, -1.46, 0.32),
    "white": (-1.28, 2.64, 0.16, 1.02, 3.00, -1.36, -0.85, 0.45, 1.32, 0.29),
    "grey": (4.97, 0.72, -2.11, 0.13, -4.22, -3.15, -4.88, -1.02, -1.17, -0.67),
    "black": (0.50, -4.06, -0.74, 0.30, 1.82, -1.37, -1.15, 0.92, -0.49, 0.13),
}  # fmt: skip

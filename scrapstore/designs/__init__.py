"""Designs: tops made of placed finished pieces on exact lattices, with their piece lists.

>>> star = make_design("star", piece=1.5, seam=0.25, mark=0.125)
>>> star.rounds
(6, 12, 18, 12, 6)
"""

from scrapstore.designs.catalog import (
    DESIGNS,
    LARGEST_TOP,
    USUAL_SIZE,
    DesignKind,
    DesignOptions,
    make_design,
)
from scrapstore.designs.forms import Design, DesignPiece, PlacedPiece
from scrapstore.designs.own_lattice import make_lattice
from scrapstore.designs.units import (
    METHODS,
    Makes,
    least_square,
    square_parts,
    squares_for,
    squares_needed,
)

__all__ = [
    "DESIGNS",
    "LARGEST_TOP",
    "METHODS",
    "USUAL_SIZE",
    "Design",
    "DesignKind",
    "DesignOptions",
    "DesignPiece",
    "Makes",
    "PlacedPiece",
    "least_square",
    "make_design",
    "make_lattice",
    "square_parts",
    "squares_for",
    "squares_needed",
]

"""The printed squares in the picture give the camera, the lens and the rectified table."""

from scrapstore.photo.scale.checks import (
    enough_squares,
    refuse_no_fit,
    refuse_no_scale,
    refuse_size,
    refuse_solution,
)
from scrapstore.photo.scale.detect import FoundSquare, find_squares
from scrapstore.photo.scale.lens import LensPrior, View, lens_key, prior_for
from scrapstore.photo.scale.paper import Whites, paper_masks, read_whites, sheet_area
from scrapstore.photo.scale.print_scale import PAGE_SIZES, scale_pdf, scale_png
from scrapstore.photo.scale.rectify import FlatTable, flatten
from scrapstore.photo.scale.sampling import LIGHT, area_resize, disc, large_parts, sample
from scrapstore.photo.scale.solve import Solution, solve

__all__ = [
    "LIGHT",
    "PAGE_SIZES",
    "FlatTable",
    "FoundSquare",
    "LensPrior",
    "Solution",
    "View",
    "Whites",
    "area_resize",
    "disc",
    "enough_squares",
    "find_squares",
    "flatten",
    "large_parts",
    "lens_key",
    "paper_masks",
    "prior_for",
    "read_whites",
    "refuse_no_fit",
    "refuse_no_scale",
    "refuse_size",
    "refuse_solution",
    "sample",
    "scale_pdf",
    "scale_png",
    "sheet_area",
    "solve",
]

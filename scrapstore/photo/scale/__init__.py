"""The printed squares in the picture give the camera, the lens and the rectified table."""

from scrapstore.photo.scale.checks import (
    is_trustworthy,
    refuse_no_fit,
    refuse_no_scale,
    refuse_pose,
    refuse_size,
)
from scrapstore.photo.scale.detect import FoundSquare, find_squares
from scrapstore.photo.scale.frames import box_at, rotated
from scrapstore.photo.scale.lens import LensPrior, View, lens_key, prior_for
from scrapstore.photo.scale.paper import GreyReference, paper_masks, read_grey_reference, sheet_area
from scrapstore.photo.scale.pose import CameraPose, estimate_pose
from scrapstore.photo.scale.print_scale import PAGE_SIZES, scale_pdf, scale_png
from scrapstore.photo.scale.rectify import RectifiedImage, rectify
from scrapstore.photo.scale.sampling import LIGHT, area_resize, sample

__all__ = [
    "LIGHT",
    "PAGE_SIZES",
    "CameraPose",
    "FoundSquare",
    "GreyReference",
    "LensPrior",
    "RectifiedImage",
    "View",
    "area_resize",
    "box_at",
    "estimate_pose",
    "find_squares",
    "is_trustworthy",
    "lens_key",
    "paper_masks",
    "prior_for",
    "read_grey_reference",
    "rectify",
    "refuse_no_fit",
    "refuse_no_scale",
    "refuse_pose",
    "refuse_size",
    "rotated",
    "sample",
    "scale_pdf",
    "scale_png",
    "sheet_area",
]

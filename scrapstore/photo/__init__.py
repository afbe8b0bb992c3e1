"""From a picture file to measured scraps.

`measure` is the whole way; `open_photo` and `stored_copy` serve photos whose scrap was measured by
hand; `cut_out` gives the picture of one measured scrap; `scale_pdf` and `scale_png` print the
scale, `preview` draws what was measured.
"""

from scrapstore.photo.copies import StoredCopy, stored_copy
from scrapstore.photo.cut_out import CutOutPicture, cut_out
from scrapstore.photo.decode import Photo, open_photo
from scrapstore.photo.lens import LensProfile
from scrapstore.photo.measure import MeasuredScrap, PlacedSquare, Reading, measure
from scrapstore.photo.preview import preview
from scrapstore.photo.print_scale import PAGE_SIZES, scale_pdf, scale_png
from scrapstore.photo.refusal import Refusal, RefusedError
from scrapstore.photo.squares import OUR_PRINT, Patch, SquareSet

__all__ = [
    "OUR_PRINT",
    "PAGE_SIZES",
    "CutOutPicture",
    "LensProfile",
    "MeasuredScrap",
    "Patch",
    "Photo",
    "PlacedSquare",
    "Reading",
    "Refusal",
    "RefusedError",
    "SquareSet",
    "StoredCopy",
    "cut_out",
    "measure",
    "open_photo",
    "preview",
    "scale_pdf",
    "scale_png",
    "stored_copy",
]

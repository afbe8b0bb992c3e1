"""From a picture file to measured scraps.

`measure` is the whole way; `open_photo` and `stored_copy` serve photos whose scrap was measured by
hand; `cut_out` and `find_cut_out` give the picture of one scrap; `scale_pdf` and `scale_png` print
the scale, `preview` draws what was measured.

The light goes through the rooms in order: `picture`, `scale`, `segmentation`, `outline`,
`measurement`. Each loads its libraries when it is imported, OpenCV from `scale` on, SciPy's
optimiser there as well. So a name of this page is looked up in its room when it is first asked for
(PEP 562): who copies a photo or reads a setting loads no OpenCV.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from scrapstore.photo.forms import CutOutPicture, LensProfile, Refusal, RefusedError
    from scrapstore.photo.measurement import (
        MeasuredScrap,
        Measurement,
        PlacedSquare,
        cut_out,
        measure,
        preview,
        refused_preview,
        said_of_left_out,
    )
    from scrapstore.photo.picture import Photo, StoredCopy, open_photo, stored_copy
    from scrapstore.photo.scale import scale_pdf, scale_png
    from scrapstore.photo.segmentation import cloth_pixels
    from scrapstore.photo.squares import OUR_PRINT, GreyPatch, SquareSet
    from scrapstore.photo.typed_cut_out import find_cut_out

__all__ = [
    "OUR_PRINT",
    "CutOutPicture",
    "GreyPatch",
    "LensProfile",
    "MeasuredScrap",
    "Measurement",
    "Photo",
    "PlacedSquare",
    "Refusal",
    "RefusedError",
    "SquareSet",
    "StoredCopy",
    "cloth_pixels",
    "cut_out",
    "find_cut_out",
    "measure",
    "open_photo",
    "preview",
    "refused_preview",
    "said_of_left_out",
    "scale_pdf",
    "scale_png",
    "stored_copy",
]

_LIGHT_FIRST = (
    "forms",
    "squares",
    "picture",
    "scale",
    "segmentation",
    "typed_cut_out",
    "measurement",
)

if not TYPE_CHECKING:

    def __getattr__(name: str) -> object:
        """Return a public name from the first room that hands it on."""
        for room in _LIGHT_FIRST if name in __all__ else ():
            module = import_module(f"{__name__}.{room}")
            if name in module.__all__:
                return getattr(module, name)
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")

"""The printed squares in the picture give the camera, the lens and the rectified table."""

from scrapstore.photo.scale.frames import box_at, rotated
from scrapstore.photo.scale.lens import View, lens_key
from scrapstore.photo.scale.paper import GreyReference
from scrapstore.photo.scale.pose import CameraPose
from scrapstore.photo.scale.print_scale import scale_pdf, scale_png
from scrapstore.photo.scale.read import TableScale, read_scale
from scrapstore.photo.scale.rectify import RectifiedImage
from scrapstore.photo.scale.sampling import LIGHT, area_resize, sample

__all__ = [
    "LIGHT",
    "CameraPose",
    "GreyReference",
    "RectifiedImage",
    "TableScale",
    "View",
    "area_resize",
    "box_at",
    "lens_key",
    "read_scale",
    "rotated",
    "sample",
    "scale_pdf",
    "scale_png",
]

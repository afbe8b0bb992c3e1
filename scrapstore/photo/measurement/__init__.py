"""The whole way from a photo to measured scraps, and the pictures that show what was measured."""

from scrapstore.photo.measurement.cut_out import cut_out
from scrapstore.photo.measurement.left_out import said_of_left_out
from scrapstore.photo.measurement.measure import MeasuredScrap, Measurement, PlacedSquare, measure
from scrapstore.photo.measurement.preview import preview, refused_preview

__all__ = [
    "MeasuredScrap",
    "Measurement",
    "PlacedSquare",
    "cut_out",
    "measure",
    "preview",
    "refused_preview",
    "said_of_left_out",
]

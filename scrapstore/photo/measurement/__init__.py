"""The whole way from a photo to measured scraps, and the pictures that show what was measured."""

from scrapstore.photo.measurement.cut_out import cut_out
from scrapstore.photo.measurement.measure import MeasuredScrap, PlacedSquare, Reading, measure
from scrapstore.photo.measurement.preview import preview

__all__ = ["MeasuredScrap", "PlacedSquare", "Reading", "cut_out", "measure", "preview"]

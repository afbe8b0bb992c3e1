"""Which pixels of the rectified table are scraps: background, candidates, single scraps."""

from scrapstore.photo.segmentation.candidates import NARROWEST, Thing, outer_ring
from scrapstore.photo.segmentation.cells import light_of, log_opponent
from scrapstore.photo.segmentation.cloth_pixels import cloth_pixels
from scrapstore.photo.segmentation.likeness import (
    CAP,
    MOST_NOISE,
    WEIGHTS,
    Palette,
    distance_to_colours,
    distance_to_shaded,
    doubts,
)
from scrapstore.photo.segmentation.region import Sides
from scrapstore.photo.segmentation.scraps import Segment, Segmentation, Table, find_segments

__all__ = [
    "CAP",
    "MOST_NOISE",
    "NARROWEST",
    "WEIGHTS",
    "Palette",
    "Segment",
    "Segmentation",
    "Sides",
    "Table",
    "Thing",
    "cloth_pixels",
    "distance_to_colours",
    "distance_to_shaded",
    "doubts",
    "find_segments",
    "light_of",
    "log_opponent",
    "outer_ring",
]

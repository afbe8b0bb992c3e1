"""Which pixels of the rectified table are scraps: background, candidates, single scraps."""

from scrapstore.photo.segmentation.candidates import NARROWEST, Candidate, outer_ring
from scrapstore.photo.segmentation.cells import light_of, log_opponent
from scrapstore.photo.segmentation.cloth_pixels import cloth_pixels
from scrapstore.photo.segmentation.colour_model import (
    CAP,
    MOST_NOISE,
    WEIGHTS,
    ColourModel,
    Palette,
    ambiguity_penalties,
    distance_to_background,
    distances_to_palette,
)
from scrapstore.photo.segmentation.scraps import Segment, Segmentation, Table, segment_scraps

__all__ = [
    "CAP",
    "MOST_NOISE",
    "NARROWEST",
    "WEIGHTS",
    "Candidate",
    "ColourModel",
    "Palette",
    "Segment",
    "Segmentation",
    "Table",
    "ambiguity_penalties",
    "cloth_pixels",
    "distance_to_background",
    "distances_to_palette",
    "light_of",
    "log_opponent",
    "outer_ring",
    "segment_scraps",
]

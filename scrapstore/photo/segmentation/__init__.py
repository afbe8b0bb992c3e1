"""Which pixels of the rectified table are scraps: background, candidates, single scraps."""

from scrapstore.photo.segmentation.candidates import Candidate
from scrapstore.photo.segmentation.cloth_pixels import cloth_pixels
from scrapstore.photo.segmentation.colour_model import (
    ColourModel,
    Palette,
    above_noise,
    ambiguity_penalties,
    distance_to_background,
    distances_to_palette,
    noise_of,
    weighted,
)
from scrapstore.photo.segmentation.masks import (
    closed,
    filled,
    opened,
    outer_ring,
    rings_of,
    square,
)
from scrapstore.photo.segmentation.opponent import light_of, log_opponent
from scrapstore.photo.segmentation.rim_background import fit_rim_background
from scrapstore.photo.segmentation.scraps import Segment, Segmentation, Table, segment_scraps
from scrapstore.photo.segmentation.tuning import LEAST_WIDTH, MOST_DISTANCE

__all__ = [
    "LEAST_WIDTH",
    "MOST_DISTANCE",
    "Candidate",
    "ColourModel",
    "Palette",
    "Segment",
    "Segmentation",
    "Table",
    "above_noise",
    "ambiguity_penalties",
    "closed",
    "cloth_pixels",
    "distance_to_background",
    "distances_to_palette",
    "filled",
    "fit_rim_background",
    "light_of",
    "log_opponent",
    "noise_of",
    "opened",
    "outer_ring",
    "rings_of",
    "segment_scraps",
    "square",
    "weighted",
]

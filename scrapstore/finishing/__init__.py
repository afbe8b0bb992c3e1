"""Finishing a top: sizes from the pieced one to the cover, its back, its binding."""

from scrapstore.finishing.back import (
    BackPiece,
    back_pieces,
    lap_of,
    lapped_hems,
    zip_length,
)
from scrapstore.finishing.binding import (
    binding_length,
    plan_binding,
    plan_without_strips,
    sewing_stops,
    strip_width,
    strips_across,
)
from scrapstore.finishing.forms import BindingPlan, PlacedStrip, StripEnds
from scrapstore.finishing.joining import end_loss
from scrapstore.finishing.outline import TopOutline, hexagon, measured_outline, rectangle
from scrapstore.finishing.rests import strip_rests
from scrapstore.finishing.sizes import FinishNeeds, FinishSizes, plan_sizes
from scrapstore.finishing.wishes import BackKind, BackWish, BindingWish, QuiltingWish

__all__ = [
    "BackKind",
    "BackPiece",
    "BackWish",
    "BindingPlan",
    "BindingWish",
    "FinishNeeds",
    "FinishSizes",
    "PlacedStrip",
    "QuiltingWish",
    "StripEnds",
    "TopOutline",
    "back_pieces",
    "binding_length",
    "end_loss",
    "hexagon",
    "lap_of",
    "lapped_hems",
    "measured_outline",
    "plan_binding",
    "plan_sizes",
    "plan_without_strips",
    "rectangle",
    "sewing_stops",
    "strip_rests",
    "strip_width",
    "strips_across",
    "zip_length",
]

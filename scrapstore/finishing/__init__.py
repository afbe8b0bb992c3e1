"""Finishing a quilted top: the binding, whether it reaches and where to start it."""

from scrapstore.finishing.binding import plan_binding, sewing_stops, strip_width
from scrapstore.finishing.forms import BindingPlan, PlacedStrip, StripEnds
from scrapstore.finishing.joining import end_loss
from scrapstore.finishing.outline import TopOutline, hexagon, measured_outline, rectangle

__all__ = [
    "BindingPlan",
    "PlacedStrip",
    "StripEnds",
    "TopOutline",
    "end_loss",
    "hexagon",
    "measured_outline",
    "plan_binding",
    "rectangle",
    "sewing_stops",
    "strip_width",
]

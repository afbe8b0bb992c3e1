"""Finishing a quilted top: the binding, whether it reaches and where to start it."""

from scrapstore.finishing.binding import plan_binding, sewing_stops, strip_width
from scrapstore.finishing.forms import BindingPlan, PlacedStrip, StripEnds
from scrapstore.finishing.joining import end_loss

__all__ = [
    "BindingPlan",
    "PlacedStrip",
    "StripEnds",
    "end_loss",
    "plan_binding",
    "sewing_stops",
    "strip_width",
]

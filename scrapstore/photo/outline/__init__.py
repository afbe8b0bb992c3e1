"""The exact outline of each scrap: its edge to a fraction of a pixel, its corners, its doubt."""

from scrapstore.photo.outline.trace import TracedScrap, trace_scraps
from scrapstore.photo.outline.uncertainty import (
    EdgeSigns,
    edge_signs,
    outline_uncertainty,
    sign_uncertainty,
)

__all__ = [
    "EdgeSigns",
    "TracedScrap",
    "edge_signs",
    "outline_uncertainty",
    "sign_uncertainty",
    "trace_scraps",
]

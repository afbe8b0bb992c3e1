"""The exact outline of each scrap: its edge to a fraction of a pixel, its corners, its doubt."""

from scrapstore.photo.outline.trace import TracedScrap, trace_scraps
from scrapstore.photo.outline.uncertainty import outline_uncertainty, visibility_uncertainty

__all__ = ["TracedScrap", "outline_uncertainty", "trace_scraps", "visibility_uncertainty"]

"""The exact outline of each scrap: its edge to a fraction of a pixel, its corners, its doubt."""

from scrapstore.photo.outline.trace import Found, trace_scraps
from scrapstore.photo.outline.uncertainty import guessed, outline_uncertainty

__all__ = ["Found", "guessed", "outline_uncertainty", "trace_scraps"]

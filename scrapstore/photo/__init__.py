"""From a picture file to measured scraps."""

from scrapstore.photo.copies import StoredCopy, stored_copy
from scrapstore.photo.decode import Photo, open_photo
from scrapstore.photo.squares import OUR_PRINT, Patch, SquareSet

__all__ = ["OUR_PRINT", "Patch", "Photo", "SquareSet", "StoredCopy", "open_photo", "stored_copy"]

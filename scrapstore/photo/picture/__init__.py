"""A picture file: opened safely, read for what the camera wrote, copied without private data."""

from scrapstore.photo.picture.colourless import is_greyscale, is_toned
from scrapstore.photo.picture.copies import StoredCopy, stored_copy
from scrapstore.photo.picture.decode import Photo, decode_photo, open_photo, to_srgb
from scrapstore.photo.picture.metadata import Shot
from scrapstore.photo.picture.photo_files import photos_in

__all__ = [
    "Photo",
    "Shot",
    "StoredCopy",
    "decode_photo",
    "is_greyscale",
    "is_toned",
    "open_photo",
    "photos_in",
    "stored_copy",
    "to_srgb",
]

"""How a scrap looks on a sheet: its picture, else its colour."""

from io import BytesIO
from typing import Final

import numpy as np
import numpy.typing as npt

from scrapstore.colour import typical_rgb
from scrapstore.report.forms import ClothPicture
from scrapstore.store import Scrap, Store

__all__ = ["cloth_picture", "plain_rgb", "small_photo"]

_PHOTO_SIDE: Final = 640
"""Pixels of a photo in which a scrap of typed size is looked for."""
_ON_EDGE: Final = 1e-6  # inches
_BLANK: Final = (236, 234, 228)


def cloth_picture(store: Store, scrap: Scrap, longest: int) -> ClothPicture | None:
    """Return the picture of the cloth alone, at most `longest` pixels a side.

    None for a scrap that was not measured from its photo and cannot be found in it.
    """
    kept = store.cut_out(scrap)
    if kept is not None:
        return ClothPicture(_shrunk(kept.data, longest), kept.box)
    if scrap.photo is not None and scrap.parent_id is not None:
        return _of_parent(store, scrap, scrap.parent_id, longest)
    pixels = _pixels(store, scrap)
    if pixels is None:
        return None
    from scrapstore.photo import find_cut_out  # heavy, and seldom needed

    found = find_cut_out(pixels, scrap.outline, scrap.swatches)
    return None if found is None else ClothPicture(found.data, found.box)


def _of_parent(store: Store, scrap: Scrap, parent_id: int, longest: int) -> ClothPicture | None:
    """Return the parent's picture, for an offcut that lies in it: the photo shows it whole."""
    with store.read() as reader:
        parent = reader.scrap(parent_id)
    lies_in_it = scrap.outline.within(parent.outline.buffer(_ON_EDGE))
    return cloth_picture(store, parent, longest) if lies_in_it else None


def plain_rgb(scrap: Scrap) -> tuple[int, int, int]:
    """Return one colour for a scrap without a picture: its largest, else one of its family."""
    if scrap.swatches:
        return max(scrap.swatches, key=lambda one: one.share).rgb
    if scrap.shown_family is None:
        return _BLANK
    return typical_rgb(scrap.shown_family, scrap.shown_value)


def small_photo(store: Store, scrap: Scrap, longest: int) -> bytes | None:
    """Return a small JPEG of a scrap's photo; None without one, or when it cannot be read."""
    from PIL import Image

    pixels = _pixels(store, scrap)
    if pixels is None:
        return None
    image = Image.fromarray(pixels)
    image.thumbnail((longest, longest))
    content = BytesIO()
    image.save(content, "JPEG", quality=80)
    return content.getvalue()


def _shrunk(picture: bytes, longest: int) -> bytes:
    """Return a JPEG no larger than it is shown, so that a page of hundreds still opens."""
    from PIL import Image

    with Image.open(BytesIO(picture)) as image:
        if max(image.size) <= longest:
            return picture
        image.thumbnail((longest, longest))
        small = BytesIO()
        image.save(small, "JPEG", quality=84)
    return small.getvalue()


def _pixels(store: Store, scrap: Scrap) -> npt.NDArray[np.uint8] | None:
    """Return a scrap's photo about `_PHOTO_SIDE` pixels large; None when it cannot be read."""
    from PIL import Image, ImageOps, UnidentifiedImageError

    data = None if scrap.photo is None else store.picture(scrap.photo.file_name)
    if data is None:
        return None
    try:
        with Image.open(BytesIO(data)) as image:
            image.draft("RGB", (_PHOTO_SIDE, _PHOTO_SIDE))
            upright = ImageOps.exif_transpose(image).convert("RGB")
    except (OSError, UnidentifiedImageError, Image.DecompressionBombError):
        return None
    upright.thumbnail((_PHOTO_SIDE, _PHOTO_SIDE))  # what is no JPEG comes in full size
    return np.asarray(upright, dtype=np.uint8)

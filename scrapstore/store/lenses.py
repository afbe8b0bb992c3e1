"""Lenses learned from photos with loose squares, kept by camera and focal length.

Called inside `Store.read` and `Store.change`. What was learned first stays until it is forgotten,
so that a photo measures the same tomorrow.
"""

from scrapstore.errors import NotFoundError
from scrapstore.store.convert import form_of_row
from scrapstore.store.forms import Lens, NewLens
from scrapstore.store.models import LENSES
from scrapstore.store.reader import Reader
from scrapstore.store.writer import Writer

__all__ = ["forget_lens", "keep_lens", "lenses"]


def lenses(reader: Reader) -> tuple[Lens, ...]:
    """Return the kept lenses in the order they were learned."""
    rows = reader.rows(LENSES)
    photos = reader.photos_by_number({row["photo_id"] for row in rows})
    return tuple(form_of_row(Lens, row | {"photo": photos.get(row["photo_id"])}) for row in rows)


def keep_lens(writer: Writer, lens: NewLens) -> bool:
    """Keep `lens`, and return whether that was news: one of that name stays as it is."""
    if any(kept.name == lens.name for kept in lenses(writer)):
        return False
    writer.add_row(LENSES, lens)
    return True


def forget_lens(writer: Writer, number: int) -> Lens:
    """Take a lens out and return what it was; NotFoundError names those there are."""
    kept = lenses(writer)
    for lens in kept:
        if lens.id == number:
            writer.remove_row(LENSES, number)
            return lens
    names = ", ".join(f"{lens.id} ({lens.name})" for lens in kept) or "none at all"
    raise NotFoundError(f"no lens has the number {number}; kept: {names}")

"""Lenses learned from photos with loose squares, kept by camera and focal length.

Called inside `Store.read` and `Store.change`. What was learned first stays until it is forgotten,
so that a photo measures the same tomorrow.
"""

from datetime import UTC, datetime

from sqlalchemy import select
from sqlalchemy.orm import joinedload

from scrapstore.errors import NotFoundError
from scrapstore.store.convert import photo_of_row
from scrapstore.store.forms import Lens, NewLens
from scrapstore.store.models import LensRow
from scrapstore.store.reader import Reader
from scrapstore.store.writer import Writer

__all__ = ["forget_lens", "keep_lens", "lenses"]


def lenses(reader: Reader) -> tuple[Lens, ...]:
    """Return the kept lenses in the order they were learned."""
    query = select(LensRow).options(joinedload(LensRow.photo)).order_by(LensRow.id)
    return tuple(_lens_of_row(row) for row in reader.session.scalars(query))


def keep_lens(writer: Writer, lens: NewLens) -> bool:
    """Keep `lens`, and tell whether that was news: one of that name stays as it is."""
    session = writer.session
    if session.scalar(select(LensRow.id).where(LensRow.name == lens.name)) is not None:
        return False
    session.add(
        LensRow(
            name=lens.name,
            focal=lens.focal,
            k1=lens.k1,
            focal_sigma=lens.focal_sigma,
            k1_sigma=lens.k1_sigma,
            photo_id=None if lens.photo is None else lens.photo.id,
            created=datetime.now(UTC),
        )
    )
    session.flush()
    return True


def forget_lens(writer: Writer, number: int) -> Lens:
    """Take a lens out and return what it was; NotFoundError names those there are."""
    session = writer.session
    known = 0 <= number < 2**63  # no more than SQLite counts to
    query = select(LensRow).options(joinedload(LensRow.photo)).where(LensRow.id == number)
    row = session.scalar(query) if known else None
    if row is None:
        kept = ", ".join(f"{lens.id} ({lens.name})" for lens in lenses(writer)) or "none at all"
        raise NotFoundError(f"no lens has the number {number}; kept: {kept}")
    lens = _lens_of_row(row)
    session.delete(row)
    session.flush()
    return lens


def _lens_of_row(row: LensRow) -> Lens:
    return Lens(
        id=row.id,
        created=row.created,
        name=row.name,
        focal=row.focal,
        k1=row.k1,
        focal_sigma=row.focal_sigma,
        k1_sigma=row.k1_sigma,
        photo=None if row.photo is None else photo_of_row(row.photo),
    )

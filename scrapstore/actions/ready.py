"""``ready``: adding pieces that are cut already."""

from dataclasses import replace

from scrapstore.errors import ShapeError, UsageError
from scrapstore.shapes import bounding_sides
from scrapstore.stock_entry.words import named_fabric
from scrapstore.store import NewReadyCut, ReadyCut, Store
from scrapstore.units import LONGEST_SCRAP, format_length

__all__ = ["add_ready_cut"]


def add_ready_cut(
    store: Store, pieces: NewReadyCut, *, fabric: str | None = None, make_fabric: bool = False
) -> ReadyCut:
    """Add a lot of ready-cut pieces of the fabric called `fabric`."""
    if not 1 <= pieces.count <= 1_000_000:
        raise UsageError(f"count: {pieces.count} pieces will not do; give at least 1")
    if bounding_sides(pieces.cut)[0] > LONGEST_SCRAP:
        longest = format_length(bounding_sides(pieces.cut)[0])
        msg = f"a piece {longest} long is larger than any scrap; check the size and its unit"
        raise ShapeError(msg)
    with store.change("ready add") as writer:
        cloth = named_fabric(writer, fabric, make=make_fabric)
        return writer.add_ready_cut(replace(pieces, fabric=cloth))

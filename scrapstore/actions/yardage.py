"""``yardage``: adding lengths of fabric, and editing them."""

from collections.abc import Mapping, Sequence
from typing import Any

from scrapstore.actions.stock import YARDAGE, edit_stock
from scrapstore.errors import UsageError
from scrapstore.stock_entry.sizes import checked_yardage
from scrapstore.stock_entry.words import named_fabric, text_or_none
from scrapstore.store import NewYardage, Store, Yardage

__all__ = ["add_yardage", "edit_yardage"]


def add_yardage(
    store: Store,
    *,
    fabric: str,
    length: float,
    usable_width: float | None = None,
    place: str | None = None,
    note: str | None = None,
    make_fabric: bool = False,
) -> Yardage:
    """Add a length of the fabric called `fabric`, in inches along the selvage.

    A fabric that the store does not know is added when `make_fabric`, else NotFoundError.
    """
    checked_yardage(length, usable_width)
    with store.change("yardage add") as writer:
        cloth = named_fabric(writer, text_or_none(fabric), make=make_fabric)
        if cloth is None:
            raise UsageError("yardage is a length of a fabric; name the fabric: --fabric NAME")
        new = NewYardage(
            fabric=cloth, length=length, usable_width=usable_width, place=place, note=note
        )
        return writer.add_yardage(new)


def edit_yardage(
    store: Store,
    numbers: Sequence[int],
    changes: Mapping[str, Any],
    *,
    make_fabric: bool = False,
) -> tuple[Yardage, ...]:
    """Change the same fields of several lengths, as `edit_stock` does; LengthError as adding."""
    checked_yardage(changes.get("length"), changes.get("usable_width"))
    if not changes.get("fabric", "not given"):
        raise UsageError("yardage is a length of a fabric; name another fabric, or leave it out")
    return edit_stock(store, YARDAGE, numbers, changes, make_fabric=make_fabric)

"""``crumbs``: adding a bag of strings and crumbs."""

from dataclasses import replace

from scrapstore.stock_entry.words import named_fabric
from scrapstore.store import Crumbs, NewCrumbs, Store

__all__ = ["add_crumbs"]


def add_crumbs(
    store: Store, crumbs: NewCrumbs, *, fabric: str | None = None, make_fabric: bool = False
) -> Crumbs:
    """Add a bag, of the fabric called `fabric`."""
    with store.change("crumbs add") as writer:
        cloth = named_fabric(writer, fabric, make=make_fabric)
        return writer.add_crumbs(replace(crumbs, fabric=cloth))

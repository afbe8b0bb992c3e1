"""``batting``, ``form``, ``zip``: adding what a cover takes beside its cloth."""

from dataclasses import replace

from scrapstore.errors import UsageError
from scrapstore.stock_entry.words import named_fabric
from scrapstore.store import NewNotion, Notion, Store

__all__ = ["add_notion"]


def add_notion(
    store: Store, notion: NewNotion, *, fabric: str | None = None, make_fabric: bool = False
) -> Notion:
    """Add batting, forms or zips, of the fabric called `fabric`."""
    if not 1 <= notion.count <= 10_000:
        raise UsageError(f"count: {notion.count} will not do; give 1 to 10000")
    with store.change(f"{notion.kind} add") as writer:
        cloth = named_fabric(writer, fabric, make=make_fabric)
        return writer.add_notion(replace(notion, fabric=cloth))

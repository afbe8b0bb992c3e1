"""``binding``: adding binding strips."""

from dataclasses import replace

from scrapstore.errors import UsageError
from scrapstore.stock_entry.sizes import checked_yardage
from scrapstore.stock_entry.words import named_fabric
from scrapstore.store import BindingStrip, NewBindingStrip, Store

__all__ = ["add_binding_strips"]


def add_binding_strips(
    store: Store,
    strip: NewBindingStrip,
    *,
    count: int = 1,
    fabric: str | None = None,
    make_fabric: bool = False,
) -> tuple[BindingStrip, ...]:
    """Add `count` binding strips alike, of the fabric called `fabric`."""
    if not 1 <= count <= 10_000:
        raise UsageError(f"count: {count} strips at once will not do; give 1 to 10000")
    checked_yardage(strip.length, strip.width)
    with store.change("binding add") as writer:
        cloth = named_fabric(writer, fabric, make=make_fabric)
        new = replace(strip, fabric=cloth)
        return tuple(writer.add_binding_strip(new) for _ in range(count))

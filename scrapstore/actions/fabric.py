"""Fabrics: add, list, edit, retire, bring back."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from scrapstore.errors import UsageError
from scrapstore.stock_entry.sizes import checked_yardage
from scrapstore.store import (
    BindingStrip,
    Fabric,
    NewFabric,
    ReadyCut,
    Scrap,
    StockFilter,
    Store,
    Yardage,
)

__all__ = [
    "FabricDetail",
    "add_fabric",
    "edit_fabrics",
    "list_fabrics",
    "retire_fabrics",
    "show_fabric",
]


@dataclass(frozen=True, kw_only=True)
class FabricDetail:
    """A fabric with everything available of it."""

    fabric: Fabric
    scraps: tuple[Scrap, ...]
    yardage: tuple[Yardage, ...]
    ready_cut: tuple[ReadyCut, ...]
    binding: tuple[BindingStrip, ...]


def add_fabric(store: Store, fabric: NewFabric) -> Fabric:
    """Add a fabric; StoreError when its name is taken, LengthError for a width beyond fabric's."""
    checked_yardage(None, fabric.usable_width)
    with store.change("fabric add") as writer:
        return writer.add_fabric(fabric)


def list_fabrics(
    store: Store,
    *,
    retired: bool = False,
    families: Sequence[str] = (),
    values: Sequence[str] = (),
) -> tuple[Fabric, ...]:
    """Return the fabrics by name, the retired ones too when asked for."""
    with store.read() as reader:
        return tuple(
            fabric
            for fabric in reader.fabrics(retired=retired)
            if (not families or fabric.family in families)
            and (not values or fabric.value in values)
        )


def show_fabric(store: Store, name: str) -> FabricDetail:
    """Return a fabric and what is available of it; NotFoundError."""
    with store.read() as reader:
        fabric = reader.fabric(name)
        only = StockFilter(fabrics=(fabric.name,))
        return FabricDetail(
            fabric=fabric,
            scraps=reader.scraps(only),
            yardage=reader.yardage(only),
            ready_cut=reader.ready_cut(only),
            binding=reader.binding_strips(only),
        )


def edit_fabrics(
    store: Store, names: Sequence[str], changes: Mapping[str, Any], *, what: str = "edit"
) -> tuple[Fabric, ...]:
    """Change the same fields of several fabrics, all or none; return them as they now are.

    `changes` holds fields of the working form; one that is not there stays, None empties it.
    """
    if not changes:
        raise UsageError("nothing to change was given; name a field, for example --fibre cotton")
    if changes.get("name") and len(names) > 1:
        raise UsageError("only one fabric at a time can be given a new name")
    checked_yardage(None, changes.get("usable_width"))
    with store.change(f"fabric {what}") as writer:
        fabrics = [writer.fabric(name) for name in dict.fromkeys(names)]
        return tuple(writer.update_fabric(replace(fabric, **changes)) for fabric in fabrics)


def retire_fabrics(store: Store, names: Sequence[str], *, back: bool = False) -> tuple[Fabric, ...]:
    """Take fabrics off the list (or bring them back); what there is of them stays."""
    what = "reinstate" if back else "retire"
    return edit_fabrics(store, names, {"retired": not back}, what=what)

"""Scraps: add by typed size, show with offcuts, edit several at once, use up, bring back."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import shapely
from shapely import Polygon

from scrapstore.actions.stock import SCRAP, edit_stock, list_stock, refuse_cut_up, set_status
from scrapstore.colour import reads_as
from scrapstore.errors import StoreError, UsageError
from scrapstore.shapes.typed_outlines import checked_margin
from scrapstore.stock_entry.words import named_fabric, project_called
from scrapstore.store import NewScrap, Reader, Scrap, StockFilter, Store
from scrapstore.units import format_area

__all__ = [
    "ScrapDetail",
    "add_scraps",
    "edit_scraps",
    "list_scraps",
    "refuse_cut_up_scrap",
    "reinstate_scraps",
    "retire_scraps",
    "show_scrap",
]

_MOST_AT_ONCE = 10_000
_CLOSE = 1 / 16
"""Inches by which an outline may be put right and still be the same in a picture."""
_MEASURED_SO_WELL = 1.05
"""Offcuts may be together as much larger than their parent was: sizes are not exact."""
_READ_FROM_PHOTO = ("family", "accents", "value")


@dataclass(frozen=True, kw_only=True)
class ScrapDetail:
    """One scrap with what was cut off it."""

    scrap: Scrap
    offcuts: tuple[Scrap, ...]


def add_scraps(
    store: Store,
    scrap: NewScrap,
    *,
    count: int = 1,
    fabric: str | None = None,
    make_fabric: bool = False,
    own: Collection[str] = (),
    parent_used_up: bool = False,
) -> tuple[Scrap, ...]:
    """Add `count` scraps alike, of the fabric called `fabric`.

    A fabric that the store does not know is added when `make_fabric`, else NotFoundError. An offcut
    has from its parent what it does not say itself; `own` names further fields that it does not
    take over. `parent_used_up` marks the parent as used up; StoreError when it still counts.
    """
    if not 1 <= count <= _MOST_AT_ONCE:
        msg = f"count: {count} scraps at once will not do; give 1 to {_MOST_AT_ONCE}"
        raise UsageError(msg)
    with store.change("scrap add") as writer:
        cloth = named_fabric(writer, fabric, make=make_fabric)
        new = replace(scrap, fabric=cloth or scrap.fabric)
        if new.from_project:
            new = replace(new, from_project=project_called(writer, new.from_project))
        if new.parent_id is not None:
            parent = writer.scrap(new.parent_id)
            new = _offcut(parent, new, own)
            _refuse_counting_twice(writer, parent, count * new.outline.area, parent_used_up)
            if parent_used_up and parent.status != "used up":
                writer.update_scrap(replace(parent, status="used up", set_aside_for=None))
        return tuple(writer.add_scrap(new) for _ in range(count))


def _offcut(parent: Scrap, new: NewScrap, own: Collection[str]) -> NewScrap:
    """Return `new` with what it has from its parent: where it says nothing, and not in `own`.

    Its grain is the parent's direction: an offcut is typed as it lay there.
    """
    fields = ("fabric", "grain_deg", "place", "from_project", "family", "accents", "value")
    taken = {
        field: getattr(parent, field)
        for field in fields
        if field not in own and getattr(new, field) in (None, ())
    }
    if not new.swatches:
        said = {field for field in _READ_FROM_PHOTO if field not in taken}
        corrected = tuple(sorted({*parent.corrected, *said})) if parent.swatches else ()
        taken |= {"swatches": parent.swatches, "corrected": corrected}
    return replace(new, **taken)


def _refuse_counting_twice(
    reader: Reader, parent: Scrap, area: float, parent_used_up: bool
) -> None:
    """Raise StoreError when cloth of `parent` would count twice with `area` more cut off it."""
    if parent.status != "used up" and not parent_used_up:
        msg = (
            f"scrap {parent.id} is still in the store whole, so an offcut of it would count its "
            "cloth twice; when it has been cut, add --parent-used-up, else leave --parent out"
        )
        raise StoreError(msg)
    before = sum(scrap.area for scrap in reader.offcuts(parent.id))
    if before + area > _MEASURED_SO_WELL * parent.area:
        whole, together = (format_area(one) for one in (parent.area, before + area))
        msg = (
            f"scrap {parent.id} was {whole}, and its offcuts would be {together} together; check "
            "the size and the number of the parent"
        )
        raise StoreError(msg)


def list_scraps(store: Store, only: StockFilter) -> tuple[Scrap, ...]:
    """Return the scraps that `only` lets through, by number, the softer answers last.

    NotFoundError for a fabric there is not.
    """
    found = list_stock(store, SCRAP, only)
    return tuple(
        sorted(found, key=lambda one: only.softness(one.shown_family, one.accents, one.tints) or 0)
    )


def show_scrap(store: Store, number: int) -> ScrapDetail:
    """Return one scrap and its offcuts; NotFoundError."""
    with store.read() as reader:
        return ScrapDetail(scrap=reader.scrap(number), offcuts=reader.offcuts(number))


def edit_scraps(
    store: Store,
    numbers: Sequence[int],
    changes: Mapping[str, Any],
    *,
    make_fabric: bool = False,
    fill_holes: bool = False,
) -> tuple[Scrap, ...]:
    """Change the same fields of several scraps, as `edit_stock` does.

    `fill_holes`: their holes are none, but print; the outline stays what it is otherwise.

    What the user says of `family`, `accents` or `value` wins over what the photo reads as, and is
    noted as a correction; None goes back to the photo. A new outline for a scrap with flaws or a
    known grain is refused unless these are given anew: where they lie in it, nobody knows.
    """
    if changes.get("status") in ("available", "set aside") or changes.get("set_aside_for"):
        with store.read() as reader:
            for number in numbers:
                refuse_cut_up_scrap(reader, number)
    if fill_holes and "outline" in changes:
        raise UsageError("a typed size has no holes to fill; give one of the two")
    if fill_holes:
        changes = {**changes, "outline": None}  # each scrap's own, without its holes
    return edit_stock(store, SCRAP, numbers, changes, make_fabric=make_fabric, refine=_refined)


def retire_scraps(store: Store, numbers: Sequence[int]) -> tuple[Scrap, ...]:
    """Mark scraps as used up."""
    return set_status(store, SCRAP, numbers, "used up", what="retire")


def reinstate_scraps(store: Store, numbers: Sequence[int]) -> tuple[Scrap, ...]:
    """Make scraps available again, whether used up or set aside.

    StoreError for one that was cut up: its offcuts are in the store in its place.
    """
    with store.read() as reader:
        for number in numbers:
            refuse_cut_up_scrap(reader, number)
    return set_status(store, SCRAP, numbers, "available", what="reinstate")


def refuse_cut_up_scrap(reader: Reader, number: int) -> None:
    """Raise StoreError for a scrap that was cut up: its cloth is counted in what came of it."""
    refuse_cut_up(reader, reader.scrap(number))
    there = [scrap.id for scrap in reader.offcuts(number) if scrap.status != "used up"]
    if there:
        offcuts = ", ".join(map(str, there))
        msg = f"scrap {number} was cut up, and its offcuts are in the store (scraps {offcuts})"
        raise StoreError(f"{msg}; its cloth would count twice. Retire those first")


def _refined(scrap: Scrap, fields: dict[str, Any]) -> dict[str, Any]:
    if "outline" in fields:
        fields["old_edges"] = None
    if fields.get("outline", scrap.outline) is None:
        if not scrap.outline.interiors:
            raise StoreError(f"scrap {scrap.id} has no hole to fill; scrap show says what it has")
        fields["outline"] = Polygon(scrap.outline.exterior)
    elif "outline" in fields:
        if scrap.flaws and "flaws" not in fields:
            msg = (
                f"scrap {scrap.id} has {len(scrap.flaws)} flaw(s), and where they lie in the new "
                "outline is not known; give them again with --flaw, or --flaw '' for none"
            )
            raise StoreError(msg)
        if scrap.cut_out is not None and not _as_good_as(scrap, fields["outline"]):
            fields["cut_out"] = None
        if scrap.grain_deg is not None and "grain_deg" not in fields:
            msg = (
                f"scrap {scrap.id} has a known grain, and how it runs in the new outline is not "
                "known; add --grain first, second, degrees or unknown"
            )
            raise StoreError(msg)
    if "margin" in fields:
        checked_margin(fields["margin"], fields.get("outline", scrap.outline))
    return _with_corrections(scrap, fields)


def _as_good_as(scrap: Scrap, outline: Polygon) -> bool:
    """Return whether `outline` is the scrap's own put right, so that its picture still fits.

    A typed size begins a frame of its own, and where it lies in the picture nobody knows.
    """
    apart = shapely.hausdorff_distance(scrap.outline.boundary, outline.boundary, densify=0.1)
    return bool(apart <= max(scrap.uncertainty, _CLOSE))


def _with_corrections(scrap: Scrap, fields: dict[str, Any]) -> dict[str, Any]:
    corrected = set(scrap.corrected)
    reading = reads_as(scrap.swatches) if scrap.swatches else None
    for field in _READ_FROM_PHOTO:
        if field in fields and reading is not None:
            if fields[field] is None:
                fields[field] = getattr(reading, field)
                corrected.discard(field)
            else:
                corrected.add(field)
    if fields.get("accents", ()) is None:
        fields["accents"] = ()
    return fields | {"corrected": tuple(sorted(corrected))}

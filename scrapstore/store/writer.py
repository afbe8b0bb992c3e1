"""Changing the store: the one gateway for it, inside one transaction with its history."""

from collections.abc import Callable
from dataclasses import fields
from datetime import UTC, datetime
from typing import Any, TypeVar

from sqlalchemy import select

from scrapstore.errors import NotFoundError, StoreError, UsageError
from scrapstore.printable import is_printable, printable
from scrapstore.store.convert import (
    fill_binding_row,
    fill_fabric_row,
    fill_photo_row,
    fill_ready_cut_row,
    fill_scrap_row,
    fill_yardage_row,
    photo_of_row,
)
from scrapstore.store.forms import (
    BindingStrip,
    Fabric,
    NewBindingStrip,
    NewFabric,
    NewPhoto,
    NewReadyCut,
    NewScrap,
    NewYardage,
    ReadyCut,
    Scrap,
    StoredPhoto,
    Yardage,
)
from scrapstore.store.held import refuse_breaking
from scrapstore.store.models import (
    BindingRow,
    FabricRow,
    PhotoRow,
    ReadyCutRow,
    ScrapRow,
    YardageRow,
)
from scrapstore.store.reader import Reader, same_word

__all__ = ["Writer"]

_Row = TypeVar("_Row", FabricRow, PhotoRow, ScrapRow, YardageRow, ReadyCutRow, BindingRow)


class Writer(Reader):
    """Adds and updates; `scrapstore.store.Store.change` gives it and keeps or drops the whole.

    Each method returns the thing as the store now holds it. Its methods see what was changed
    before in the same transaction.
    """

    def add_fabric(self, fabric: NewFabric) -> Fabric:
        """Add a fabric; StoreError when one has that name already."""
        self._refuse_taken_name(fabric.name, own_id=None)
        self._add(FabricRow(), fabric, fill_fabric_row)
        return self.fabric(fabric.name)

    def update_fabric(self, fabric: Fabric) -> Fabric:
        """Write `fabric` over the one with its number.

        StoreError when its name is taken, or when a kept plan counts on what would change.
        """
        self._refuse_taken_name(fabric.name, own_id=fabric.id)
        self._update(FabricRow, fabric.id, fabric, fill_fabric_row)
        return self.fabric(fabric.name)

    def add_photo(self, photo: NewPhoto) -> StoredPhoto:
        """Add a photo whose stored copy `Store.keep_photo` has written."""
        return photo_of_row(self._add(PhotoRow(), photo, fill_photo_row))

    def add_scrap(self, scrap: NewScrap) -> Scrap:
        """Add a scrap; ShapeError for an outline that is none."""
        return self.scrap(self._add(ScrapRow(), scrap, fill_scrap_row).id)

    def update_scrap(self, scrap: Scrap) -> Scrap:
        """Write `scrap` over the one with its number; StoreError as for a fabric."""
        self._update(ScrapRow, scrap.id, scrap, fill_scrap_row)
        return self.scrap(scrap.id)

    def add_yardage(self, yardage: NewYardage) -> Yardage:
        """Add a length of yardage."""
        return self.yardage_length(self._add(YardageRow(), yardage, fill_yardage_row).id)

    def update_yardage(self, yardage: Yardage) -> Yardage:
        """Write `yardage` over the length with its number; StoreError as for a fabric."""
        self._update(YardageRow, yardage.id, yardage, fill_yardage_row)
        return self.yardage_length(yardage.id)

    def add_ready_cut(self, pieces: NewReadyCut) -> ReadyCut:
        """Add a lot of ready-cut pieces; ShapeError for an outline that is none."""
        return self.ready_cut_lot(self._add(ReadyCutRow(), pieces, fill_ready_cut_row).id)

    def update_ready_cut(self, pieces: ReadyCut) -> ReadyCut:
        """Write `pieces` over the lot with its number; StoreError as for a fabric."""
        self._update(ReadyCutRow, pieces.id, pieces, fill_ready_cut_row)
        return self.ready_cut_lot(pieces.id)

    def add_binding_strip(self, strip: NewBindingStrip) -> BindingStrip:
        """Add a binding strip."""
        return self.binding_strip(self._add(BindingRow(), strip, fill_binding_row).id)

    def update_binding_strip(self, strip: BindingStrip) -> BindingStrip:
        """Write `strip` over the one with its number."""
        self._update(BindingRow, strip.id, strip, fill_binding_row)
        return self.binding_strip(strip.id)

    def _add(self, row: _Row, form: Any, fill: Callable[[_Row, Any], None]) -> _Row:
        _refuse_unprintable(form)
        row.created = datetime.now(UTC)
        fill(row, form)
        self._session.add(row)
        self._session.flush()
        return row

    def _update(
        self, table: type[_Row], number: int, form: Any, fill: Callable[[_Row, Any], None]
    ) -> None:
        row = self._session.get(table, number)
        if row is None:
            msg = f"number {number} of {table.__tablename__} is gone; list them again"
            raise NotFoundError(msg)
        fill(row, form)
        refuse_breaking(self._session, row)
        self._session.flush()

    def _refuse_taken_name(self, name: str, own_id: int | None) -> None:
        if not name.strip():
            raise UsageError("a fabric needs a name; write for example 'Navy dot'")
        rows = self._session.execute(select(FabricRow.id, FabricRow.name)).all()
        if any(row.id != own_id and same_word(row.name, name) for row in rows):
            msg = f"a fabric is called {name!r} already; edit that one or choose another name"
            raise StoreError(msg)


def _refuse_unprintable(form: Any) -> None:
    """Refuse texts that would reach into a terminal or break a sheet wherever they are shown."""
    for field in fields(form):
        text = getattr(form, field.name)
        if isinstance(text, str) and not is_printable(text):
            msg = (
                f"{field.name.replace('_', ' ')}: {printable(text)!r} holds characters that are no "
                "letters; type it without"
            )
            raise StoreError(msg)

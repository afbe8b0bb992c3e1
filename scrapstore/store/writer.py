"""Changing the store: the one gateway for it, inside one transaction with its history."""

from dataclasses import fields
from datetime import UTC, datetime
from typing import Any

from sqlalchemy import Connection, Table, select

from scrapstore.errors import NotFoundError, StoreError, UsageError
from scrapstore.printable import is_printable, printable
from scrapstore.store.convert import measured_pieces, measured_scrap, row_of_form
from scrapstore.store.forms import (
    BindingStrip,
    Crumbs,
    Fabric,
    NewBindingStrip,
    NewCrumbs,
    NewFabric,
    NewNotion,
    NewPhoto,
    NewReadyCut,
    NewScrap,
    NewYardage,
    Notion,
    ReadyCut,
    Scrap,
    StoredPhoto,
    Yardage,
)
from scrapstore.store.held import refuse_breaking
from scrapstore.store.history import RecordingWriter
from scrapstore.store.models import (
    BINDING,
    CRUMBS,
    FABRICS,
    NOTIONS,
    PHOTOS,
    READY_CUT,
    SCRAPS,
    YARDAGE,
)
from scrapstore.store.reader import Reader, same_word

__all__ = ["Writer"]


class Writer(Reader):
    """Adds and updates; `scrapstore.store.Store.change` gives it and keeps or drops the whole.

    Each method returns the thing as the store now holds it. Its methods see what was changed
    before in the same transaction. `add_row` and `remove_row` are for the other modules of this
    room: nothing else writes rows.
    """

    def __init__(self, connection: Connection, what: str) -> None:
        super().__init__(connection)
        self._recording = RecordingWriter(connection, what)

    def add_fabric(self, fabric: NewFabric) -> Fabric:
        """Add a fabric; StoreError when one has that name already."""
        self._refuse_taken_name(fabric.name, own_id=None)
        self.add_row(FABRICS, fabric)
        return self.fabric(fabric.name)

    def update_fabric(self, fabric: Fabric) -> Fabric:
        """Write `fabric` over the one with its number.

        StoreError when its name is taken, or when a kept plan counts on what would change.
        """
        self._refuse_taken_name(fabric.name, own_id=fabric.id)
        self._update(FABRICS, fabric)
        return self.fabric(fabric.name)

    def add_photo(self, photo: NewPhoto) -> StoredPhoto:
        """Add a photo whose stored copy `Store.keep_photo` has written."""
        number = self.add_row(PHOTOS, photo)
        return self.photos_by_number({number})[number]

    def add_scrap(self, scrap: NewScrap) -> Scrap:
        """Add a scrap; ShapeError for an outline that is none."""
        return self.scrap(self.add_row(SCRAPS, scrap, **measured_scrap(scrap)))

    def update_scrap(self, scrap: Scrap) -> Scrap:
        """Write `scrap` over the one with its number; StoreError as for a fabric."""
        return self.scrap(self._update(SCRAPS, scrap, **measured_scrap(scrap)))

    def add_yardage(self, yardage: NewYardage) -> Yardage:
        """Add a length of yardage."""
        return self.yardage_length(self.add_row(YARDAGE, yardage))

    def update_yardage(self, yardage: Yardage) -> Yardage:
        """Write `yardage` over the length with its number; StoreError as for a fabric."""
        return self.yardage_length(self._update(YARDAGE, yardage))

    def add_ready_cut(self, pieces: NewReadyCut) -> ReadyCut:
        """Add a lot of ready-cut pieces; ShapeError for an outline that is none."""
        return self.ready_cut_lot(self.add_row(READY_CUT, pieces, **measured_pieces(pieces)))

    def update_ready_cut(self, pieces: ReadyCut) -> ReadyCut:
        """Write `pieces` over the lot with its number; StoreError as for a fabric."""
        return self.ready_cut_lot(self._update(READY_CUT, pieces, **measured_pieces(pieces)))

    def add_binding_strip(self, strip: NewBindingStrip) -> BindingStrip:
        """Add a binding strip."""
        return self.binding_strip(self.add_row(BINDING, strip))

    def update_binding_strip(self, strip: BindingStrip) -> BindingStrip:
        """Write `strip` over the one with its number; StoreError as for a fabric."""
        return self.binding_strip(self._update(BINDING, strip))

    def add_notion(self, notion: NewNotion) -> Notion:
        """Add batting, forms or zips."""
        return self.notion(notion.kind, self.add_row(NOTIONS, notion))

    def update_notion(self, notion: Notion) -> Notion:
        """Write `notion` over the one with its number."""
        return self.notion(notion.kind, self._update(NOTIONS, notion))

    def add_crumbs(self, crumbs: NewCrumbs) -> Crumbs:
        """Add a bag of crumbs."""
        return self.crumbs_bag(self.add_row(CRUMBS, crumbs))

    def update_crumbs(self, crumbs: Crumbs) -> Crumbs:
        """Write `crumbs` over the bag with its number."""
        return self.crumbs_bag(self._update(CRUMBS, crumbs))

    def add_row(self, table: Table, form: Any, **worked_out: Any) -> int:
        """Add a row with what `form` says and what was `worked_out`; return its number."""
        _refuse_unprintable(form)
        if "created" in table.c:
            worked_out["created"] = datetime.now(UTC)
        return self._recording.add(table, row_of_form(table, form, **worked_out))

    def remove_row(self, table: Table, number: int) -> None:
        """Take the row with this number out."""
        self._recording.remove(table, number)

    def _update(self, table: Table, form: Any, **worked_out: Any) -> int:
        number = int(form.id)
        rows = self.rows(table, select(table).where(table.c.id == number))
        if not rows:
            msg = f"number {number} of {table.name} is gone; list them again"
            raise NotFoundError(msg)
        values = row_of_form(table, form, **worked_out)
        refuse_breaking(self.ask, table, rows[0], values)
        self._recording.update(table, number, values)
        return number

    def _refuse_taken_name(self, name: str, own_id: int | None) -> None:
        if not name.strip():
            raise UsageError("a fabric needs a name; write for example 'Navy dot'")
        rows = self.ask(select(FABRICS.c.id, FABRICS.c.name))
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

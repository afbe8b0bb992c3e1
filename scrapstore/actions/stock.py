"""What all stock has in common: scraps, yardage, pieces, binding, crumbs, batting, forms, zips.

List, edit, use up: `StockKind` says how one kind is read and written; the functions here do the
rest. An edit changes the same fields of several things in one transaction: all of them or none.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final, Generic, Literal, TypeVar

from scrapstore.errors import StoreError, UsageError
from scrapstore.stock_entry.fields import (
    BINDING_FIELDS,
    CRUMBS_FIELDS,
    NOTION_FIELDS,
    READY_CUT_FIELDS,
    SCRAP_FIELDS,
    YARDAGE_FIELDS,
    TypedField,
)
from scrapstore.stock_entry.words import named_fabric, project_called, text_or_none
from scrapstore.store import (
    BindingStrip,
    Crumbs,
    Notion,
    NotionKind,
    Reader,
    ReadyCut,
    Scrap,
    Status,
    StockFilter,
    Store,
    Writer,
    Yardage,
)

__all__ = [
    "BATTING",
    "BINDING",
    "CRUMBS",
    "FORM",
    "READY_CUT",
    "SCRAP",
    "YARDAGE",
    "ZIP",
    "StockKind",
    "edit_stock",
    "list_stock",
    "refuse_cut_up",
    "set_status",
    "show_stock",
]

_LOOKED_AT: Final = 1000  # changes of one thing
_Thing = TypeVar("_Thing", Scrap, Yardage, ReadyCut, BindingStrip, Notion, Crumbs)


@dataclass(frozen=True)
class StockKind(Generic[_Thing]):
    """How one kind of stock is typed and reached in the store; `name` is the command's."""

    name: str
    fields: tuple[TypedField, ...]
    find: Callable[[Reader, StockFilter], tuple[_Thing, ...]]
    get: Callable[[Reader, int], _Thing]
    put: Callable[[Writer, _Thing], _Thing]


SCRAP: Final = StockKind("scrap", SCRAP_FIELDS, Reader.scraps, Reader.scrap, Writer.update_scrap)
YARDAGE: Final = StockKind(
    "yardage", YARDAGE_FIELDS, Reader.yardage, Reader.yardage_length, Writer.update_yardage
)
READY_CUT: Final = StockKind(
    "ready", READY_CUT_FIELDS, Reader.ready_cut, Reader.ready_cut_lot, Writer.update_ready_cut
)
BINDING: Final = StockKind(
    "binding",
    BINDING_FIELDS,
    Reader.binding_strips,
    Reader.binding_strip,
    Writer.update_binding_strip,
)


def _notions(kind: NotionKind) -> StockKind[Notion]:
    return StockKind(
        kind,
        NOTION_FIELDS,
        lambda reader, only: reader.notions(kind, only),
        lambda reader, number: reader.notion(kind, number),
        Writer.update_notion,
    )


BATTING: Final = _notions("batting")
FORM: Final = _notions("form")
ZIP: Final = _notions("zip")


CRUMBS: Final = StockKind(
    "crumbs", CRUMBS_FIELDS, Reader.crumbs, Reader.crumbs_bag, Writer.update_crumbs
)


def list_stock(store: Store, kind: StockKind[_Thing], only: StockFilter) -> tuple[_Thing, ...]:
    """Return what `only` lets through; NotFoundError when it names a fabric there is not."""
    with store.read() as reader:
        for name in only.fabrics:
            reader.fabric(name)
        return kind.find(reader, only)


def show_stock(store: Store, kind: StockKind[_Thing], number: int) -> _Thing:
    """Return one thing, whatever its status; NotFoundError."""
    with store.read() as reader:
        return kind.get(reader, number)


def edit_stock(
    store: Store,
    kind: StockKind[_Thing],
    numbers: Sequence[int],
    changes: Mapping[str, Any],
    *,
    make_fabric: bool = False,
    refine: Callable[[_Thing, dict[str, Any]], dict[str, Any]] | None = None,
) -> tuple[_Thing, ...]:
    """Change the same fields of the things with these numbers; return them as they now are.

    `changes` holds fields of the working form; `fabric` as a name. One that is not there stays,
    None empties it. `refine` may add to what is changed, for each thing. Setting something aside
    for a project changes its status with it, and the other way round.
    """
    if not changes:
        raise UsageError("nothing to change was given; name a field, for example --place 'bin 2'")
    fields = dict(changes)
    if fields.get("set_aside_for") is not None and fields.get("status") in ("available", "used up"):
        msg = f"set aside for {fields['set_aside_for']!r} and {fields['status']} do not go together"
        raise UsageError(f"{msg}; give one of the two")
    if fields.get("set_aside_for") is not None:
        fields.setdefault("status", "set aside")
    if fields.get("status") in ("available", "used up"):
        fields["set_aside_for"] = None
    with store.change(f"{kind.name} edit") as writer:
        if "fabric" in fields:
            name = text_or_none(fields["fabric"])
            fields["fabric"] = named_fabric(writer, name, make=make_fabric)
        if project := text_or_none(fields.get("from_project")):
            fields["from_project"] = project_called(writer, project)
        edited = []
        for number in dict.fromkeys(numbers):
            thing = kind.get(writer, number)
            if (
                fields.get("status", "used up") != "used up"
                and not {"length", "outline"} & fields.keys()
            ):
                refuse_cut_up(writer, thing)
            own = fields if refine is None else refine(thing, dict(fields))
            if thing.status == "set aside" and own.get("set_aside_for", "") is None:
                own = {"status": "available"} | own  # set aside for nobody is not set aside
            edited.append(kind.put(writer, replace(thing, **own)))
        return tuple(edited)


def set_status(
    store: Store, kind: StockKind[_Thing], numbers: Sequence[int], status: Status, *, what: str
) -> tuple[_Thing, ...]:
    """Give the things with these numbers a status, under the name `what` in the history.

    Used up, a thing leaves lists and matches; its row and its history stay.
    """
    with store.change(f"{kind.name} {what}") as writer:
        things = [kind.get(writer, number) for number in dict.fromkeys(numbers)]
        for thing in things:
            if status != "used up":
                refuse_cut_up(writer, thing)
        return tuple(
            kind.put(writer, replace(thing, status=status, set_aside_for=None)) for thing in things
        )


def refuse_cut_up(reader: Reader, thing: object) -> None:
    """Raise StoreError for a scrap or a length that a plan has cut up.

    Its row still holds the outline or the length that it had before.
    """
    if not isinstance(thing, Scrap | Yardage) or thing.status != "used up":
        return
    kind: Literal["scrap", "yardage"] = "scrap" if isinstance(thing, Scrap) else "yardage"
    size = "outline" if isinstance(thing, Scrap) else "length"
    for change in reader.history(most=_LOOKED_AT, kind=kind, number=thing.id, only_undoable=True):
        for row in change.rows:
            before, after = row.before or {}, row.after or {}
            if (row.kind, row.row_id) != (kind, thing.id):
                continue
            if before.get(size) != after.get(size):
                return  # its size was typed since
            if before.get("status") != "used up" == after.get("status"):
                _refuse_used_by(change.what, thing)
                return


def _refuse_used_by(what: str, thing: Scrap | Yardage) -> None:
    if isinstance(thing, Scrap) and what == "cut":
        msg = (
            f"scrap {thing.id} was cut up for a plan. If it was not, take that back in the record: "
            f"undo. If some of it is left after all, say how much: scrap add --parent {thing.id} "
            "--size SIZE"
        )
        raise StoreError(msg)
    if isinstance(thing, Yardage) and what in ("cut", "plan done"):
        msg = (
            f"length {thing.id} was used up by a plan; if some of it is left after all, say how "
            f"much: yardage edit {thing.id} --length LENGTH --status available"
        )
        raise StoreError(msg)

"""Reading the store: rows found by conditions, handed out as working forms."""

from collections.abc import Callable, Sequence
from typing import Any, Final, Literal, TypeVar
from unicodedata import normalize

from sqlalchemy import ColumnElement, Select, func, or_, select
from sqlalchemy.orm import Session, selectinload

from scrapstore.errors import NotFoundError
from scrapstore.near_words import perhaps
from scrapstore.store.convert import (
    binding_of_row,
    checked_photo_name,
    fabric_of_row,
    photo_of_row,
    ready_cut_of_row,
    scraps_of_rows,
    yardage_of_row,
)
from scrapstore.store.filters import StockFilter
from scrapstore.store.forms import (
    BindingStrip,
    Change,
    CuttableScrap,
    Fabric,
    Promise,
    ReadyCut,
    Scrap,
    StoredPhoto,
    Yardage,
)
from scrapstore.store.geometry import flaws_from_wkb, outlines_from_wkb, refuse_giants
from scrapstore.store.history import changes
from scrapstore.store.models import (
    BindingRow,
    ChangeRow,
    FabricRow,
    HistoryRow,
    LensRow,
    PhotoRow,
    PlanRow,
    PlanStockRow,
    ReadyCutRow,
    ScrapRow,
    YardageRow,
)

__all__ = ["Kind", "Reader", "row_number", "same_word"]

Kind = Literal["fabric", "photo", "scrap", "yardage", "ready-cut", "binding", "plan", "lens"]
"""What the history calls things."""

_StockRow = TypeVar("_StockRow", ScrapRow, YardageRow, ReadyCutRow, BindingRow)
_OtherRow = TypeVar("_OtherRow", FabricRow, PhotoRow)
_Form = TypeVar("_Form")
_ASKED_AT_ONCE: Final = 1000
"""Numbers in one question; SQLite takes some tens of thousands."""

_WORDS: Final[dict[type[Any], str]] = {
    ScrapRow: "scrap",
    YardageRow: "length of yardage",
    ReadyCutRow: "entry of ready-cut pieces",
    BindingRow: "binding strip",
}


class Reader:
    """One consistent view of a store; `scrapstore.store.Store.read` gives it."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def fabrics(self, *, retired: bool = False) -> tuple[Fabric, ...]:
        """Return the fabrics by name; the retired ones too when asked for."""
        query = select(FabricRow).order_by(FabricRow.name)
        if not retired:
            query = query.where(FabricRow.retired.is_(False))
        return tuple(fabric_of_row(row) for row in self._session.scalars(query))

    def fabric(self, name: str) -> Fabric:
        """Return the fabric called `name`, in any capitals; NotFoundError names near ones."""
        row = self._session.scalar(select(FabricRow).where(FabricRow.name == name.strip()))
        if row is not None:
            return fabric_of_row(row)
        names = self._session.scalars(select(FabricRow.name)).all()
        for known in self._spelled(FabricRow.name, (name,)):
            return self.fabric(known)
        hint = perhaps(name, names, quoted=True)
        raise NotFoundError(f"no fabric is called {name!r}; {hint}see fabric list, or fabric add")

    def find_photo(self, *, sha256: str, file_name: str | None = None) -> StoredPhoto | None:
        """Return the photo with this content as logged, or with this stored copy; or None."""
        same = PhotoRow.sha256 == sha256
        if file_name is not None:
            same = or_(same, PhotoRow.file_name == file_name)
        row = self._session.scalars(select(PhotoRow).where(same).order_by(PhotoRow.id)).first()
        return None if row is None else photo_of_row(row)

    def photos(self) -> tuple[StoredPhoto, ...]:
        """Return all photos in the order they came."""
        rows = self._session.scalars(select(PhotoRow).order_by(PhotoRow.id))
        return tuple(photo_of_row(row) for row in rows)

    def photo_files(self, *, past: bool = False) -> set[str]:
        """Return the names of the files in the photo folder: of photos, and of scraps alone.

        With `past` also those that only the history still names.
        """
        files: list[Select[Any]] = [
            select(PhotoRow.file_name),
            select(ScrapRow.cut_out["file_name"].as_string()).distinct(),
        ]
        if past:
            files += [
                select(func.json_extract(side, "$.cut_out.file_name")).distinct()
                for side in (HistoryRow.before, HistoryRow.after)
            ]
        found = {name for query in files for name in self._session.scalars(query)} - {None}
        return {checked_photo_name(name) for name in found}

    def scraps(self, only: StockFilter | None = None) -> tuple[Scrap, ...]:
        """Return the scraps that `only` lets through (the available ones), by number."""
        only = only or StockFilter()
        effective = func.coalesce(ScrapRow.family, FabricRow.family)
        query = self._base(ScrapRow, only)
        query = _of_value(query, only, func.coalesce(ScrapRow.value, FabricRow.value))
        if only.families:
            accent = func.json_each(ScrapRow.accents).table_valued("value")
            among = select(accent.c.value).where(accent.c.value.in_(only.families)).exists()
            query = query.where(or_(effective.in_(only.families), among))
        if only.from_projects:
            spelled = self._spelled(ScrapRow.from_project, only.from_projects)
            query = query.where(ScrapRow.from_project.in_(spelled))
        query = _as_large(query, only, ScrapRow.long_side, ScrapRow.short_side)
        # Plain rows, without the session's bookkeeping for each: there may be thousands.
        rows = self._session.execute(query.with_only_columns(*ScrapRow.__table__.c)).all()
        fabrics = self._by_number(FabricRow, {row.fabric_id for row in rows}, fabric_of_row)
        photos = self._by_number(PhotoRow, {row.photo_id for row in rows}, photo_of_row)
        return scraps_of_rows(rows, fabrics, photos)

    def cuttable_scraps(self, ids: Sequence[int] | None = None) -> tuple[CuttableScrap, ...]:
        """Return of every available scrap what bears on cutting, by number.

        With `ids` of these scraps instead, whatever their status. Far quicker than `scraps` where
        there are thousands: no photos, no swatches, no notes.
        """
        query = (
            select(
                ScrapRow.id,
                ScrapRow.outline,
                ScrapRow.flaws,
                ScrapRow.grain_deg,
                ScrapRow.margin + ScrapRow.uncertainty,
                FabricRow.name,
                func.coalesce(ScrapRow.family, FabricRow.family),
                func.coalesce(ScrapRow.value, FabricRow.value),
                FabricRow.fibre,
                func.coalesce(FabricRow.one_way_print, 0),
                func.coalesce(FabricRow.alike, 0),
            )
            .join(ScrapRow.fabric, isouter=True)
            .where(ScrapRow.status == "available" if ids is None else ScrapRow.id.in_(ids))
            .order_by(ScrapRow.id)
        )
        rows = self._session.execute(query).all()
        outlines = outlines_from_wkb([row.outline for row in rows])
        refuse_giants([row.id for row in rows], outlines)
        return tuple(
            CuttableScrap(
                id=number,
                outline=outline,
                flaws=flaws_from_wkb(flaws),
                grain_deg=grain_deg,
                edge=edge,
                fabric=fabric,
                family=family,
                value=value,
                fibre=fibre,
                one_way_print=bool(one_way),
                alike=bool(alike),
            )
            for outline, (
                number, _, flaws, grain_deg, edge, fabric, family, value, fibre, one_way, alike
            ) in zip(outlines, rows, strict=True)
        )  # fmt: skip

    def scrap(self, number: int) -> Scrap:
        """Return one scrap, whatever its status; NotFoundError."""
        return self._one(ScrapRow, number, self.scraps)

    def offcuts(self, number: int) -> tuple[Scrap, ...]:
        """Return the scraps that were cut off scrap `number`, whatever their status."""
        found = self._session.scalars(select(ScrapRow.id).where(ScrapRow.parent_id == number))
        numbers = tuple(found)
        return self.scraps(StockFilter(ids=numbers, statuses=())) if numbers else ()

    def scraps_on_photo(self, photo_id: int) -> tuple[int, ...]:
        """Return the numbers of the scraps that were logged from a photo, whatever their status."""
        query = select(ScrapRow.id).where(ScrapRow.photo_id == photo_id).order_by(ScrapRow.id)
        return tuple(self._session.scalars(query))

    def yardage(self, only: StockFilter | None = None) -> tuple[Yardage, ...]:
        """Return the lengths of yardage that `only` lets through, by number."""
        only = only or StockFilter()
        width = func.coalesce(YardageRow.usable_width, FabricRow.usable_width, 0.0)
        query = _of_value(self._base(YardageRow, only), only, FabricRow.value)
        if only.families:
            query = query.where(FabricRow.family.in_(only.families))
        query = _as_large(
            query,
            only,
            func.max(YardageRow.length, width),
            func.min(YardageRow.length, width),
        )
        promised = self._promised()

        def converted(row: YardageRow) -> Yardage:
            return yardage_of_row(row, promised.get(row.id, ()))

        return self._all(query, converted)

    def _promised(self) -> dict[int, tuple[Promise, ...]]:
        """Return what kept plans hold of each length, the older plan first."""
        query = (
            select(PlanStockRow.yardage_id, PlanRow.name, PlanStockRow.inches)
            .join(PlanRow, PlanRow.id == PlanStockRow.plan_id)
            .order_by(PlanStockRow.id)
        )
        found: dict[int, tuple[Promise, ...]] = {}
        for number, name, inches in self._session.execute(query):
            if number is None or inches is None:
                continue  # a scrap, or pieces
            found[number] = (*found.get(number, ()), Promise(name, inches))
        return found

    def yardage_length(self, number: int) -> Yardage:
        """Return one length of yardage, whatever its status; NotFoundError."""
        return self._one(YardageRow, number, self.yardage)

    def ready_cut(self, only: StockFilter | None = None) -> tuple[ReadyCut, ...]:
        """Return the lots of ready-cut pieces that `only` lets through, by number."""
        only = only or StockFilter()
        query = _of_value(
            self._base(ReadyCutRow, only), only, func.coalesce(ReadyCutRow.value, FabricRow.value)
        )
        query = _of_family(query, only, func.coalesce(ReadyCutRow.family, FabricRow.family))
        query = _as_large(query, only, ReadyCutRow.long_side, ReadyCutRow.short_side)
        return self._all(query, ready_cut_of_row)

    def ready_cut_lot(self, number: int) -> ReadyCut:
        """Return one lot of ready-cut pieces, whatever its status; NotFoundError."""
        return self._one(ReadyCutRow, number, self.ready_cut)

    def binding_strips(self, only: StockFilter | None = None) -> tuple[BindingStrip, ...]:
        """Return the binding strips that `only` lets through, by number."""
        only = only or StockFilter()
        query = _of_value(
            self._base(BindingRow, only), only, func.coalesce(BindingRow.value, FabricRow.value)
        )
        query = _of_family(query, only, func.coalesce(BindingRow.family, FabricRow.family))
        query = _as_large(query, only, BindingRow.length, BindingRow.width)
        return self._all(query, binding_of_row)

    def binding_strip(self, number: int) -> BindingStrip:
        """Return one binding strip, whatever its status; NotFoundError."""
        return self._one(BindingRow, number, self.binding_strips)

    def history(
        self,
        *,
        most: int | None = None,
        kind: Kind | None = None,
        number: int | None = None,
        each: int | None = None,
    ) -> tuple[Change, ...]:
        """Return the changes, newest first; those that touched one kind or one thing when asked.

        At most `each` rows of a change are read, those that were asked for first: one change may
        hold every scrap there is.
        """
        return changes(self._session, most=most, kind=kind, number=number, each=each)

    @property
    def session(self) -> Session:
        """The session behind this view, for the other modules of this room."""
        return self._session

    def counts(self) -> dict[str, int]:
        """Return how many rows of each kind the store holds, whatever their status."""
        tables: dict[str, type[Any]] = {
            "fabrics": FabricRow,
            "scraps": ScrapRow,
            "yardage": YardageRow,
            "ready-cut": ReadyCutRow,
            "binding": BindingRow,
            "photos": PhotoRow,
            "lenses": LensRow,
            "changes": ChangeRow,
        }
        counted = {}
        for name, table in tables.items():
            counted[name] = self._session.scalar(select(func.count()).select_from(table)) or 0
        return counted

    def _base(self, table: type[_StockRow], only: StockFilter) -> Select[Any]:
        """Return a query for `table` with its fabric, narrowed by what all stock has."""
        query = select(table).join(table.fabric, isouter=True).order_by(table.id)
        query = query.options(selectinload(table.fabric))
        if only.ids:
            query = query.where(table.id.in_(only.ids))
        if only.statuses:
            query = query.where(table.status.in_(only.statuses))
        if only.places:
            query = query.where(table.place.in_(self._spelled(table.place, only.places)))
        if only.fabrics:
            query = query.where(FabricRow.name.in_(self._spelled(FabricRow.name, only.fabrics)))
        return query

    def _spelled(self, column: ColumnElement[Any] | Any, words: Sequence[str]) -> list[str]:
        """Return how the store spells `words` in `column`: as `same_word`, often in several ways.

        SQLite's own comparison knows the capitals of ASCII only.
        """
        known = self._session.scalars(select(column).where(column.is_not(None)).distinct())
        return [spelling for spelling in known if any(same_word(spelling, w) for w in words)]

    def _all(self, query: Select[Any], convert: Callable[[_StockRow], _Form]) -> tuple[_Form, ...]:
        return tuple(convert(row) for row in self._rows(query))

    def _by_number(
        self,
        table: type[_OtherRow],
        numbers: set[int | None],
        convert: Callable[[_OtherRow], _Form],
    ) -> dict[int, _Form]:
        """Return the rows of `table` with these numbers; all of them where that is less work."""
        query: Select[Any] = select(table)
        if len(numbers) < _ASKED_AT_ONCE:
            query = query.where(table.id.in_(numbers - {None}))
        return {row.id: convert(row) for row in self._rows(query)}

    def _rows(self, query: Select[Any]) -> Sequence[Any]:
        return self._session.scalars(query.execution_options(populate_existing=True)).all()

    def _one(
        self,
        table: type[Any],
        number: int,
        search: Callable[[StockFilter], Sequence[_Form]],
    ) -> _Form:
        known = 0 <= number < 2**63  # no more than SQLite counts to
        found = search(StockFilter(ids=(number,), statuses=())) if known else ()
        if found:
            return found[0]
        msg = f"no {_WORDS[table]} has the number {number}; the lists show the numbers there are"
        raise NotFoundError(msg)


def row_number(text: str) -> int | None:
    """Return the number that ``12`` or ``#12`` tells; None for what no row can have as its."""
    plain = text.strip().removeprefix("#")
    # Not isdigit alone: ² is a digit to Python. No row's number has more digits than 64 bits hold.
    if not (plain.isascii() and plain.isdigit() and len(plain) < 19):
        return None
    return int(plain)


def same_word(one: str, other: str) -> bool:
    """Whether two words differ in capitals, or in how their accents are stored, only."""
    plain = (normalize("NFC", word.strip()).casefold() for word in (one, other))
    return next(plain) == next(plain)


def _of_value(
    query: Select[Any], only: StockFilter, value: ColumnElement[Any] | Any
) -> Select[Any]:
    return query.where(value.in_(only.values)) if only.values else query


def _of_family(query: Select[Any], only: StockFilter, family: ColumnElement[Any]) -> Select[Any]:
    return query.where(family.in_(only.families)) if only.families else query


def _as_large(
    query: Select[Any],
    only: StockFilter,
    long_side: ColumnElement[float] | Any,
    short_side: ColumnElement[float] | Any,
) -> Select[Any]:
    if only.at_least is None:
        return query
    # Outlines turned out of the straight carry the rounding of their rotation.
    short, long = (side - 1e-6 for side in sorted(only.at_least))
    return query.where(long_side >= long, short_side >= short)

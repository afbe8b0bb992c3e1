"""Reading the store: rows found by conditions, handed out as working forms."""

from collections.abc import Mapping, Sequence
from typing import Any, Final, Literal, TypeVar
from unicodedata import normalize

from sqlalchemy import (
    ColumnElement,
    Connection,
    Select,
    Table,
    false,
    func,
    literal,
    or_,
    select,
    type_coerce,
)

from scrapstore.colour import NEUTRALS, read_many, tints
from scrapstore.errors import NotFoundError
from scrapstore.near_words import perhaps
from scrapstore.store.column_types import Bytes
from scrapstore.store.convert import form_of_row
from scrapstore.store.filters import StockFilter
from scrapstore.store.forms import (
    BindingStrip,
    Change,
    Crumbs,
    CuttableScrap,
    Fabric,
    Notion,
    NotionKind,
    Promise,
    ReadyCut,
    Scrap,
    StoredPhoto,
    Yardage,
)
from scrapstore.store.geometry import outlines_from_wkb, refuse_giants
from scrapstore.store.held import plans_holding
from scrapstore.store.history import changes
from scrapstore.store.models import (
    BINDING,
    CHANGES,
    CRUMBS,
    FABRICS,
    HISTORY,
    LENSES,
    NOTIONS,
    PHOTOS,
    PLAN_STOCK,
    PLANS,
    READY_CUT,
    SCRAPS,
    YARDAGE,
)
from scrapstore.store.stock_types import Outline, checked_photo_name

__all__ = ["Kind", "Reader", "row_number", "same_word"]

Kind = Literal[
    "fabric", "photo", "scrap", "yardage", "ready-cut", "binding", "notion", "crumbs", "plan",
    "lens",
]  # fmt: skip
"""What the history calls things."""

_Form = TypeVar("_Form")
_ASKED_AT_ONCE: Final = 1000
"""Numbers in one question; SQLite takes some tens of thousands."""


class Reader:
    """One consistent view of a store; `scrapstore.store.Store.read` gives it.

    `ask`, `rows` and `plans_holding` are for the other modules of this room.
    """

    def __init__(self, connection: Connection) -> None:
        self._connection = connection

    def ask(self, query: Select[Any]) -> Sequence[Any]:
        """Return the rows that `query` finds."""
        return self._connection.execute(query).all()

    def rows(self, table: Table, query: Select[Any] | None = None) -> list[dict[str, Any]]:
        """Return the rows of `table` that `query` finds (all, by number), each as a dict.

        All outlines are read at once: there may be thousands.
        """
        columns = table.c
        outlines = [column.name for column in columns if isinstance(column.type, Outline)]
        chosen = [
            type_coerce(column, Bytes).label(column.name) if column.name in outlines else column
            for column in columns
        ]
        query = select(table).order_by(columns.id) if query is None else query
        found = self._connection.execute(query.with_only_columns(*chosen)).mappings()
        rows = [dict(row) for row in found]
        for name in outlines:
            for row, outline in zip(rows, outlines_from_wkb([r[name] for r in rows]), strict=True):
                row[name] = outline
        return rows

    def plans_holding(self, table: Table, number: int) -> tuple[str, ...]:
        """Return the names of the kept plans that hold any of this row, the oldest first."""
        return plans_holding(self.ask, table, number)

    def fabrics(self, *, retired: bool = False) -> tuple[Fabric, ...]:
        """Return the fabrics by name; the retired ones too when asked for."""
        query = select(FABRICS).order_by(FABRICS.c.name)
        if not retired:
            query = query.where(FABRICS.c.retired.is_(False))
        return self._forms(Fabric, FABRICS, query)

    def fabric(self, name: str) -> Fabric:
        """Return the fabric called `name`, in any capitals; NotFoundError names near ones."""
        query = select(FABRICS).where(FABRICS.c.name == name.strip())
        for fabric in self._forms(Fabric, FABRICS, query):
            return fabric
        for known in self._spelled(FABRICS.c.name, (name,)):
            # As it is spelled: with blanks about it, it is not found by its bare word.
            return self._forms(Fabric, FABRICS, select(FABRICS).where(FABRICS.c.name == known))[0]
        names = self._connection.scalars(select(FABRICS.c.name)).all()
        hint = perhaps(name, names, quoted=True)
        raise NotFoundError(f"no fabric is called {name!r}; {hint}see fabric list, or fabric add")

    def find_photo(self, *, sha256: str, file_name: str | None = None) -> StoredPhoto | None:
        """Return the photo with this content as logged, or with this stored copy; or None."""
        same = or_(PHOTOS.c.sha256 == sha256, PHOTOS.c.file_name == (file_name or ""))
        query = select(PHOTOS).where(same).order_by(PHOTOS.c.id).limit(1)
        return next(iter(self._forms(StoredPhoto, PHOTOS, query)), None)

    def photos(self) -> tuple[StoredPhoto, ...]:
        """Return all photos in the order they came."""
        return self._forms(StoredPhoto, PHOTOS)

    def photos_by_number(self, numbers: set[int | None]) -> Mapping[int, StoredPhoto]:
        """Return the photos with these numbers."""
        return self._by_number(StoredPhoto, PHOTOS, numbers)

    def photo_files(self, *, past: bool = False) -> set[str]:
        """Return the names of the files in the photo folder: of photos, and of scraps alone.

        With `past` also those that only the history still names.
        """
        files: list[Select[Any]] = [
            select(PHOTOS.c.file_name),
            select(SCRAPS.c.cut_out["file_name"].as_string()).distinct(),
        ]
        if past:
            files += [
                select(func.json_extract(side, path)).distinct()
                for side in (HISTORY.c.before, HISTORY.c.after)
                for path in ("$.file_name", "$.cut_out.file_name")
            ]
        found = {name for query in files for name in self._connection.scalars(query)} - {None}
        return {checked_photo_name(name) for name in found}

    def scraps(self, only: StockFilter | None = None) -> tuple[Scrap, ...]:
        """Return the scraps that `only` lets through (the available ones), by number."""
        sides = (SCRAPS.c.long_side, SCRAPS.c.short_side)
        rows = self._stock(SCRAPS, only, sides)
        photos = self.photos_by_number({row["photo_id"] for row in rows})
        scraps = tuple(
            form_of_row(Scrap, row | {"photo": photos.get(row["photo_id"]), "tints": tinted})
            for row, tinted in zip(rows, _tints(rows), strict=True)
        )
        if only is None or not only.families:
            return scraps
        return tuple(
            scrap
            for scrap in scraps
            if only.softness(scrap.shown_family, scrap.accents, scrap.tints) is not None
        )

    def cuttable_scraps(self, ids: Sequence[int] | None = None) -> tuple[CuttableScrap, ...]:
        """Return of every available scrap what bears on cutting, by number.

        With `ids` of these scraps instead, whatever their status. Far quicker than `scraps` where
        there are thousands: no photos, no swatches, no notes.
        """
        query = (
            select(
                SCRAPS.c.id,
                type_coerce(SCRAPS.c.outline, Bytes).label("outline"),
                SCRAPS.c.flaws,
                SCRAPS.c.grain_deg,
                (SCRAPS.c.margin + SCRAPS.c.uncertainty).label("edge"),
                SCRAPS.c.old_edges,
                FABRICS.c.name.label("fabric"),
                _or_of_fabric(SCRAPS, "family").label("family"),
                _or_of_fabric(SCRAPS, "value").label("value"),
                FABRICS.c.fibre,
                func.coalesce(FABRICS.c.one_way_print, false()).label("one_way_print"),
                func.coalesce(FABRICS.c.alike, false()).label("alike"),
            )
            .join(FABRICS, FABRICS.c.id == SCRAPS.c.fabric_id, isouter=True)
            .where(SCRAPS.c.status == "available" if ids is None else SCRAPS.c.id.in_(ids))
            .order_by(SCRAPS.c.id)
        )
        rows = self._connection.execute(query).mappings().all()
        outlines = outlines_from_wkb([row["outline"] for row in rows])
        refuse_giants([row["id"] for row in rows], outlines)
        return tuple(
            CuttableScrap(**{**row, "outline": outline})
            for row, outline in zip(rows, outlines, strict=True)
        )

    def scrap(self, number: int) -> Scrap:
        """Return one scrap, whatever its status; NotFoundError."""
        return _the_one(self.scraps(_numbered(number)), "scrap", number)

    def offcuts(self, number: int) -> tuple[Scrap, ...]:
        """Return the scraps that were cut off scrap `number`, whatever their status."""
        found = self._connection.scalars(select(SCRAPS.c.id).where(SCRAPS.c.parent_id == number))
        numbers = tuple(found)
        return self.scraps(StockFilter(ids=numbers, statuses=())) if numbers else ()

    def scraps_on_photo(self, photo_id: int) -> tuple[int, ...]:
        """Return the numbers of the scraps that were logged from a photo, whatever their status."""
        query = select(SCRAPS.c.id).where(SCRAPS.c.photo_id == photo_id).order_by(SCRAPS.c.id)
        return tuple(self._connection.scalars(query))

    def yardage(self, only: StockFilter | None = None) -> tuple[Yardage, ...]:
        """Return the lengths of yardage that `only` lets through, by number."""
        width = func.coalesce(YARDAGE.c.usable_width, FABRICS.c.usable_width, 0.0)
        sides = (func.max(YARDAGE.c.length, width), func.min(YARDAGE.c.length, width))
        promised = self._promised()
        return tuple(
            form_of_row(Yardage, row | {"promised": promised.get(row["id"], ())})
            for row in self._stock(YARDAGE, only, sides)
        )

    def _promised(self) -> dict[int, tuple[Promise, ...]]:
        """Return what kept plans hold of each length, the older plan first."""
        query = (
            select(PLAN_STOCK.c.yardage_id, PLANS.c.name, PLAN_STOCK.c.inches)
            .join(PLANS, PLANS.c.id == PLAN_STOCK.c.plan_id)
            .order_by(PLAN_STOCK.c.id)
        )
        found: dict[int, tuple[Promise, ...]] = {}
        for number, name, inches in self._connection.execute(query):
            if number is None or inches is None:
                continue  # a scrap, or pieces
            found[number] = (*found.get(number, ()), Promise(name, inches))
        return found

    def yardage_length(self, number: int) -> Yardage:
        """Return one length of yardage, whatever its status; NotFoundError."""
        return _the_one(self.yardage(_numbered(number)), "length of yardage", number)

    def ready_cut(self, only: StockFilter | None = None) -> tuple[ReadyCut, ...]:
        """Return the lots of ready-cut pieces that `only` lets through, by number."""
        rows = self._stock(READY_CUT, only, (READY_CUT.c.long_side, READY_CUT.c.short_side))
        return tuple(form_of_row(ReadyCut, row) for row in rows)

    def ready_cut_lot(self, number: int) -> ReadyCut:
        """Return one lot of ready-cut pieces, whatever its status; NotFoundError."""
        return _the_one(self.ready_cut(_numbered(number)), "entry of ready-cut pieces", number)

    def binding_strips(self, only: StockFilter | None = None) -> tuple[BindingStrip, ...]:
        """Return the binding strips that `only` lets through, by number."""
        rows = self._stock(BINDING, only, (BINDING.c.length, BINDING.c.width))
        return tuple(form_of_row(BindingStrip, row) for row in rows)

    def binding_strip(self, number: int) -> BindingStrip:
        """Return one binding strip, whatever its status; NotFoundError."""
        return _the_one(self.binding_strips(_numbered(number)), "binding strip", number)

    def notions(self, kind: NotionKind, only: StockFilter | None = None) -> tuple[Notion, ...]:
        """Return the batting, forms or zips that `only` lets through, by number."""
        width = func.coalesce(NOTIONS.c.width, NOTIONS.c.length)
        sides = (func.max(NOTIONS.c.length, width), func.min(NOTIONS.c.length, width))
        rows = self._stock(NOTIONS, only, sides)
        return tuple(form_of_row(Notion, row) for row in rows if row["kind"] == kind)

    def notion(self, kind: NotionKind, number: int) -> Notion:
        """Return one of that kind, whatever its status; NotFoundError."""
        return _the_one(self.notions(kind, _numbered(number)), kind, number)

    def crumbs(self, only: StockFilter | None = None) -> tuple[Crumbs, ...]:
        """Return the bags of crumbs that `only` lets through, by number.

        Nothing in a bag is as large as any size that is asked for.
        """
        rows = self._stock(CRUMBS, only, (literal(0.0), literal(0.0)))
        return tuple(form_of_row(Crumbs, row) for row in rows)

    def crumbs_bag(self, number: int) -> Crumbs:
        """Return one bag of crumbs, whatever its status; NotFoundError."""
        return _the_one(self.crumbs(_numbered(number)), "bag of crumbs", number)

    def history(
        self,
        *,
        most: int | None = None,
        kind: Kind | None = None,
        number: int | None = None,
        each: int | None = None,
        only_undoable: bool = False,
    ) -> tuple[Change, ...]:
        """Return the changes, newest first; those that touched one kind or one thing when asked.

        At most `each` rows of a change are read, those that were asked for first: one change may
        hold every scrap there is. With `only_undoable` no undos, nor what was taken back already.
        """
        return changes(
            self._connection,
            most=most,
            kind=kind,
            number=number,
            each=each,
            only_undoable=only_undoable,
        )

    def counts(self) -> dict[str, int]:
        """Return how many rows of each kind the store holds, whatever their status."""
        tables = {
            "fabrics": FABRICS,
            "scraps": SCRAPS,
            "yardage": YARDAGE,
            "ready-cut": READY_CUT,
            "binding": BINDING,
            "notions": NOTIONS,
            "crumbs": CRUMBS,
            "photos": PHOTOS,
            "lenses": LENSES,
            "changes": CHANGES,
        }
        counted = {}
        for name, table in tables.items():
            counted[name] = self._connection.scalar(select(func.count()).select_from(table)) or 0
        return counted

    def _stock(
        self, table: Table, only: StockFilter | None, sides: tuple[Any, Any]
    ) -> list[dict[str, Any]]:
        """Return the rows of `table` that `only` lets through, by number, each with its fabric.

        `sides` are the longer and the shorter side of each thing.
        """
        only = only or StockFilter()
        query = select(table).join(FABRICS, FABRICS.c.id == table.c.fabric_id, isouter=True)
        if only.ids:
            query = query.where(table.c.id.in_(only.ids))
        if only.statuses:
            query = query.where(table.c.status.in_(only.statuses))
        if only.places:
            query = query.where(table.c.place.in_(self._spelled(table.c.place, only.places)))
        if only.fabrics:
            query = query.where(FABRICS.c.name.in_(self._spelled(FABRICS.c.name, only.fabrics)))
        if only.from_projects and table is SCRAPS:
            names = self._with_projects(only.from_projects)
            spelled = self._spelled(SCRAPS.c.from_project, names)
            query = query.where(SCRAPS.c.from_project.in_(spelled))
        if only.values:
            query = query.where(_or_of_fabric(table, "value").in_(only.values))
        if only.families:
            of_family = _or_of_fabric(table, "family").in_(only.families)
            if table is SCRAPS:
                accent = func.json_each(SCRAPS.c.accents).table_valued("value")
                among = select(accent.c.value).where(accent.c.value.in_(only.families)).exists()
                # A tint is worked out of the swatches: `scraps` picks among these.
                neutral = _or_of_fabric(table, "family").in_(NEUTRALS)
                query = query.where(or_(of_family, among, neutral))
            else:
                query = query.where(of_family)
        if only.at_least is not None:
            # Outlines turned out of the straight carry the rounding of their rotation.
            short, long = (side - 1e-6 for side in sorted(only.at_least))
            query = query.where(sides[0] >= long, sides[1] >= short)
        rows = self.rows(table, query.order_by(table.c.id))
        fabrics = self._by_number(Fabric, FABRICS, {row["fabric_id"] for row in rows})
        return [row | {"fabric": fabrics.get(row["fabric_id"])} for row in rows]

    def _with_projects(self, names: Sequence[str]) -> list[str]:
        """Return the names, and the projects of the kept plans that have one of them."""
        kept = self._connection.execute(select(PLANS.c.name, PLANS.c.project))
        named = [row.project for row in kept if any(same_word(row.name, name) for name in names)]
        return [*names, *named]

    def _spelled(self, column: ColumnElement[Any] | Any, words: Sequence[str]) -> list[str]:
        """Return how the store spells `words` in `column`: as `same_word`, often in several ways.

        SQLite's own comparison knows the capitals of ASCII only.
        """
        known = self._connection.scalars(select(column).where(column.is_not(None)).distinct())
        return [spelling for spelling in known if any(same_word(spelling, w) for w in words)]

    def _by_number(
        self, form: type[_Form], table: Table, numbers: set[int | None]
    ) -> dict[int, _Form]:
        """Return the rows of `table` with these numbers; all of them where that is less work."""
        query: Select[Any] = select(table)
        if len(numbers) < _ASKED_AT_ONCE:
            query = query.where(table.c.id.in_(numbers - {None}))
        return {row["id"]: form_of_row(form, row) for row in self.rows(table, query)}

    def _forms(
        self, form: type[_Form], table: Table, query: Select[Any] | None = None
    ) -> tuple[_Form, ...]:
        return tuple(form_of_row(form, row) for row in self.rows(table, query))


def _tints(rows: Sequence[Mapping[str, Any]]) -> list[tuple[str, ...]]:
    """Return the tints of scraps, given as rows with their fabrics."""
    found: list[tuple[str, ...]] = [()] * len(rows)
    words = [row["family"] or (row["fabric"].family if row["fabric"] else None) for row in rows]
    neutral = [at for at, row in enumerate(rows) if words[at] in NEUTRALS and row["swatches"]]
    leads = [one.lead_lab for one in read_many([rows[at]["swatches"] for at in neutral])]
    for at, some in zip(neutral, tints([words[at] for at in neutral], leads), strict=True):
        found[at] = some
    return found


def _or_of_fabric(table: Table, name: str) -> ColumnElement[Any]:
    """Return a column of `table`, or of its fabric where it says nothing or has none such."""
    of_fabric: ColumnElement[Any] = FABRICS.c[name]
    return func.coalesce(table.c[name], of_fabric) if name in table.c else of_fabric


def _numbered(number: int) -> StockFilter:
    # No more than SQLite counts to; no row has number 0.
    return StockFilter(ids=(number if 0 <= number < 2**63 else 0,), statuses=())


def _the_one(found: Sequence[_Form], called: str, number: int) -> _Form:
    if not found:
        msg = f"no {called} has the number {number}; the lists show the numbers there are"
        raise NotFoundError(msg)
    return found[0]


def row_number(text: str) -> int | None:
    """Return the number that ``12`` or ``#12`` names; None for what no row can have as its."""
    plain = text.strip().removeprefix("#")
    # Not isdigit alone: ² is a digit to Python. No row's number has more digits than 64 bits hold.
    if not (plain.isascii() and plain.isdigit() and len(plain) < 19):
        return None
    return int(plain)


def same_word(one: str, other: str) -> bool:
    """Whether two words differ in capitals, or in how their accents are stored, only."""
    plain = (normalize("NFC", word.strip()).casefold() for word in (one, other))
    return next(plain) == next(plain)

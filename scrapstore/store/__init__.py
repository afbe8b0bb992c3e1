"""The store: what a quilter has, kept in one folder.

Open it, read it as working forms, change it in one transaction::

    from scrapstore.store import NewScrap, StockFilter, open_store

    with open_store() as store:                       # or open_store("some/folder")
        with store.read() as reader:
            for scrap in reader.scraps(StockFilter(families=("blue",), at_least=(5, 5))):
                print(scrap.id, scrap.outline, scrap.grain_deg, scrap.margin)
        with store.change("scrap add") as writer:     # all of it is kept, or nothing
            scrap = writer.add_scrap(NewScrap(outline=box(0, 0, 9, 22), place="bin 2"))
            writer.update_scrap(replace(scrap, status="set aside", set_aside_for="bench 1"))

Lists hold what is available unless a `StockFilter` says otherwise. Rows and connections stay inside
this room. SQLAlchemy is heavy: import this room inside functions where start-up time matters.
"""

from scrapstore.store.checking import Checkup
from scrapstore.store.coloured import ColouredScrap, coloured_scraps
from scrapstore.store.cutting import book_cuts, spoil_cut_pieces
from scrapstore.store.faults import RESTORE, StoreFault
from scrapstore.store.filters import StockFilter
from scrapstore.store.forms import (
    STATUSES,
    VALUES,
    BindingStrip,
    Box,
    Change,
    ChangedRow,
    Crumbs,
    CutOut,
    CutOutImage,
    CuttableScrap,
    Fabric,
    Lens,
    NewBindingStrip,
    NewCrumbs,
    NewFabric,
    NewLens,
    NewNotion,
    NewPhoto,
    NewReadyCut,
    NewScrap,
    NewYardage,
    Notion,
    NotionKind,
    Promise,
    ReadyCut,
    Scrap,
    Status,
    StoredPhoto,
    StripRest,
    Value,
    Yardage,
)
from scrapstore.store.held_strips import hold_strips, use_strips
from scrapstore.store.importing import import_archive
from scrapstore.store.lenses import forget_lens, keep_lens, lenses
from scrapstore.store.opening import open_store, store_folder
from scrapstore.store.plan_forms import BookedCut, NewCut, NewPlan, PieceState, Plan, PlanPiece
from scrapstore.store.plans import (
    finish_plan,
    holding_plan,
    keep_plan,
    plan_named,
    plans,
    release_plan,
)
from scrapstore.store.reader import Reader, row_number
from scrapstore.store.restoring import Restored, restore
from scrapstore.store.store import Store
from scrapstore.store.undo import numbers_to_undo
from scrapstore.store.writer import Writer

__all__ = [
    "RESTORE",
    "STATUSES",
    "VALUES",
    "BindingStrip",
    "BookedCut",
    "Box",
    "Change",
    "ChangedRow",
    "Checkup",
    "ColouredScrap",
    "Crumbs",
    "CutOut",
    "CutOutImage",
    "CuttableScrap",
    "Fabric",
    "Lens",
    "NewBindingStrip",
    "NewCrumbs",
    "NewCut",
    "NewFabric",
    "NewLens",
    "NewNotion",
    "NewPhoto",
    "NewPlan",
    "NewReadyCut",
    "NewScrap",
    "NewYardage",
    "Notion",
    "NotionKind",
    "PieceState",
    "Plan",
    "PlanPiece",
    "Promise",
    "Reader",
    "ReadyCut",
    "Restored",
    "Scrap",
    "Status",
    "StockFilter",
    "Store",
    "StoreFault",
    "StoredPhoto",
    "StripRest",
    "Value",
    "Writer",
    "Yardage",
    "book_cuts",
    "coloured_scraps",
    "finish_plan",
    "forget_lens",
    "hold_strips",
    "holding_plan",
    "import_archive",
    "keep_lens",
    "keep_plan",
    "lenses",
    "numbers_to_undo",
    "open_store",
    "plan_named",
    "plans",
    "release_plan",
    "restore",
    "row_number",
    "spoil_cut_pieces",
    "store_folder",
    "use_strips",
]

"""What the store holds, as ``--json`` prints it: `stock_schema`, read from working forms."""

from collections.abc import Iterable

from scrapstore.actions.fabric import FabricDetail
from scrapstore.actions.store import StoreCheck, StoreReport
from scrapstore.json_output.stock_schema import (
    BindingListOut,
    CrumbsListOut,
    FabricDetailOut,
    FabricListOut,
    HistoryOut,
    NotionListOut,
    ReadyCutListOut,
    ScrapListOut,
    ScrapOut,
    StoreCheckOut,
    StoreReportOut,
    UndoOut,
    YardageListOut,
)
from scrapstore.store import BindingStrip, Change, Crumbs, Fabric, Notion, ReadyCut, Scrap, Yardage

__all__ = [
    "binding_list_out",
    "crumbs_list_out",
    "fabric_detail_out",
    "fabric_list_out",
    "history_out",
    "notion_list_out",
    "ready_cut_list_out",
    "scrap_list_out",
    "scrap_out",
    "store_check_out",
    "store_report_out",
    "undo_out",
    "yardage_list_out",
]


def scrap_out(scrap: Scrap) -> ScrapOut:
    """Return the JSON form of `scrap`."""
    return ScrapOut.model_validate(scrap)


def fabric_list_out(fabrics: Iterable[Fabric]) -> FabricListOut:
    """Return the JSON form of a list of fabrics."""
    return FabricListOut.model_validate({"fabrics": list(fabrics)})


def scrap_list_out(scraps: Iterable[Scrap]) -> ScrapListOut:
    """Return the JSON form of a list of scraps."""
    return ScrapListOut.model_validate({"scraps": list(scraps)})


def yardage_list_out(lengths: Iterable[Yardage]) -> YardageListOut:
    """Return the JSON form of a list of lengths."""
    return YardageListOut.model_validate({"yardage": list(lengths)})


def ready_cut_list_out(lots: Iterable[ReadyCut]) -> ReadyCutListOut:
    """Return the JSON form of a list of ready-cut pieces."""
    return ReadyCutListOut.model_validate({"ready_cut": list(lots)})


def binding_list_out(strips: Iterable[BindingStrip]) -> BindingListOut:
    """Return the JSON form of a list of binding strips."""
    return BindingListOut.model_validate({"binding": list(strips)})


def notion_list_out(notions: Iterable[Notion]) -> NotionListOut:
    """Return the JSON form of a list of batting, forms or zips."""
    return NotionListOut.model_validate({"notions": list(notions)})


def crumbs_list_out(bags: Iterable[Crumbs]) -> CrumbsListOut:
    """Return the JSON form of a list of bags of crumbs."""
    return CrumbsListOut.model_validate({"crumbs": list(bags)})


def fabric_detail_out(detail: FabricDetail) -> FabricDetailOut:
    """Return the JSON form of a fabric with what is available of it."""
    return FabricDetailOut.model_validate(detail)


def store_report_out(report: StoreReport) -> StoreReportOut:
    """Return the JSON form of a store looked over."""
    return StoreReportOut.model_validate(report)


def store_check_out(check: StoreCheck) -> StoreCheckOut:
    """Return the JSON form of a store checked."""
    return StoreCheckOut.model_validate(check)


def history_out(changes: Iterable[Change]) -> HistoryOut:
    """Return the JSON form of the history."""
    return HistoryOut.model_validate({"changes": list(changes)})


def undo_out(taken: Iterable[Change]) -> UndoOut:
    """Return the JSON form of what an undo took back."""
    return UndoOut.model_validate({"taken_back": list(taken)})

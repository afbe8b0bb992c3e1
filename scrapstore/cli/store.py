"""``store``: where it is, whether it is whole, copies of it."""

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli.base import Call, command, group
from scrapstore.cli.tables import Shown, facts
from scrapstore.errors import StoreDamagedError

if TYPE_CHECKING:
    from scrapstore.actions.store import StoreReport

__all__ = ["app"]


app = group("store", "The store itself: info, backup.")


@command(app, "info")
def info(call: Call) -> None:
    """Tell where the store is and what is in it, and check that it is whole."""
    from scrapstore.actions.store import look_over_store
    from scrapstore.json_output.stock import store_report_out

    report = call.in_store(look_over_store)
    call.show(store_report_out(report), lambda: _text(report))
    if report.faults:
        raise StoreDamagedError(
            f"the store is not whole: {_first(report.faults)}; go back to a copy from "
            f"{report.folder / 'backups'}, or log the photo again"
        )


@command(app, "backup")
def backup(
    call: Call,
    to: Annotated[
        Path | None,
        typer.Argument(metavar="FOLDER", help="A new folder for a whole copy, photos included."),
    ] = None,
) -> None:
    """Copy the store: the whole of it to FOLDER, or the records alone to its backups folder."""
    from scrapstore.actions.store import back_up_store
    from scrapstore.json_output.stock_schema import BackupOut

    copy = call.in_store(back_up_store, to)
    out = BackupOut(path=copy.path, photos=to is not None, faults=list(copy.faults))
    call.show(out, lambda: f"copied to {copy.path}")
    if copy.faults:
        raise StoreDamagedError(
            f"copied, but not all pictures are whole: {_first(copy.faults)}; log their photos again"
        )


def _first(faults: Sequence[str]) -> str:
    count = len(faults)
    return faults[0] + (f" ({count} faults in all)" if count > 1 else "")


def _text(report: "StoreReport") -> Shown:

    size = (report.database_bytes + report.photo_bytes) / 1e6
    return facts(
        [
            ("store", str(report.folder)),
            *((name, str(count)) for name, count in report.counts.items()),
            ("on disk", f"{size:.1f} MB"),
            ("tables", f"revision {report.revision}"),
            ("backups", str(len(report.backups)) if report.backups else "none"),
            ("spare photos", str(report.spare_photos) if report.spare_photos else ""),
            ("whole", "yes" if not report.faults else f"no: {len(report.faults)} faults"),
            *(("", fault) for fault in report.faults),
        ]
    )

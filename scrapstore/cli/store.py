"""``store``: where it is, whether it is whole, copies of it."""

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli.base import Call, command, group
from scrapstore.cli.tables import Shown, facts
from scrapstore.errors import StoreDamagedError, UsageError

if TYPE_CHECKING:
    from scrapstore.actions.store import StoreCheck, StoreReport
    from scrapstore.store import StoreFault

__all__ = ["app"]


app = group("store", "The store itself: info, check, backup, restore, export, import.")


@command(app, "info")
def info(call: Call) -> None:
    """Tell where the store is and what is in it, and check that it is whole."""
    from scrapstore.actions.store import look_over_store
    from scrapstore.json_output.stock import store_report_out

    report = call.in_store(look_over_store)
    call.show(store_report_out(report), lambda: _text(report))
    if report.faults:
        raise StoreDamagedError(f"the store is not whole: {_first(report.faults)}")


@command(app, "check")
def check(
    call: Call,
    mend: Annotated[
        bool, typer.Option("--mend", help="Put right what can be, after a backup of the records.")
    ] = False,
    look_in: Annotated[
        list[Path] | None,
        typer.Option(
            "--from",
            metavar="FOLDER",
            help="With --mend: a whole copy of the store, to take missing photos from.",
        ),
    ] = None,
) -> None:
    """Check the store: its file, every record, the history, every picture.

    Each fault is listed with what is lost and what to do. Exit status 0 when all is whole, else 1.
    """
    from scrapstore.actions.store import check_store
    from scrapstore.json_output.stock import store_check_out

    if look_in and not mend:
        raise UsageError("--from says where photos are looked for; add --mend to take them")
    found = check_store(call.store, call.say, mend=mend, look_in=look_in or ())
    call.show(store_check_out(found), lambda: _check_text(found))
    if found.faults:
        raise StoreDamagedError(_not_whole(found.faults))


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


@command(app, "restore")
def restore(
    call: Call,
    backup: Annotated[
        Path,
        typer.Argument(
            metavar="BACKUP", help="A folder made by store backup, or a file of the backups folder."
        ),
    ],
) -> None:
    """Go back to a backup; what the store holds now is kept as a backup first.

    The backup is checked before anything is touched, and the store afterwards. All of it is put
    back, its history too, or nothing.
    """
    from scrapstore.actions.store import restore_store
    from scrapstore.json_output.stock_schema import RestoredOut

    done = restore_store(call.store, backup, call.say)
    lines = [f"Restored from {done.source}."]
    if done.kept is not None:
        lines.append(f"What the store held before is kept: {done.kept}")
    call.show(RestoredOut.model_validate(done), lambda: "\n".join(lines))
    _refuse_unwhole("restored", done.checkup.faults)


@command(app, "export")
def export(
    call: Call,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A new file, such as store.zip.")],
) -> None:
    """Write the whole store into one file that other programs can read.

    A zip file: every table as JSON lines and for a spreadsheet, every photo. See guide store.
    """
    from scrapstore.actions.store import export_store
    from scrapstore.json_output.stock_schema import BackupOut

    made = call.in_store(export_store, file)
    out = BackupOut(path=made.path, photos=True, faults=list(made.faults))
    call.show(out, lambda: f"exported to {made.path}")
    if made.faults:
        raise StoreDamagedError(
            f"exported, but not all pictures are there: {_first(made.faults)}; log them again"
        )


@command(app, "import")
def import_(
    call: Call,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A file that store export wrote.")],
) -> None:
    """Put an exported store into an empty one, such as a new folder named with --store.

    All that was exported is there again, numbers, history and photos; or nothing is changed.
    """
    from scrapstore.actions.store import import_store
    from scrapstore.json_output.stock import store_check_out

    done = import_store(call.store, file, call.say)
    call.show(store_check_out(done), lambda: f"imported {file} into {done.folder}")
    _refuse_unwhole("imported", done.faults)


def _refuse_unwhole(done: str, faults: "Sequence[StoreFault]") -> None:
    if faults:
        raise StoreDamagedError(f"{done}, but {_first(map(str, faults))}")


def _first(sentences: Iterable[str]) -> str:
    first, *more = sentences
    return first + (f" ({len(more) + 1} faults in all)" if more else "")


def _not_whole(faults: "Sequence[StoreFault]") -> str:
    count, mends = len(faults), sum(fault.mends for fault in faults)
    found = "one thing is" if count == 1 else f"{count} things are"
    some = ("it" if count == 1 else "them") if mends == count else f"{mends} of them"
    way = f"; scrapstore store check --mend puts {some} right" if mends else "; see what to do"
    return f"{found} not as it should be{way}"


def _check_text(found: "StoreCheck") -> Shown:
    lines = [f"Mended: {fault.thing} {fault.wrong}." for fault in found.mended]
    if found.backup is not None:
        lines.append(f"The records as they were before: {found.backup}")
    if not found.faults:
        lines.append("Whole: the file, every record, the history and every picture.")
    for fault in found.faults:
        lines += [f"{fault.thing} {fault.wrong}.", f"  lost: {fault.lost}", f"  do: {fault.remedy}"]
    lines += [f"Note: {note}." for note in found.notes]
    return "\n".join(lines)


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

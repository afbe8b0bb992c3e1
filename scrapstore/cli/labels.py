"""``labels``: labels to print and pin to scraps, sheets to fasten to boxes."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.filters import ScrapFilters
from scrapstore.cli.progress import progress_bar

if TYPE_CHECKING:
    from scrapstore.actions.labels import Printed

__all__ = ["app"]


app = typer.Typer()


@command(app, "labels")
def labels(
    call: Call,
    file: Annotated[Path, typer.Argument(metavar="FILE", help="Where they go: a .pdf.")],
    numbers: Annotated[
        list[str] | None,
        typer.Argument(metavar="NUMBER", help="Only these scraps; 3-7 means 3 to 7."),
    ] = None,
    *,
    filters: ScrapFilters,
    boxes: Annotated[
        bool,
        typer.Option(
            "--boxes", help="A sheet for each place instead, with the cloth of its scraps."
        ),
    ] = False,
    paper: Annotated[
        str | None,
        typer.Option(
            "--paper", metavar="a4|letter", help="The printer's paper (else the setting paper)."
        ),
    ] = None,
) -> None:
    """Write labels to pin to scraps: number, size, colour in words, and a code for the camera.

    Ten to a page, to cut apart. find --label PHOTO says which scraps a photo shows by their labels,
    log leaves out a scrap that lies beside its label, and stocktake ticks off what is in a place.
    """
    from scrapstore.actions.labels import write_labels
    from scrapstore.json_output.labels import PrintedOut
    from scrapstore.store import STATUSES

    only = filters.read(call)
    if numbers:
        only = replace(only, ids=tuple(o.number_list(numbers)))
        if filters.status is None:  # what is asked for by its number is wanted whatever it is
            only = replace(only, statuses=STATUSES)
    settings = call.settings if paper is None else call.with_settings(paper=paper)
    with call.open_store() as store, progress_bar("scraps cut out") as advance:
        done = write_labels(store, only, settings, file, boxes=boxes, progress=advance)
    call.show(lambda: PrintedOut.model_validate(done), lambda: _text(done, boxes=boxes))


def _text(done: "Printed", *, boxes: bool) -> str:
    count = len(done.numbers)
    scraps = f"{count} scrap{'' if count == 1 else 's'}"
    what = f"Sheets for boxes with {scraps}" if boxes else f"Labels of {scraps}"
    return f"{what}: {done.file}"

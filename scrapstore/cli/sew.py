"""``sew``: in which order a top is sewn."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.tables import Shown, stack, table
from scrapstore.errors import UsageError

if TYPE_CHECKING:
    from scrapstore.actions.sew import SewResult

__all__ = ["app"]

app = typer.Typer()


@command(app, "sew")
def sew(
    call: Call,
    name: Annotated[
        str,
        typer.Argument(metavar="PROJECT|PLAN", help="A project file, or a kept plan's name."),
    ],
    *,
    batch: Annotated[
        int | None,
        o.number_option("--batch", "List every seam of this batch, piece by piece.", most=10_000),
    ] = None,
    file: Annotated[
        Path | None,
        typer.Option(
            "--sheet",
            metavar="FILE",
            help="Write every batch with its pictures, to print or to read: .pdf or .html.",
        ),
    ] = None,
) -> None:
    """Say in which order a top is sewn: what in one go, what to press and measure after it.

    It finds the order with the fewest set-in seams. Equal seams are a batch, to be sewn one after
    the other. Pieces have the labels of the cutting sheets where a plan is named, else the
    positions of the design. Nothing in the store is changed.
    """
    from scrapstore.actions.sew import plan_order
    from scrapstore.json_output.sew import sew_out

    result = plan_order(call.open_store, name, call.settings, file)
    if batch is not None and batch > len(result.sewing.order.batches):
        msg = f"--batch: there are {len(result.sewing.order.batches)} batches, so none is {batch}"
        raise UsageError(f"{msg}; sew without it lists them")
    call.show(
        lambda: sew_out(result), lambda: _text(result) if batch is None else _one(result, batch)
    )
    if result.file is not None:
        call.say(f"Sheet to print: {result.file}")


def _text(result: "SewResult") -> Shown:
    from rich.text import Text

    from scrapstore.report.sewing_text import (
        SEWING_CAUTIONS,
        batch_words,
        count_line,
        how_to_sew,
        kinds_words,
        letter_line,
        made_words,
        measure_words,
        nest_line,
        pin_words,
        press_words,
        pressed_both_ways,
        seam_test_line,
        set_in_lines,
        turn_words,
    )

    sewing, units, mark = result.sewing, result.settings.units, result.settings.mark
    seam = sewing.project.seam_allowance
    first = sewing.order.batches[0]
    head = [
        count_line(sewing),
        seam_test_line(seam, units),
        batch_words(sewing, first, units, mark),
        f"Then measure: {measure_words(first.sides, seam, units, mark)}.",
        "",
    ]
    rows = [
        (
            f"{batch.number}",
            made_words(batch),
            kinds_words(sewing, batch),
            "; ".join(
                filter(None, (words(join, units, mark) for words in (pin_words, turn_words)))
            ),
            press_words(sewing, batch),
            measure_words(batch.sides, seam, units, mark),
        )
        for batch, join in (
            (batch, sewing.order.join(batch.joins[0])) for batch in sewing.order.batches
        )
    ]
    columns = ("batch", "sew", "what", "pin at", "press", "measure")
    rest = [
        "",
        letter_line(sewing),
        how_to_sew(),
        *set_in_lines(sewing, units, mark),
        nest_line(sewing),
    ]
    if any(pressed_both_ways(sewing, batch) for batch in sewing.order.batches):
        rest.append("Where a batch is pressed both ways, --batch says which seam goes where.")
    return stack(
        *map(Text, head), table(columns, rows, right=("batch",)),
        *map(Text, [*rest, *SEWING_CAUTIONS]),
    )  # fmt: skip


def _one(result: "SewResult", number: int) -> Shown:
    from rich.text import Text

    from scrapstore.report.sewing_text import batch_words, how_to_sew, join_words, measure_words

    sewing, units, mark = result.sewing, result.settings.units, result.settings.mark
    batch = sewing.order.batches[number - 1]
    measured = measure_words(batch.sides, sewing.project.seam_allowance, units, mark)
    rows = [join_words(sewing, sewing.order.join(each)) for each in batch.joins]
    return stack(
        Text(batch_words(sewing, batch, units, mark)),
        Text(f"Then measure: {measured}.\n"),
        table(("seam", "first", "second", "press"), rows, right=("seam",)),
        Text(how_to_sew()),
    )

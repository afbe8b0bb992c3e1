"""``find``: scraps like a colour, a photo or a scrap; that go with one; by their labels."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.colour_blocks import block_table, blocks
from scrapstore.cli.contact_sheet import (
    SheetOption,
    doubt_line,
    scrap_rows,
    show_colours,
)
from scrapstore.cli.filters import ScrapFilters
from scrapstore.cli.tables import Shown, stack, table
from scrapstore.errors import UsageError

if TYPE_CHECKING:
    from scrapstore.actions.find import Found, GoesWith, Wanted
    from scrapstore.actions.labels import LabelsInPhoto

__all__ = ["app"]


app = typer.Typer()


@command(app, "find")
def find(
    call: Call,
    *,
    like: Annotated[
        str | None,
        typer.Option(
            "--like",
            metavar="WHAT",
            help="A photo of one scrap, a scrap's number, or a colour: blue, '#2a6f77'.",
        ),
    ] = None,
    anywhere: Annotated[
        bool,
        typer.Option(
            "--anywhere", help="With --like: the colour anywhere on a scrap, as an accent too."
        ),
    ] = False,
    goes_with: Annotated[
        int | None,
        o.number_option("--goes-with", "Scraps that go with this one.", metavar="NUMBER"),
    ] = None,
    label: Annotated[
        Path | None,
        typer.Option("--label", metavar="PHOTO", help="The scraps whose labels lie in this photo."),
    ] = None,
    most: Annotated[
        int | None,
        o.number_option("--most", "At most so many (12; for --goes-with 6 a suggestion)."),
    ] = None,
    sheet: SheetOption,
    filters: ScrapFilters,
) -> None:
    """Find scraps by colour difference, or scraps that go with one. Filters combine.

    --like lists whole cloths, the nearest in colour first. --goes-with suggests neighbouring and
    opposite hues, hues a third of the wheel apart, and its own family from light to dark. --label
    reads the labels in a photo (see labels), also of scraps that are used up.
    """
    if [like, goes_with, label].count(None) != 2:
        raise UsageError(
            "find: give one of --like WHAT, --goes-with NUMBER and --label PHOTO; all scraps of a "
            "colour are in scrap list --family pink"
        )
    if anywhere and like is None:
        raise UsageError("find: --anywhere belongs to --like")
    only = filters.read(call)
    if label is not None:
        if call.filtered or sheet.sheet or most:
            raise UsageError("find: --label says what is in the photo, and takes no filter")
        _find_labels(call, label)
        return
    from scrapstore.actions import find as actions
    from scrapstore.json_output.colours import found_out, goes_with_out

    if goes_with is not None:
        show_colours(
            call, sheet,
            lambda store: actions.goes_with(store, goes_with, only, most=most or 6),
            goes_with_out, _goes_with_text, actions.goes_with_sheet,
        )  # fmt: skip
    elif like is not None:
        show_colours(
            call, sheet,
            lambda store: actions.find_like(store, like, only, most=most or 12, anywhere=anywhere),
            lambda answer: found_out(*answer), _found_text, actions.found_sheet,
        )  # fmt: skip


def _find_labels(call: Call, photo: Path) -> None:
    from scrapstore.actions.labels import read_labels
    from scrapstore.json_output.labels import LabelsInPhotoOut

    found = call.in_store(read_labels, photo)
    call.show(lambda: LabelsInPhotoOut.model_validate(found), lambda: _labels_text(call, found))
    for number in found.unknown:
        call.say(f"There is a label of scrap {number}, and no such scrap in this store.")
    for text in found.others:
        call.say(f"There is a code that is no label of a scrap: {text}")


def _labels_text(call: Call, found: "LabelsInPhoto") -> Shown:
    if not found.scraps and (found.unknown or found.others):
        return "No scrap of this store."
    if not found.scraps:
        return "No label of a scrap can be read; take the photo nearer, in even light, unfolded."
    rows = [
        (
            str(scrap.id),
            o.sides_text(call, scrap.sides),
            ", ".join(filter(None, (scrap.shown_family, scrap.shown_value))),
            scrap.title,
            scrap.place or "",
            o.status_text(scrap.status, scrap.set_aside_for),
        )
        for scrap in found.scraps
    ]
    return table(("no.", "size", "family", "what", "place", "status"), rows, right=("no.", "size"))


def _found_text(call: Call, answer: "tuple[Wanted, tuple[Found, ...]]", colour: bool) -> Shown:
    wanted, found = answer

    from scrapstore.actions.find import in_words

    columns, rows, colours = scrap_rows(call, tuple(one.one for one in found))
    rows = [(in_words(one.distance), *row) for one, row in zip(found, rows, strict=True)]
    words = f"Like {wanted.said} ({wanted.words})"
    drawn = blocks((s.rgb, s.share) for s in wanted.swatches) if colour else None
    head = words if drawn is None else drawn.append(f" {words}")
    if not found:
        return stack(head, f"No scrap with a photo to compare. {o.no_scraps(call)}")
    return stack(
        head,
        "",
        block_table(
            ("how near", *columns),
            rows,
            colours if colour else None,
            right=("no.", "size"),
        ),
        *doubt_line([one.one for one in found]),
    )


def _goes_with_text(call: Call, answer: "GoesWith", colour: bool) -> Shown:

    from scrapstore.colour import HUELESS
    from scrapstore.store.scrap_colours import called

    start = answer.start
    words = " ".join(filter(None, (start.value, start.family)))
    parts: list[Shown] = [f"What goes with scrap {start.scrap.id}: {called(start.scrap)}, {words}"]
    if not start.photographed:
        parts.append("It has no photo: it counts with the usual colour of its family.")
    for one in answer.together:
        columns, rows, colours = scrap_rows(call, one.members)
        parts += [
            f"\n{one.relation.capitalize()}: {one.reason}",
            block_table(columns, rows, colours if colour else None, right=("no.", "size")),
        ]
    if not answer.together:
        plain = start.family in HUELESS
        parts.append(
            "It has no hue to go by, and no other scrap of its family lies a step lighter or "
            "darker."
            if plain
            else "No other scrap in the store goes with it."
        )
    parts += doubt_line([one for each in answer.together for one in each.members])
    return stack(*parts)

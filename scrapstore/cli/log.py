"""``log``: photos of scraps into the store."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from scrapstore.cli import options as o
from scrapstore.cli.base import Call, command
from scrapstore.cli.gives import say_what_new_scraps_give
from scrapstore.cli.progress import progress_bar
from scrapstore.cli.sizes import SizeOptions
from scrapstore.cli.tables import Shown, stack, table
from scrapstore.cli.typed_fields import FieldOptions, adding
from scrapstore.errors import PhotoError
from scrapstore.sentences import several
from scrapstore.stock_entry.fields import SCRAP_FIELDS

if TYPE_CHECKING:
    from scrapstore.actions.log import LogResult

__all__ = ["app"]

# \b keeps the lines after it as they are.
_HELP = """Log photos of scraps: measured from the photo, or one on each with the size you typed.

With the printed scale beside them (see the command scale), the scraps of a photo are measured: a
table and a preview picture show what was found, and you say what to keep. With --size or another
size, the photo shows one scrap, and nothing is measured. Colours are read from the photo either
way. Where a kept plan is short of pieces, or sizes are always kept in stock, what the new scraps
give for that is said last (see gives). A scrap of the store that lies by its label (see labels)
is not logged again.

What is said here holds for every photo that has no entry in the file scraps.toml beside it, and
goes before an entry that is measured; sizes in an entry stay. Entries there look like this:

\b
  ["curtain-end.jpg"]
  size = "9 x 6"    # or strip, triangle, corners, precut; in inches
  grain = "first"   # along the measure typed first
  fabric = "waiting room curtain"
\b
  ["by-the-window.jpg"]
  measure = true
  place = "blue tin"
\b
  ["by-the-window.jpg".scraps.1]
  name = "curtain end"
  grain = "suggested"

A photo that cannot be used is refused by name; the others still go in.
"""


app = typer.Typer()


@command(app, "log", help=_HELP)
def log(
    call: Call,
    photos: Annotated[
        list[Path], typer.Argument(metavar="PHOTO_OR_FOLDER", help="Photos, or folders of them.")
    ],
    size: SizeOptions,
    fields: Annotated[FieldOptions, adding(SCRAP_FIELDS, without=("accents",))],
    yes: Annotated[
        bool, typer.Option("--yes", help="Keep all that are measured without asking.")
    ] = False,
    leave_out: Annotated[
        str | None,
        typer.Option("--leave-out", metavar="NUMBERS", help="Measured scraps to leave out: '2,4'."),
    ] = None,
    typed: Annotated[
        list[str] | None,
        typer.Option(
            "--typed",
            metavar="'NUMBER: W x H'",
            help="Take this size for one scrap, not the measured one: '3: 9 x 6'; may be repeated.",
        ),
    ] = None,
    take_grain: Annotated[
        bool,
        typer.Option("--take-grain", help="Take the suggested grain; else it stays unknown."),
    ] = False,
    squares: Annotated[
        str | None,
        typer.Option(
            "--squares",
            metavar="FAMILY:IDS:SIDE",
            help="Squares of your own as the scale: '4x4_50:0-9:30 mm'; 'print' is ours.",
        ),
    ] = None,
    previews: Annotated[
        Path | None,
        typer.Option(
            "--previews", metavar="FOLDER", help="Where preview pictures go (else in the store)."
        ),
    ] = None,
    again: Annotated[
        bool,
        typer.Option(
            "--again",
            help="Add a photo that was logged before, or a scrap by its label, once more.",
        ),
    ] = False,
    no_gives: Annotated[
        bool,
        typer.Option("--no-gives", help="Do not look which pieces the new scraps give; see gives."),
    ] = False,
) -> None:
    """Log photos; `_HELP` is what help says of it."""
    from contextlib import nullcontext

    from scrapstore.actions.log import log_photos
    from scrapstore.actions.scale import scale_of
    from scrapstore.cli.confirm_measured import at_terminal, confirm_on_terminal, typed_notes
    from scrapstore.json_output.log import log_out
    from scrapstore.stock_entry.measured import Measuring, keep_all
    from scrapstore.store import NewFabric, NewScrap

    values = fields.read_new(call)
    cloth = values.pop("fabric", None)
    new_fabric = NewFabric(name=cloth) if cloth else None
    typed_scrap = notes = None
    if size.given:
        from scrapstore.stock_entry.size_list import TypedScrap

        outline, kept_free = size.outline(call)
        scrap = NewScrap(
            outline=outline.outline, grain_deg=outline.grain_deg, margin=kept_free, **values
        )
        typed_scrap = TypedScrap(scrap=scrap, fabric=new_fabric)
    else:
        if size.margin is not None:
            values["margin"] = call.length(size.margin, field="margin", zero=True)
        notes = typed_notes(
            call,
            photos,
            fields=values,
            fabric=new_fabric,
            grain="suggested" if take_grain else size.grain,
            leave_out=leave_out,
            typed=typed or [],
        )
    scale = scale_of(squares, call.settings)
    asks = not yes and at_terminal()
    shown: set[tuple[Path, str]] = set()
    with (
        call.open_store(make=True) as store,
        # A bar would be drawn over the questions.
        nullcontext(lambda _done, _of: None) if asks else progress_bar("photos") as advance,
    ):
        folder = previews or store.folder / "previews"
        choose = keep_all if yes else confirm_on_terminal(call, shown) if asks else None
        measuring = Measuring(
            previews=folder, choose=choose, squares=scale[0], printed_scale=scale[1]
        )
        result = log_photos(
            store,
            photos,
            call.settings,
            typed=typed_scrap,
            measuring=replace(measuring, said=notes) if notes else measuring,
            again=again,
            make_fabrics=fields.make_fabric,
            advance=advance,
        )
    _tell(call, result, shown, asks=asks)
    call.show(log_out(result), lambda: _text(call, result))
    new = [scrap.id for photo in result.logged for scrap in photo.scraps]
    if new and not (call.json or no_gives or result.left):
        say_what_new_scraps_give(call, new)
    if result.left:
        raise PhotoError(_left_words(result))
    if result.refused:
        count = len(result.refused)
        msg = (
            f"{count} photo{'s were' if count > 1 else ' was'} refused, see above"
            f"{'; the rest is kept' if result.logged else ''}"
        )
        raise PhotoError(msg)


def _tell(call: Call, result: "LogResult", shown: set[tuple[Path, str]], *, asks: bool) -> None:
    """Say what there is to say of each photo, but for what was `shown` with the questions."""
    for photo in result.logged:
        for sentence in photo.notes:
            if (photo.path, sentence) not in shown:
                call.say(f"{photo.path.name}: {sentence}")
        if photo.preview is not None and not asks:
            call.say(f"{photo.path.name}: what was measured is drawn in {photo.preview}")
        ids = [scrap.id for scrap in photo.scraps]
        if photo.numbers and list(photo.numbers) != ids:
            call.say(
                f"{photo.path.name}: {_numbers_text(photo.numbers)} in the preview "
                f"{'is' if len(ids) == 1 else 'are'} {_numbers_text(ids)} in the store"
            )
    if result.as_listed:
        names = ", ".join(path.name for path in result.as_listed)
        call.say(f"{names}: as scraps.toml says; what was typed here is for the others")
    for one in result.skipped:
        numbers = ", ".join(f"#{number}" for number in one.scraps) or "no scrap"
        call.say(f"{one.path.name}: logged already ({numbers}); --again adds it nonetheless")
    for refusal in result.refused:
        call.say(f"refused: {refusal.reason}")


def _numbers_text(numbers: Sequence[int]) -> str:
    """Return numbers in ascending order as a sentence has them: 'scraps 2 to 7'."""
    first, last = numbers[0], numbers[-1]
    if first == last:
        return f"scrap {first}"
    together = len(numbers) > 2 and last - first == len(numbers) - 1
    return f"scraps {f'{first} to {last}' if together else several([str(one) for one in numbers])}"


def _left_words(result: "LogResult") -> str:
    went_in = sum(bool(one.scraps) for one in result.logged)
    names = ", ".join(one.name for one in result.left[:3])
    more = f" and {len(result.left) - 3} more" if len(result.left) > 3 else ""
    return (
        f"stopped; of the photos {went_in} went in, {names}{more} did not. Nothing is half "
        "written: log the same photos again, and those that are in are skipped"
    )


def _text(call: Call, result: "LogResult") -> Shown:
    from scrapstore.cli.confirm_measured import uncertainty_text

    scraps = [(photo, scrap) for photo in result.logged for scrap in photo.scraps]
    columns: dict[str, list[str]] = {
        "no.": [str(scrap.id) for _, scrap in scraps],
        "photo": [photo.path.name for photo, _ in scraps],
        "size": [o.sides_text(call, scrap.sides) for _, scrap in scraps],
        "±": [uncertainty_text(call, scrap.uncertainty) for _, scrap in scraps],
        "family": [scrap.family or "" for _, scrap in scraps],
        "accents": [", ".join(scrap.accents) for _, scrap in scraps],
        "value": [scrap.value or "" for _, scrap in scraps],
    }
    counts = f"{len(scraps)} logged, {len(result.skipped)} there already, "
    summary = f"{counts}{len(result.refused)} refused"
    if not scraps:
        return summary
    filled = {name: cells for name, cells in columns.items() if any(cells)}
    rows = list(zip(*filled.values(), strict=True))
    return stack(table(tuple(filled), rows, right=("no.", "size")), summary)
